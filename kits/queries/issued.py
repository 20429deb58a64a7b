"""What a job was issued and where each thing of it is, recomputed from the movements and held against what stands there."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from django.db.models import Q, Sum

from inventory.domain.places import PlaceKind
from inventory.models import Balance, Item, Movement, Spot
from kits.domain.issued import Account, Passed, accounts
from kits.models import Job


def issued_to(job: Job) -> list[dict[str, Any]]:
    """Every item that came to the job's cart or bench, by part and item, JSON-ready. Four queries.

    What was taken back by a correction is left out, and so is what went from the cart to the bench.
    [{item, part, lot, serial, base, …the fields of `Account`, still_here, stands_here, adds_up}]
    """
    own = {job.cart_id, job.bench_id}
    here = dict(Spot.objects.filter(place__in=own).values_list("pk", "place"))
    rows = Movement.objects.filter(
        Q(from_spot__in=here) | Q(to_spot__in=here), act__corrects__isnull=True, act__corrected_by__isnull=True
    ).values_list("item", "amount", "from_spot", "from_spot__place__kind", "to_spot", "to_spot__place__kind")
    passed = [
        Passed(item, amount, to in here, PlaceKind(from_kind if to in here else to_kind))
        for item, amount, origin, from_kind, to, to_kind in rows.order_by("pk")
        if not (origin in here and to in here)
    ]
    found = accounts(passed)
    stands = dict(
        Balance.objects.filter(place__in=own, amount__gt=0)
        .order_by("item")
        .values_list("item")
        .annotate(total=Sum("amount"))
    )
    items = Item.objects.filter(pk__in=[*found, *stands]).select_related("part", "lot", "serial")
    told = []
    for item in sorted(items, key=lambda one: (one.part.number, one.pk)):
        account = found.get(item.pk)
        still, standing = (account.still_here if account else 0), stands.get(item.pk, 0)
        told.append(
            {
                "item": item.pk,
                "part": item.part.number,
                "lot": item.lot_code,
                "serial": item.serial_number,
                "member": item.member,
                "base": item.base,
                **asdict(account or _NOTHING),
                "still_here": still,
                "stands_here": standing,
                "adds_up": still == standing,
            }
        )
    return told


_NOTHING = Account()
