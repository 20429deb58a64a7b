"""Receiving: supplier to shelf or quarantine, against an order where there is one; lots split by the bag, serials one by one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.money import split_total
from inventory.domain.off_job import What
from inventory.domain.orders import Coming, Ordered, Share, allot
from inventory.domain.places import PlaceKind
from inventory.domain.receiving import Why, check_follows
from inventory.domain.shelf_life import Basis, usable_on
from inventory.models import (
    Act,
    Certificate,
    CertificateLot,
    Item,
    OffJob,
    Person,
    Place,
    PurchaseOrder,
    Receipt,
    ReceiptLine,
    Reject,
    SetAside,
    Short,
    Spot,
    Supplier,
)
from inventory.queries import orders
from inventory.queries.catalogue import no_such_supplier
from inventory.queries.days import shop_day
from inventory.queries.joins import kept_ids
from inventory.queries.shop import shop
from inventory.queries.stock import stopped_items
from inventory.services import benches, lookup, things
from inventory.services.post import Move, post
from inventory.services.receive_aside import aside_of, refuse_without_sheet, set_withdrawn_aside
from inventory.services.receive_lines import Day, Read, ReceiveLine, SetLabel, quarantine_needed, read_lines
from inventory.services.received_items import item_of
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.storing import Coming as Placed
from inventory.services.storing import ask_where_it_lies

__all__ = ["ReceiveLine", "SetLabel", "receive"]
MOST_LINES = 2000


def receive(
    *,
    actor: Person,
    stamp: Stamp,
    supplier: str,
    place: str,
    lines: Sequence[ReceiveLine],
    note: str = "",
    reason: str = "",
    quarantine: str = "",
    basis: Basis | None = None,
    order: str = "",
    storage_word: str = "",
    emergency: bool = False,
    demand: bool = False,
) -> Done:
    """Receive a delivery from a supplier.

    place       code of the shelf, or of the quarantine, it is put into; straight into quarantine needs a `reason`
    emergency   bought in an emergency: it needs a `reason`, may come straight to a bench, and there or in quarantine a part that is traced
                by lot may come without one ("lot unknown": it counts as any lot); a bench of a job that has ended takes nothing ("job-ended"), and none takes
                a chemical without its safety data sheet ("safety-sheet-missing"); demand: whether it counts in the history of demand
    quarantine  code of the quarantine place for lines that may not go on the shelf (see `Why`); where none is given such a line is
                refused; `place`, if that is one
    storage_word  why what does not suit its place lies there all the same; kept with what was asked
    basis       which day of the cure quarter life is counted from, the shop's setting by default; stored with the lot
    order       number of the order that it answers, which was placed by then ("dates-turned"): each line goes to the order's lines of its part. What is more than they wait for,
                or is on none of them, is set aside until somebody answers, and is never free stock before

    Outcome: {"receipt": act id, "order", "lines": [{part, lot, serial, amount, typed, place, expires_on, expiry_rule, quarantined, why,
    line: the receipt's own, on_order, reject, photo_missing, read_as}], "shorts"}; lot and serial as they are on record, `read_as` as
    they were read now: another spelling is the same one unless the line says that it is not. A lot without dates takes those of the
    first bag that has some, and one whose every receipt was taken back is set anew; holds that this ends are in `shorts`. A line that answers two lines of the order, or is partly more than
    was ordered, is two lines here.
    What comes of a number whose old stock is withdrawn goes to `quarantine` too ("part-withdrawn" where none is given), and so does what is
    stopped: it is not released before it was freed; and what is past its day on the day of receipt: not before its life was extended.
    A line that names a record which was joined with another is booked under the one that is kept; `part` says it.
    Raises ManyErrors naming every refused line; nothing is received then.
    """
    request = {
        "supplier": supplier, "place": place,
        "note": note,
        "reason": reason,
        "quarantine": quarantine,
        "basis": basis and basis.value,
        "order": order,
        "storage_word": storage_word,
        "emergency": emergency, "demand": demand,
    }  # fmt: skip
    request["lines"] = [asdict(line) for line in lines]  # type: ignore[assignment]  # request holds JSON of any shape

    def work(act: Act) -> Body:
        _check_length(lines)
        target = things.place_of(act)
        direct = target.kind == PlaceKind.QUARANTINE
        if emergency:
            lookup.need_reason(reason, "Why was it bought in an emergency?")
        aside = aside_of(target, quarantine, reason, emergency)
        if target.kind == PlaceKind.BENCH:
            _refuse_ended(target)
        seller = Supplier.objects.filter(code=supplier).first()
        if seller is None:
            raise no_such_supplier(supplier)
        its = shop()
        lotless = emergency and target.kind != PlaceKind.SHELF
        day = Day(shop_day(act.occurred_at), basis or its.basis, its, seller.pk, lotless, emergency)
        read = read_lines(lines, day, aside)
        set_withdrawn_aside(read, aside)
        if target.kind == PlaceKind.BENCH:
            refuse_without_sheet(act, read)
        if direct:
            for one in read:
                one.reasons = one.reasons or [(Why.ASKED, reason)]
        portions = _portions(act, order, seller, read, aside)
        locks.scarcer((one.part.pk, target.site_id) for one in read if target.site_id)
        Receipt.objects.create(act=act, supplier=seller, note=note)
        if emergency:
            OffJob.objects.create(act=act, what=What.EMERGENCY.value, demand=demand)
        said, shorts = _store(act, (seller, basis or its.basis), target, aside, portions, storage_word)
        return {"receipt": act.pk, "order": order, "lines": said, "shorts": lookup.said(shorts)}

    return run("receive", work, actor=actor, stamp=stamp, request=request, place=place, reason=reason)


def _refuse_ended(bench: Place) -> None:
    """DomainError "job-ended" for the bench of a job that is no more."""
    ways = (
        "Receive it at the bench of the job that uses it.",
        "Receive it on a shelf, or into quarantine where its lot cannot be read.",
    )
    error = benches.refusal(bench, ways)
    if error is not None:
        raise error


def _check_length(lines: Sequence[ReceiveLine]) -> None:
    if not lines:
        raise DomainError("nothing-given", "A receipt needs at least one line.")
    if len(lines) > MOST_LINES:
        raise DomainError(
            "too-many-lines",
            f"{len(lines)} lines in one receipt; at most {MOST_LINES}.",
            lines=len(lines),
            most=MOST_LINES,
        )


@dataclass(frozen=True, slots=True)
class _Portion:
    """So much of a line that answers one line of the order, or none, and why it is set aside, if it is."""

    read: Read
    amount: int
    order_line: int | None
    reasons: list[tuple[Why, str]]


def _portions(act: Act, number: str, seller: Supplier, read: Sequence[Read], aside: Place | None) -> list[_Portion]:
    """The lines as they answer the order. ManyErrors: not one of its lines, or more than ordered and no quarantine is named."""
    if not number:
        return [_Portion(one, one.amount, None, one.reasons) for one in read]
    found = orders.order(number)
    if found.supplier_id != seller.pk:
        raise DomainError(
            "wrong-supplier",
            f"Order {number} was placed with {found.supplier.code}, not with {seller.code}.",
            order=number,
            supplier=found.supplier.code,
        )
    locks.row(PurchaseOrder._meta.db_table, [found.pk])
    check_follows("It came", shop_day(act.occurred_at), f"order {number} was placed", shop_day(found.act.occurred_at))
    rows = list(found.lines.order_by("line"))
    facts = orders.facts_of(rows)
    kept = kept_ids(
        {row.part_id for row in rows}
    )  # joined since it was ordered: it comes under the record that is kept
    ordered = [
        Ordered(row.pk, row.line, kept.get(row.part_id, row.part_id), facts[row.pk].state.outstanding) for row in rows
    ]
    coming = [Coming(one.part.pk, one.amount, one.line.order_line, bool(one.line.rejected.strip())) for one in read]
    portions, errors = [], []
    for at, (one, shares) in enumerate(zip(read, allot(number, ordered, coming), strict=True), 1):
        if isinstance(shares, DomainError):
            errors.append((at, shares))
            continue
        for share in shares:
            beyond = _beyond(number, share)
            if beyond and aside is None:
                errors.append((at, quarantine_needed(one.part.number, beyond[0][1])))
            portions.append(_Portion(one, share.amount, share.row, [*one.reasons, *beyond]))
    if errors:
        raise ManyErrors(tuple(errors))
    return portions


def _beyond(number: str, share: Share) -> list[tuple[Why, str]]:
    """Why a share is not accepted by itself: the order does not ask for it."""
    if share.row is None:
        return [(Why.NOT_ORDERED, f"order {number} has no line for it")]
    return [(Why.OVER, f"{share.amount} more than order {number} waits for")] if share.over else []


def _store(
    act: Act,
    given: tuple[Supplier, Basis],
    target: Place,
    aside: Place | None,
    portions: Sequence[_Portion],
    storage_word: str,
) -> tuple[list[Body], list[Short]]:
    source = things.books_only(PlaceKind.SUPPLIER)
    spots = things.spots(target, {one.read.line.spot for one in portions})
    aside_spot = things.spot(aside) if aside else None
    reads = {id(one.read): one.read for one in portions}
    made = {key: item_of(act, given[0], read, given[1]) for key, read in reads.items()}
    items = {key: item for key, (item, _) in made.items()}
    _set_unusable_aside(items, portions, aside, shop_day(act.occurred_at))
    totals = _totals(portions)
    moves, lines, ends = [], [], []
    for one, total in zip(portions, totals, strict=True):
        line, item = one.read.line, items[id(one.read)]
        ends.append(aside_spot if one.reasons and aside_spot and aside != target else spots[line.spot])
        moves.append(Move(item, one.amount, source, ends[-1]))
        lines.append(
            ReceiptLine(
                receipt_id=act.pk,
                item=item,
                amount=one.amount,
                total_coins=total,
                typed=one.read.typed[:40],
                order_line_id=one.order_line,
            )
        )
    placed = [
        Placed(at, items[id(one.read)], one.read.part, end)
        for at, (one, end) in enumerate(zip(portions, ends, strict=True), 1)
    ]
    ask_where_it_lies(act, placed, storage_word)
    stored = ReceiptLine.objects.bulk_create(lines)
    post(act, moves)
    rejects = _set_aside(act, portions, stored)
    CertificateLot.objects.bulk_create(
        CertificateLot(certificate=paper, lot_id=lot, act=act) for paper, lot in _papers(portions, stored)
    )
    said = [_said(one, row, end, rejects.get(row.pk)) for one, row, end in zip(portions, stored, ends, strict=True)]
    return said, [short for _, shorts in made.values() for short in shorts]


def _set_unusable_aside(
    items: Mapping[int, Item], portions: Sequence[_Portion], aside: Place | None, today: date
) -> None:
    """What comes of a lot or thing that is stopped, or a kit with such a lot inside, and what is past its day, by whatever bag of the lot said so,
    goes to quarantine; ManyErrors where none is given.

    items  by the read line they are of
    """
    stopped = stopped_items({item.pk for item in items.values()})
    number = {key: at for at, key in enumerate(items, 1)}
    errors: dict[int, DomainError] = {}
    for one in portions:
        item = items[id(one.read)]
        found = []
        if item.pk in stopped and not any(why is Why.WITHDRAWN for why, _ in one.reasons):
            found.append((Why.STOPPED, "it is stopped"))
        if item.lot is not None and not usable_on(item.lot.expires_on, today):
            found.append((Why.EXPIRED, f"it is past its day, {item.lot.expires_on}"))
        if found and aside is None:
            errors.setdefault(number[id(one.read)], quarantine_needed(one.read.part.number, found[0][1]))
        one.reasons.extend(found)
    if errors:
        raise ManyErrors(tuple(errors.items()))


def _totals(portions: Sequence[_Portion]) -> list[int | None]:
    """The total of each line, split over its portions."""
    mine: dict[int, list[int]] = defaultdict(list)
    for at, one in enumerate(portions):
        mine[id(one.read)].append(at)
    totals: list[int | None] = [None] * len(portions)
    for places in mine.values():
        coins = portions[places[0]].read.line.total_coins
        if coins is not None:
            for at, share in zip(places, split_total(coins, [portions[at].amount for at in places]), strict=True):
                totals[at] = share
    return totals


def _set_aside(act: Act, portions: Sequence[_Portion], stored: Sequence[ReceiptLine]) -> dict[int, int]:
    """Write down what was not accepted as it came, and the claims; receipt line → claim."""
    aside = [(one, row) for one, row in zip(portions, stored, strict=True) if one.reasons]
    SetAside.objects.bulk_create(
        SetAside(
            line=row,
            why=one.reasons[0][0].value,
            words=_words(one)[:300],
            inspect=any(why is Why.SAMPLE for why, _ in one.reasons),
        )
        for one, row in aside
    )
    bad = [(one.read.line, row) for one, row in aside if one.reasons[0][0] is Why.REJECTED]
    made = Reject.objects.bulk_create(
        Reject(
            line=row, act=act, amount=row.amount, after=False, reason=line.rejected.strip(), photos=list(line.photos)
        )
        for line, row in bad
    )
    return {one.line_id: one.pk for one in made}


def _papers(portions: Sequence[_Portion], stored: Sequence[ReceiptLine]) -> list[tuple[Certificate, int]]:
    """The certificates with the lots that they came with, each pair once."""
    pairs = {
        (one.read.certificate.pk, row.item.lot_id): one.read.certificate
        for one, row in zip(portions, stored, strict=True)
        if one.read.certificate is not None and row.item.lot_id is not None
    }
    return [(paper, lot) for (_, lot), paper in pairs.items() if lot is not None]


def _words(one: _Portion) -> str:
    return "; ".join(words for _, words in one.reasons)


def _said(one: _Portion, row: ReceiptLine, end: Spot, reject: int | None) -> Body:
    line, item = one.read.line, row.item
    return {
        "line": row.pk,
        "part": one.read.part.number,
        "item": item.pk,
        "lot": item.lot_code,
        "serial": item.serial_number,
        "read_as": line.lot or line.serial,
        "amount": one.amount,
        "base": one.read.part.base,
        "typed": one.read.typed,
        "place": end.place.code,
        "spot": end.name,
        "expires_on": item.lot.expires_on if item.lot else None,
        "expiry_rule": item.lot.expiry_rule if item.lot else "",
        "quarantined": _words(one),
        "why": one.reasons[0][0].value if one.reasons else "",
        "on_order": one.order_line is not None,
        "reject": reject,
        "photo_missing": reject is not None and not line.photos,
    }
