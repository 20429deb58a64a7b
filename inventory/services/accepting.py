"""What a release from quarantine says of deliveries that were set aside. Private to services."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from django.db.models import Sum

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.receiving import accept, gone_of
from inventory.domain.shelf_life import Expiry, usable_on
from inventory.models import Accepted, Act, AsideGone, Balance, Item, Place, ReceiptLine, Scrap
from inventory.queries import deliveries, inspections

#: Where what was set aside lies: the van has what rides from one quarantine to another.
_APART = (PlaceKind.QUARANTINE.value, PlaceKind.VAN.value)


def refuse_unsorted(item: Item) -> None:
    """DomainError "part-to-be-sorted" for a part of which nobody has said yet what it is."""
    if not item.part.kind:
        raise DomainError(
            "part-to-be-sorted",
            f"{item.called}: to be sorted, no kind is on record.",
            ways_out=("Give the part its kind in the catalogue.",),
            parts=[item.part.number],
        )


def refuse_expired(item: Item, found: Expiry | None, today: date) -> None:
    """DomainError "expired" for what is past its day: of an opened tube its own, else that of the lot, or what its dates give now."""
    lot = item.lot.expires_on if item.lot else None
    last = item.tube.use_by if item.tube else found.day if found else lot
    if not usable_on(last, today):
        raise DomainError(
            "expired",
            f"{item.called} is past its day, {last}.",
            ways_out=(
                "Scrap it.",
                "Send it back.",
                "Have a sample inspected, and its life extended where its rule allows that.",
            ),
            item=item.called,
            use_by=str(last),
        )


def refuse_rejected(item: Item, asked: int, there: int) -> None:
    """What was rejected is not released: it goes back, or is scrapped. `there`: in quarantine; that more is asked for is another matter.
    DomainError "rejected".

    What was scrapped out of quarantine was the rejected ones first, as was what went back to a supplier.
    """
    left = rejected_left(item.pk)
    if min(asked, there) > max(0, there - left):
        raise DomainError(
            "rejected",
            f"{left} of {there} of {item.called} in quarantine were rejected.",
            ways_out=("Send them back to the supplier.", "Take the claim back, if they are good."),
            item=item.called,
            there=there,
            rejected=left,
            asked=asked,
        )


def rejected_left(item_id: int) -> int:
    """How much of an item was rejected and neither went back nor was scrapped out of quarantine."""
    claims = deliveries.rejects().filter(line__item=item_id)
    ids = list(claims.values_list("pk", flat=True))
    if not ids:
        return 0
    bad: int = claims.aggregate(total=Sum("amount"))["total"] - sum(deliveries.returned(ids).values())
    scrapped = Scrap.objects.filter(
        item=item_id, act__corrected_by__isnull=True, spot__place__kind=PlaceKind.QUARANTINE.value
    ).aggregate(total=Sum("amount"))["total"]
    return max(0, bad - (scrapped or 0))


def note_gone(act: Act, leaving: Iterable[tuple[int, int, Place]]) -> None:
    """What left quarantine for good in this act, by (item id, amount, place): lines that waited there do not wait for it any more.

    After the movements and their rows; the part-at-site rows are locked. No query for what left other places.
    """
    left: dict[int, int] = defaultdict(int)
    for item, amount, place in leaving:
        if place.kind in _APART:
            left[item] += amount
    lines = [line for waits in deliveries.waiting(left).values() for line, _ in waits] if left else []
    if not lines:
        return
    locks.row(ReceiptLine._meta.db_table, lines)
    waits = deliveries.waiting(left)
    apart = (
        Balance.objects.filter(item__in=waits, place__kind__in=_APART).values_list("item").annotate(all=Sum("amount"))
    )
    there: dict[int, int] = dict(apart)
    AsideGone.objects.bulk_create(
        AsideGone(line_id=line, act=act, amount=amount)
        for item, waiting in sorted(waits.items())
        for line, amount in gone_of(left[item], there.get(item, 0), rejected_left(item), waiting)
    )


def refuse_uninspected(item: Item, asked: int, actor: int) -> None:
    """Of what a release would accept, lines that wait for a sample go only when it passed, and not by whoever inspected it.

    DomainError "inspection-missing", "second-person-needed".
    """
    if item.lot_id is None:
        return
    shares = dict(accept(asked, deliveries.waiting([item.pk]).get(item.pk, [])))
    rows = ReceiptLine.objects.filter(pk__in=shares, aside__inspect=True)
    pairs = [(receipt, item.lot_id) for receipt in rows.values_list("receipt_id", flat=True)]
    found = inspections.newest(pairs) if pairs else {}
    for pair in pairs:
        one = found.get(pair)
        if one is None or not inspections.passed(one):
            raise DomainError(
                "inspection-missing",
                f"{item.called}: no sample of receipt {pair[0]} has passed.",
                ways_out=("Inspect a sample of the lot.",),
                receipt=pair[0],
                item=item.called,
            )
        if one.act.actor_id == actor:
            raise DomainError(
                "second-person-needed",
                f"{item.called} was inspected by the same person: another one releases it.",
                item=item.called,
            )


def accept_released(act: Act, amounts: Mapping[int, int]) -> None:
    """Item → amount released: lines that wait are accepted by it, oldest first."""
    lines = [line for waits in deliveries.waiting(amounts).values() for line, _ in waits]
    if not lines:
        return
    locks.row(ReceiptLine._meta.db_table, lines)
    waits = deliveries.waiting(amounts)
    Accepted.objects.bulk_create(
        Accepted(line_id=line, act=act, amount=amount)
        for item, released in sorted(amounts.items())
        for line, amount in accept(released, waits.get(item, []))
    )
