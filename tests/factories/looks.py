"""A second person looks at the sets and bearings that were picked, as they are before a cart is handed over."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import Permission

from inventory.domain.catalogue import LOOKED_AT_TWICE
from inventory.models import Person
from kits.models import JobHold, PickList
from kits.services.look_again import LookIn, look_again
from tests.factories.stores import NOON, stamp


def looked_at(pick_list: int, at: datetime = NOON) -> None:
    """Every picked line of the job that asks for it and was not looked at yet; nothing where there is none."""
    job = PickList.objects.get(pk=pick_list).job_id
    rows = JobHold.objects.filter(
        job=job, hold__end__how="picked", hold__item__part__kind__in=LOOKED_AT_TWICE, second_look__isnull=True
    )
    looks: dict[int, list[LookIn]] = {}
    for hold, listed in rows.values_list("hold_id", "pick_list_id"):
        looks.setdefault(listed, []).append(LookIn(hold))
    if not looks:
        return
    looker, _ = Person.objects.get_or_create(username="second looker")
    looker.user_permissions.add(Permission.objects.get(codename="act_check"))
    for listed, its in looks.items():
        look_again(actor=Person.objects.get(pk=looker.pk), stamp=stamp(at), pick_list=listed, looks=its)
