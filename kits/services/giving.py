"""The customer's own things and how they go back. Private to services: an open transaction is there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Q

from inventory import locks
from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, Item, Spot
from inventory.services import things
from inventory.services.post import Move, post
from inventory.services.run import Body
from kits.models import GiveBack, GivenThing, Job
from kits.queries.belongings import came_out_of, customers_own


@dataclass(frozen=True, slots=True)
class Given:
    """So much of an item at a spot (with its place) is the customer's own."""

    item: Item
    amount: int
    spot: Spot


def customers_at(job: Job, also: Iterable[tuple[int, int]] = ()) -> list[Given]:
    """Everything of the customer on cart and bench of the job and in quarantine. Locks it, and `also`: other (part, site) that the
    act makes scarcer; one call, for the order of locks."""
    locks.row("kits_engine", [job.engine_id])
    where = Q(place__in=[job.cart_id, job.bench_id]) | Q(place__kind=PlaceKind.QUARANTINE.value)
    lying = (
        Balance.objects.filter(where, item__in=came_out_of(job), amount__gt=0)
        .select_related("item__part", "spot__place")
        .order_by("item_id", "spot_id")
    )
    rows = list(lying)
    sites = [(row.part_id, row.spot.place.site_id) for row in rows if row.spot.place.site_id is not None]
    locks.scarcer([*also, *sites], [row.item_id for row in rows if row.single or row.spot.place.site_id is None])
    rows = list(lying.all())  # what lay there may have gone while the locks were waited for
    own = customers_own(job, {row.item_id for row in rows})
    given = [Given(row.item, min(row.amount, own.get((row.item_id, row.spot_id), 0)), row.spot) for row in rows]
    return [one for one in given if one.amount]


def hand_back(act: Act, job: Job, given: Sequence[Given], signed_by: str) -> list[Body]:
    """The movements to the owner, and who signed for them: [{part, item, amount, from}]."""
    owner = things.books_only(PlaceKind.OWNER)
    post(act, [Move(one.item, one.amount, one.spot, owner) for one in given])
    signed = GiveBack.objects.create(act=act, job=job, signed_by=signed_by.strip())
    GivenThing.objects.bulk_create(
        [GivenThing(give_back=signed, item=one.item, spot=one.spot, amount=one.amount) for one in given]
    )
    return [
        {"part": one.item.part.number, "item": one.item.pk, "amount": one.amount, "from": one.spot.place.code}
        for one in given
    ]
