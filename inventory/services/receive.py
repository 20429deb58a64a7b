"""Receiving: supplier to shelf or quarantine, lots split by the bag, serials one by one with what their label says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import Base, Tracked
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.shelf_life import (
    Basis,
    Expiry,
    LifeKind,
    LotDates,
    Undated,
    expiry,
    parse_cure_code,
)
from inventory.models import (
    Act,
    InnerLot,
    Item,
    KitRevision,
    Lot,
    MatchedSet,
    Part,
    Person,
    Place,
    Receipt,
    ReceiptLine,
    Serial,
    Supplier,
)
from inventory.queries.catalogue import no_such_parts, no_such_supplier
from inventory.queries.joins import kept_for
from inventory.queries.shop import Shop, shop
from inventory.queries.withdrawn import withdrawn_parts
from inventory.services import lookup, things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.storing import Coming, ask_where_it_lies
from inventory.services.withdrawing import why_withdrawn

MOST_LINES = 2000


@dataclass(frozen=True, slots=True)
class SetLabel:
    """What the label of a matched set says; lengths in nm, the weight of piston with pin in mg."""

    weight_mg: int | None = None
    bore_nm: int | None = None
    piston_nm: int | None = None
    grade: str = ""
    liner_mark: str = ""
    piston_mark: str = ""


@dataclass(frozen=True, slots=True)
class ReceiveLine:
    """One line of a delivery.

    amount       text with a unit ("4 EA", "12 mL") or whole base units
    lot, serial  as the part is told apart
    cure_code    quarter code of rubber, as printed ("3Q23", "3/94"); made_on, printed_on: other dates on the bag
    total_coins  for the whole line, None when the invoice is not there yet
    inner_lots   for a kit: lot codes on the inner bags, by part number
    """

    part: str
    amount: str | int
    lot: str = ""
    serial: str = ""
    cure_code: str = ""
    made_on: date | None = None
    printed_on: date | None = None
    total_coins: int | None = None
    spot: str = NO_SPOT
    set_label: SetLabel | None = None
    inner_lots: Mapping[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class _Read:
    """A line after its checks."""

    line: ReceiveLine
    part: Part
    amount: int
    typed: str
    expiry: Expiry | None = None
    extension_years: int = 0
    why_quarantine: str = ""


@dataclass(frozen=True, slots=True)
class _Day:
    """What dates are read by: the day of receipt, the day of a cure quarter that counts, the shop's settings."""

    day: date
    basis: Basis
    shop: Shop


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
    storage_word: str = "",
) -> Done:
    """Receive a delivery from a supplier.

    place       code of the shelf, or of the quarantine, it is put into; straight into quarantine needs a `reason`
    quarantine  code of the quarantine place for lines that may not go on the shelf (rubber without a cure date); where none is
                given such a line is refused; `place`, if that is one
    storage_word  why what does not suit its place lies there all the same; kept with what was asked
    basis       which day of the cure quarter life is counted from, the shop's setting by default; stored with the lot

    Outcome: {"receipt": act id, "lines": [{part, lot, serial, amount, typed, place, expires_on, expiry_rule, quarantined}]}.
    What comes of a number whose old stock is withdrawn goes to `quarantine` too ("part-withdrawn" where none is given).
    A line that names a record which was joined with another is booked under the one that is kept; `part` says it.
    Raises ManyErrors naming every refused line; nothing is received then.
    """
    request = {
        "supplier": supplier,
        "place": place,
        "note": note,
        "reason": reason,
        "quarantine": quarantine,
        "basis": basis and basis.value,
        "storage_word": storage_word,
    }
    request["lines"] = [asdict(line) for line in lines]  # type: ignore[assignment]  # request holds JSON of any shape

    def work(act: Act) -> Body:
        _check_lines(lines)
        target = things.place_of(act)
        aside = _aside(target, quarantine, reason)
        seller = Supplier.objects.filter(code=supplier).first()
        if seller is None:
            raise no_such_supplier(supplier)
        its = shop()
        read = _read(lines, _Day(act.occurred_at.date(), basis or its.basis, its), aside)
        _set_withdrawn_aside(read, aside)
        locks.scarcer((one.part.pk, target.site_id) for one in read if target.site_id)
        Receipt.objects.create(act=act, supplier=seller, note=note)
        return {"receipt": act.pk, "lines": _store(act, seller, target, aside, read, reason, storage_word)}

    return run("receive", work, actor=actor, stamp=stamp, request=request, place=place, reason=reason)


def _check_lines(lines: Sequence[ReceiveLine]) -> None:
    if not lines:
        raise DomainError("nothing-given", "A receipt needs at least one line.")
    if len(lines) > MOST_LINES:
        raise DomainError(
            "too-many-lines",
            f"{len(lines)} lines in one receipt; at most {MOST_LINES}.",
            lines=len(lines),
            most=MOST_LINES,
        )


def _aside(target: Place, quarantine: str, reason: str) -> Place | None:
    """Where lines go that may not go on the shelf: the quarantine place that was named, or that the delivery goes into."""
    if target.kind not in (PlaceKind.SHELF, PlaceKind.QUARANTINE):
        raise DomainError(
            "wrong-place",
            f"{target.code} is a {target.kind}: deliveries go to a shelf or to quarantine.",
            place=target.code,
        )
    direct = target.kind == PlaceKind.QUARANTINE
    if direct:
        lookup.need_reason(reason, f"Why does the delivery go to {target.code}, into quarantine?")
    if quarantine:
        return things.place(quarantine)
    return target if direct else None


def _read(lines: Sequence[ReceiveLine], day: _Day, aside: Place | None) -> list[_Read]:
    parts = _parts({line.part for line in lines})
    missing = dict.fromkeys(line.part for line in lines if line.part not in parts)
    unknown = no_such_parts(list(missing)) if missing else {}
    read: list[_Read] = []
    errors: list[tuple[int, DomainError]] = []
    seen: set[tuple[str, str]] = set()
    for number, line in enumerate(lines, 1):
        try:
            one = _read_line(line, parts, unknown, day, aside)
            if line.serial and (line.part, line.serial) in seen:
                raise DomainError(
                    "serial-elsewhere", f"{line.serial} stands twice in this delivery.", serial=line.serial
                )
            seen.add((line.part, line.serial))
            read.append(one)
        except DomainError as error:
            errors.append((number, error))
    if errors:
        raise ManyErrors(tuple(errors))
    return read


def _set_withdrawn_aside(read: Sequence[_Read], aside: Place | None) -> None:
    """What comes of a number whose old stock is withdrawn goes to quarantine; ManyErrors where none is given."""
    found = withdrawn_parts({one.part.pk for one in read})
    if found and aside is None:
        raise ManyErrors(tuple((at, _withdrawn(one.part)) for at, one in enumerate(read, 1) if one.part.pk in found))
    for one in read:
        if one.part.pk in found:
            one.why_quarantine = one.why_quarantine or why_withdrawn(found[one.part.pk])


def _withdrawn(part: Part) -> DomainError:
    return DomainError(
        "part-withdrawn",
        f"{part.number}: old stock is withdrawn by its replacement notice.",
        ways_out=("Receive it into quarantine.", "Send it back."),
        part=part.number,
    )


def _parts(numbers: set[str]) -> dict[str, Part]:
    """The parts by the numbers that the lines name: of two records that were joined, the one that is kept."""
    found = {part.number: part for part in Part.objects.filter(number__in=numbers)}
    moved = kept_for(found)
    kept = {part.number: part for part in Part.objects.filter(number__in=moved.values())} if moved else {}
    return found | {number: kept[other] for number, other in moved.items()}


def _read_line(
    line: ReceiveLine,
    parts: Mapping[str, Part],
    unknown: Mapping[str, DomainError],
    day: _Day,
    aside: Place | None,
) -> _Read:
    part = parts.get(line.part)
    if part is None:
        raise unknown[line.part]
    things.check_tracked(part, lot=line.lot, serial=line.serial)
    amount, typed = things.amount(part, line.amount)
    if line.serial and amount != 1:
        raise DomainError("serial-is-one", f"{line.serial} is one thing; {amount} were given.", serial=line.serial)
    if line.total_coins is not None and line.total_coins < 0:
        raise DomainError("amount-negative", f"A total of {line.total_coins} is below nothing.", total=line.total_coins)
    one = _Read(line, part, amount, typed)
    if line.lot:
        found, one.extension_years = _expiry(part, line, day)
        if isinstance(found, Undated):
            one.why_quarantine = found.reason
            if aside is None:
                raise DomainError(
                    "undated",
                    f"{part.number} lot {line.lot}: {found.reason}",
                    ways_out=(
                        "Give the cure or making date that is printed on the bag.",
                        "Receive it into quarantine.",
                    ),
                    part=part.number,
                    lot=line.lot,
                )
        else:
            one.expiry = found
    return one


def _expiry(part: Part, line: ReceiveLine, day: _Day) -> tuple[Expiry | Undated, int]:
    """The expiry of the lot, and the years that one inspection may add to it by the same rule."""
    rule = day.shop.life_of(part)
    contents: tuple[Expiry | Undated, ...] = ()
    if rule.kind is LifeKind.CONTENTS:
        codes = Lot.objects.filter(part__number__in=line.inner_lots, code__in=line.inner_lots.values()).select_related(
            "part"
        )
        known = {(lot.part.number, lot.code): lot for lot in codes}
        contents = tuple(
            Expiry(known[number, code].expires_on, known[number, code].expiry_rule)
            for number, code in sorted(line.inner_lots.items())
            if (number, code) in known
        )
        if line.printed_on is not None:
            contents += (Expiry(line.printed_on, "printed date"),)
        if not contents:
            return Expiry(None, "contents' dates not known at receipt"), 0
    cure = parse_cure_code(line.cure_code, latest=day.day) if line.cure_code else None
    return expiry(rule, LotDates(cure, line.made_on, line.printed_on, contents), day.basis), rule.extension_years


def _store(
    act: Act,
    seller: Supplier,
    target: Place,
    aside: Place | None,
    read: Sequence[_Read],
    reason: str,
    storage_word: str,
) -> list[Body]:
    source = things.books_only(PlaceKind.SUPPLIER)
    spots = things.spots(target, {one.line.spot for one in read})
    aside_spot = things.spot(aside) if aside else None
    moves, receipt_lines, said, coming = [], [], [], []
    for number, one in enumerate(read, 1):
        item = _item(act, seller, one)
        set_aside = bool(one.why_quarantine)
        goes_to = aside_spot if set_aside and aside_spot and aside != target else spots[one.line.spot]
        why = one.why_quarantine or (reason if target.kind == PlaceKind.QUARANTINE else "")
        moves.append(Move(item, one.amount, source, goes_to))
        coming.append(Coming(number, item, one.part, goes_to))
        receipt_lines.append(
            ReceiptLine(
                receipt_id=act.pk, item=item, amount=one.amount, total_coins=one.line.total_coins, typed=one.typed[:40]
            )
        )
        said.append(
            {
                "part": one.part.number,
                "item": item.pk,
                "lot": one.line.lot,
                "serial": one.line.serial,
                "amount": one.amount,
                "base": one.part.base,
                "typed": one.typed,
                "place": goes_to.place.code,
                "spot": goes_to.name,
                "expires_on": item.lot.expires_on if item.lot else None,
                "expiry_rule": item.lot.expiry_rule if item.lot else "",
                "quarantined": why,
            }
        )
    ask_where_it_lies(act, coming, storage_word)
    ReceiptLine.objects.bulk_create(receipt_lines)
    post(act, moves)
    return said


def _item(act: Act, seller: Supplier, one: _Read) -> Item:
    line, part = one.line, one.part
    if line.serial:
        return _serial_item(part, line)
    if not line.lot:
        return things.item(part)
    revision = KitRevision.objects.filter(kit=part).order_by("-revision").first()
    lot, made = Lot.objects.get_or_create(
        part=part,
        code=line.lot,
        defaults={
            "cure_code": line.cure_code,
            "made_on": line.made_on,
            "expires_on": one.expiry.day if one.expiry else None,
            "expiry_rule": one.expiry.rule[:200] if one.expiry else one.why_quarantine[:200],
            "extension_years": one.extension_years,
            "supplier": seller,
            "received_on": act.occurred_at.date(),
            "kit_revision": revision,
        },
    )
    if not made and line.cure_code and lot.cure_code != line.cure_code:
        raise DomainError(
            "lot-differs",
            f"{part.number} lot {line.lot} is on record as cured {lot.cure_code or 'without a date'}, "
            f"this bag says {line.cure_code}: two cure quarters are two lots.",
            ways_out=("Give the bag its own lot label.",),
            part=part.number,
            lot=line.lot,
            known=lot.cure_code,
            given=line.cure_code,
        )
    if made and line.inner_lots and revision is not None:
        _inner_lots(lot, revision, line.inner_lots)
    return things.item(part, lot=lot)


def _inner_lots(kit_lot: Lot, revision: KitRevision, inner: Mapping[str, str]) -> None:
    contents = {content.part.number: content for content in revision.contents.select_related("part", "inside")}
    unknown = sorted(set(inner) - contents.keys())
    if unknown:
        raise DomainError(
            "not-in-kit",
            f"{', '.join(unknown)} is not in kit {kit_lot.part.number}.",
            parts=unknown,
            kit=kit_lot.part.number,
        )
    for number, code in sorted(inner.items()):
        part = contents[number].part
        lot, _ = Lot.objects.get_or_create(
            part=part,
            code=code,
            defaults={"expiry_rule": "known from a kit's inner bag", "kit_revision": contents[number].inside},
        )
        InnerLot.objects.create(kit_lot=kit_lot, lot=lot, amount=contents[number].amount)


def _serial_item(part: Part, line: ReceiveLine) -> Item:
    serial, made = Serial.objects.get_or_create(
        part=part, number=line.serial, defaults={"compare_key": compare_key(line.serial)}
    )
    if part.tracked_by == Tracked.SET and made:
        label = line.set_label or SetLabel()
        MatchedSet.objects.create(serial=serial, **asdict(label))
    if part.base != Base.PIECE:
        raise DomainError("serial-not-kept", f"{part.number} is poured: it has no serial.", part=part.number)
    return things.item(part, serial=serial)
