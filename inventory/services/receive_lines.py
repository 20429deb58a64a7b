"""The lines of a delivery, each judged by itself: amount, dates, serial, label. Private to services."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any

from inventory import locks
from inventory.domain.catalogue import PartFacts, check_part
from inventory.domain.certificates import speaks_of
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import Tracked
from inventory.domain.lot_dates import Dates
from inventory.domain.places import NO_SPOT
from inventory.domain.receiving import Why, label_doubts, label_weighed
from inventory.domain.shelf_life import Basis, Expiry, LifeKind, LifeRule, LotDates, Undated, expiry, parse_cure_code
from inventory.domain.spelling import label_key
from inventory.models import Balance, Certificate, Lot, Part, Place, SamplePlan, SetBreak
from inventory.queries.catalogue import no_such_parts
from inventory.queries.certificates import by_number
from inventory.queries.inspections import plans_for
from inventory.queries.joins import kept_parts
from inventory.queries.shop import Shop
from inventory.services import things


@dataclass(frozen=True, slots=True)
class SetLabel:
    """What the label of a matched set says; lengths in nm, the weight of the piston in mg; `weighed`: "with pin" or "without pin", said with
    every weight; `photo`: where one of it is kept."""

    weight_mg: int | None = None
    weighed: str = ""
    bore_nm: int | None = None
    piston_nm: int | None = None
    grade: str = ""
    liner_mark: str = ""
    piston_mark: str = ""
    photo: str = ""

    def kept(self) -> dict[str, Any]:
        """By the columns that keep it. DomainError "weight-unsaid"."""
        return asdict(self) | {"weighed": label_weighed(self.weight_mg, self.weighed)}


@dataclass(frozen=True, slots=True)
class ReceiveLine:
    """One line of a delivery.

    amount        text with a unit ("4 EA", "12 mL") or whole base units
    lot, serial   as the part is told apart
    cure_code     quarter code of rubber, as printed ("3Q23", "3/94"); made_on, printed_on: other dates on the bag
    total_coins   for the whole line, None when the invoice is not there yet
    inner_lots    for a kit: lot codes on the inner bags, by part number
    order_line    number of the order's line it answers, None: the lines of its part
    rejected      why it is rejected as it came, a claim on the supplier; photos: where they are kept
    certificate   number of a certificate of the supplier, on record, that came with the lot
    to_be_sorted  what the bag says, for a number that the catalogue does not know
    another_lot, another_serial  a person says that it is another one than what is on record in another spelling
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
    order_line: int | None = None
    rejected: str = ""
    photos: Sequence[str] = ()
    certificate: str = ""
    to_be_sorted: str = ""
    another_lot: bool = False
    another_serial: bool = False

    @property
    def dates(self) -> Dates:
        """What the bag says."""
        return Dates(self.cure_code.strip(), self.made_on, self.printed_on)


@dataclass(slots=True)
class Read:
    """A line after its checks; `reasons`: why it is set aside, if it is. `undated`: its lot has no expiry, and why."""

    line: ReceiveLine
    part: Part
    amount: int
    typed: str
    expiry: Expiry | None = None
    rule: LifeRule = LifeRule(LifeKind.NONE)
    undated: str = ""
    certificate: Certificate | None = None
    reasons: list[tuple[Why, str]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Day:
    """What lines are judged by: the day of receipt, the day of a cure quarter that counts, the shop's settings, who delivers.

    emergency  bought in an emergency
    lotless    so bought, and not for a shelf: a part that is traced by lot may come without one
    """

    day: date
    basis: Basis
    shop: Shop
    seller: int
    lotless: bool = False
    emergency: bool = False


def read_lines(lines: Sequence[ReceiveLine], day: Day, aside: Place | None) -> list[Read]:
    """Every line with its part; ManyErrors names all refused ones. Parts that are not known and are to be sorted are made."""
    parts = kept_parts({line.part for line in lines})
    missing = dict.fromkeys(line.part for line in lines if line.part not in parts and not line.to_be_sorted)
    unknown = no_such_parts(list(missing)) if missing else {}
    known = _known_serials(lines, parts)
    broken = _broken_sets(lines, parts)
    papers = by_number(day.seller, (line.certificate for line in lines))
    plans = plans_for({part.pk for part in parts.values()}, day.seller)
    read: list[Read] = []
    errors: list[tuple[int, DomainError]] = []
    seen: dict[tuple[str, str], list[str]] = {}
    for number, line in enumerate(lines, 1):
        try:
            one = _read_line(line, parts, unknown, day)
            if line.serial:
                _refuse_known(one, seen, known)
                _refuse_broken(one, broken)
                seen.setdefault((one.part.number, label_key(line.serial)), []).append(line.serial)
            _look_into(one, papers, plans.get(one.part.pk))
            if one.reasons and aside is None:
                raise _needs_quarantine(one)
            read.append(one)
        except DomainError as error:
            errors.append((number, error))
    if errors:
        raise ManyErrors(tuple(errors))
    return read


def _needs_quarantine(one: Read) -> DomainError:
    """Why a line that may not go on a shelf is refused where no quarantine was named."""
    why, words = one.reasons[0]
    if why is Why.UNDATED:
        return DomainError(
            "undated",
            f"{one.part.number} lot {one.line.lot}: {words}",
            ways_out=("Give the cure or making date that is printed on the bag.", "Receive it into quarantine."),
            part=one.part.number,
            lot=one.line.lot,
        )
    return quarantine_needed(one.part.number, words)


def quarantine_needed(part: str, words: str) -> DomainError:
    """A line that is set aside needs a quarantine to lie in."""
    return DomainError(
        "quarantine-needed", f"{part}: {words}.", ways_out=("Name a quarantine for it.",), part=part, why=words
    )


def _known_serials(lines: Iterable[ReceiveLine], parts: Mapping[str, Part]) -> dict[tuple[str, str], dict[str, str]]:
    """(part, key of the serial) → {serial: place} of whole things that stand somewhere. One query, none for none."""
    serials = {label_key(line.serial) for line in lines if line.serial and line.part in parts}
    if not serials:
        return {}
    rows = Balance.objects.filter(
        real=True, amount__gt=0, item__member="", item__serial__compare_key__in=serials, part__in=parts.values()
    )
    names = ("item__part__number", "item__serial__compare_key", "item__serial__number", "spot__place__code")
    found: dict[tuple[str, str], dict[str, str]] = {}
    for part, key, serial, place in rows.values_list(*names):
        found.setdefault((part, key), {})[serial] = place
    return found


def _broken_sets(lines: Iterable[ReceiveLine], parts: Mapping[str, Part]) -> dict[tuple[str, str], SetBreak]:
    """(part, serial) → how that set was broken. One query, none where no set comes."""
    sets = [parts[line.part] for line in lines if line.serial and line.part in parts]
    ids = {part.pk for part in sets if part.tracked_by == Tracked.SET}
    if not ids:
        return {}
    rows = SetBreak.objects.filter(serial__part__in=ids, serial__number__in={line.serial for line in lines})
    return {(row.serial.part.number, row.serial.number): row for row in rows.select_related("serial__part")}


def _refuse_broken(one: Read, broken: Mapping[tuple[str, str], SetBreak]) -> None:
    """DomainError "set-broken": a broken set stays broken, it does not come back whole by a delivery."""
    found = broken.get((one.part.number, one.line.serial))
    if found is not None:
        raise DomainError(
            "set-broken",
            f"{one.part.number}, serial {one.line.serial} was broken ({found.said}) and stays broken.",
            ways_out=("Look at the label again.", "Send it back: what is matched anew has a serial of its own."),
            part=one.part.number,
            serial=one.line.serial,
        )


def _refuse_known(
    one: Read, seen: Mapping[tuple[str, str], Sequence[str]], known: Mapping[tuple[str, str], Mapping[str, str]]
) -> None:
    """A serial that stands somewhere, in whatever spelling, is not received: DomainError "serial-elsewhere" says where it is."""
    serial, insists = one.line.serial, one.line.another_serial
    key = (one.part.number, label_key(serial))
    twice = [other for other in seen.get(key, ()) if other == serial or not insists]
    if twice:
        words = serial if twice[0] == serial else f"{serial}, written {twice[0]} too,"
        raise DomainError("serial-elsewhere", f"{words} stands twice in this delivery.", serial=serial)
    standing = {other: place for other, place in known.get(key, {}).items() if other == serial or not insists}
    if standing:
        other, place = min(standing.items(), key=lambda pair: pair[0] != serial)
        words = serial if other == serial else f"{serial} is {other} in another spelling: it"
        ways: tuple[str, ...] = (f"Look at the one at {place} first.",)
        if other != serial:
            ways += ("If it is another one, say so (another_serial); both are then kept and shown together.",)
        raise DomainError(
            "serial-elsewhere",
            f"{words} of {key[0]} is known already and stands at {place}.",
            ways_out=ways,
            part=key[0],
            serial=serial,
            known=other,
            place=place,
        )


def _check_tracked(part: Part, line: ReceiveLine, day: Day) -> None:
    """As `things.check_tracked`; what was bought in an emergency has one way more."""
    try:
        things.check_tracked(part, lot=line.lot, serial=line.serial)
    except DomainError as error:
        if error.code != "lot-missing" or not day.emergency:
            raise
        without = "Bought without a lot, it comes to the bench of the job that needs it, or into quarantine."
        raise DomainError(error.code, error.message, ways_out=(*error.ways_out, without), **error.values) from error


def _read_line(line: ReceiveLine, parts: dict[str, Part], unknown: Mapping[str, DomainError], day: Day) -> Read:
    part = parts.get(line.part)
    reasons: list[tuple[Why, str]] = []
    if part is None and line.to_be_sorted:
        part = parts[line.part] = _unsorted(line)
    if part is None:
        raise unknown[line.part]
    if line.to_be_sorted and not part.kind:
        reasons.append((Why.UNSORTED, f"the catalogue does not know it: {line.to_be_sorted}"))
    if not (day.lotless and part.tracked_by == Tracked.LOT and not line.lot and not line.serial):
        _check_tracked(part, line, day)
    amount, typed = things.amount(part, line.amount)
    if line.serial and amount != 1:
        raise DomainError("serial-is-one", f"{line.serial} is one thing; {amount} were given.", serial=line.serial)
    if line.total_coins is not None and line.total_coins < 0:
        raise DomainError("amount-negative", f"A total of {line.total_coins} is below nothing.", total=line.total_coins)
    one = Read(line, part, amount, typed, reasons=reasons)
    if line.rejected.strip():
        one.reasons.append((Why.REJECTED, line.rejected.strip()))
    if line.lot:
        one.rule = day.shop.life_of(part)
        found = _expiry(line, day, one.rule)
        if isinstance(found, Undated):
            one.undated = found.reason
            one.reasons.append((Why.UNDATED, found.reason))
        else:
            one.expiry = found
    label = (line.set_label or SetLabel()).kept()
    if part.tracked_by == Tracked.SET and part.label_window:
        doubts = label_doubts(part.label_window, label)
        if doubts:
            one.reasons.append((Why.LABEL, "; ".join(doubts)))
    return one


def _look_into(one: Read, papers: Mapping[str, Certificate], plan: SamplePlan | None) -> None:
    """What the certificate says of the lot, and whether a sample is looked at first. DomainError "not-found", "lot-missing"."""
    line = one.line
    if line.certificate:
        one.certificate = papers.get(line.certificate)
        if one.certificate is None:
            raise DomainError(
                "not-found",
                f"There is no certificate {line.certificate} of this supplier.",
                ways_out=("Enter the certificate first.",),
                certificate=line.certificate,
            )
        if not line.lot:
            raise DomainError("lot-missing", f"A certificate is laid beside a lot; {one.part.number} came with none.")
        if not speaks_of(one.certificate.lots, line.lot):
            printed = ", ".join(one.certificate.lots)[:100]
            words = f"certificate {line.certificate} is for {printed}, the bag says {line.lot}"
            one.reasons.append((Why.CERTIFICATE, words))
    if plan is not None and line.lot and not line.rejected.strip():
        one.reasons.append((Why.SAMPLE, f"a sample of {plan.sample} is inspected first"))


def _unsorted(line: ReceiveLine) -> Part:
    """A part that the catalogue does not know: kept without a kind, so that nothing of it is issued. DomainError as `check_part`,
    "number-known" where a number on record differs only in spaces, dashes or case."""
    tracked = Tracked.SERIAL if line.serial else Tracked.LOT if line.lot else Tracked.NOTHING
    checked = check_part(PartFacts(line.part, line.to_be_sorted, "EA", tracked_by=tracked))
    locks.name("part", checked.compare_key)
    same = list(
        Part.objects.filter(compare_key=checked.compare_key).order_by("number").values_list("number", flat=True)
    )
    if same:
        raise DomainError(
            "number-known",
            f"{line.part} is in the catalogue as {', '.join(same)}.",
            ways_out=("Use the number that is on record.",),
            part=line.part,
            known=same,
        )
    return Part.objects.create(
        number=line.part,
        name=line.to_be_sorted,
        kind=checked.kind,
        unit=checked.unit,
        base=checked.base.value,
        tracked_by=tracked.value,
        compare_key=checked.compare_key,
    )


def _expiry(line: ReceiveLine, day: Day, rule: LifeRule) -> Expiry | Undated:
    """The expiry that the bag gives; of a kit, the earliest of the lots inside that are on record, however they are spelled."""
    contents: tuple[Expiry | Undated, ...] = ()
    if rule.kind is LifeKind.CONTENTS:
        inner = {(number, label_key(code)) for number, code in line.inner_lots.items()}
        codes = Lot.objects.filter(
            part__number__in=line.inner_lots, compare_key__in={key for _, key in inner}
        ).select_related("part")
        contents = tuple(
            Expiry(lot.expires_on, lot.expiry_rule)
            for lot in codes.order_by("part__number", "code")
            if (lot.part.number, lot.compare_key) in inner
        )
        if line.printed_on is not None:
            contents += (Expiry(line.printed_on, "printed date"),)
        if not contents:
            return Expiry(None, "contents' dates not known at receipt")
    cure = parse_cure_code(line.cure_code, latest=day.day) if line.cure_code else None
    return expiry(rule, LotDates(cure, line.made_on, line.printed_on, contents), day.basis)
