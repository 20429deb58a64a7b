"""What rows of each kind of table must be beside what is on record: the part is known, the place is a shelf, the amount has a unit."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from inventory.domain.catalogue import BASE_OF, CheckedPart, PartFacts, check_part
from inventory.domain.catalogue import KINDS as PART_KINDS
from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Doubt, Evidence, is_bare, zero_eaten
from inventory.domain.import_kinds import Kind, Known, KnownPart
from inventory.domain.items import Base, Tracked
from inventory.domain.part_numbers import compare_key
from inventory.domain.quantities import check_counted_as, parse_quantity, read_amount, to_base
from inventory.domain.receiving import WEIGHED
from inventory.domain.shelf_life import parse_cure_code
from inventory.domain.spelling import label_key
from inventory.domain.text import shown
from inventory.domain.units import BY_CODE, Dimension

#: Longest number to which zeros in front are looked for in the catalogue.
MOST_ZEROS = 8
DIMENSION_OF = {base: dimension for dimension, base in BASE_OF.items()}


@dataclass(slots=True)
class Row:
    """A row being judged."""

    kind: Kind
    known: Known
    evidence: Evidence
    today: date
    answers: Mapping[str, str]
    values: dict[str, Any] = field(default_factory=dict)
    doubts: list[Doubt] = field(default_factory=list)
    errors: list[DomainError] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    def text(self, name: str) -> str:
        value = self.values.get(name)
        return "" if value is None else str(value)

    def ask(self, code: str, column: str, typed: str, proposal: str, words: str) -> None:
        """A question, unless it was answered."""
        if column not in self.answers:
            self.doubts.append(Doubt(code, column, typed, proposal, words))

    def refuse(self, code: str, message: str, **values: Any) -> None:
        self.errors.append(DomainError(code, message, **values))


def _check_part(row: Row) -> None:
    if row.text("number") == "" or any(doubt.column == "unit" for doubt in row.doubts):
        return
    facts = _facts(row)
    if facts is None:
        return
    try:
        checked = check_part(facts)
    except DomainError as error:
        row.errors.append(error)
        return
    row.warnings.extend(checked.warnings)
    _check_replacement(row, checked)
    row.values |= {"compare_key": checked.compare_key, "unit": checked.unit, "base": checked.base.value}
    row.values |= {"kind": checked.kind, "tracked by": facts.tracked_by, "pack": facts.pack}
    row.values |= {"weight_mg": facts.weight_mg, "packed_ul": facts.packed_ul, "net_ul": facts.net_ul}
    row.values |= {"empty_mg": facts.empty_mg, "life": dict(facts.life), "ring": dict(facts.ring)}
    row.values |= {"label window": dict(facts.label_window), "storage": dict(facts.storage)}
    row.values |= {"loose issue": facts.loose_issue}
    same = row.known.parts.get(checked.compare_key)
    if same is None:
        return
    if same.number != facts.number:
        words = f"number: {facts.number} is on record as {same.number}, {same.name}; is it that one?"
        row.ask("number-known", "number", facts.number, same.number, words)
    elif (same.unit, same.tracked_by) != (checked.unit, facts.tracked_by):
        row.refuse(
            "part-unusable",
            f"{facts.number} is on record in {same.unit}, tracked by {same.tracked_by}: that cannot be changed.",
            part=facts.number,
        )


def _facts(row: Row) -> PartFacts | None:
    """The part as it would be entered by hand; None where a cell stands in the way."""
    kind = row.text("kind")
    if kind and kind not in PART_KINDS:
        row.warnings.append(f"{kind!r} is no kind that is known: kept as to be sorted, and not issued")
    weight, empty = _measure(row, "weight", Dimension.MASS), _measure(row, "empty weight", Dimension.MASS)
    packed, net = _measure(row, "packed volume", Dimension.VOLUME), _measure(row, "net content", Dimension.VOLUME)
    life, ring = _document(row, "life"), _document(row, "ring")
    loose = row.text("loose issue").lower()
    if loose not in ("", "yes", "no"):
        row.refuse("cell-unreadable", "loose issue: yes or no.", column="loose issue", typed=loose)
    if row.errors or row.doubts and row.values.get("unit") is None:
        return None
    return PartFacts(
        number=row.text("number"),
        name=row.text("name"),
        unit=row.text("unit"),
        kind=kind if kind in PART_KINDS else "",
        tracked_by=row.text("tracked by").lower() or Tracked.NOTHING,
        shop_number=row.text("shop number"),
        life=life,
        compound=row.text("compound"),
        lubricant=row.text("lubricant"),
        ring=ring,
        weight_mg=weight,
        label_window=_document(row, "label window"),
        storage=_document(row, "storage"),
        packed_ul=packed,
        pack=row.values.get("pack") or 1,
        loose_issue=loose != "no",
        price_coins=row.values.get("price"),
        density_mg_per_ml=row.values.get("density mg per mL"),
        net_ul=net,
        empty_mg=empty,
        hazard_note=row.text("hazard note"),
        storage_note=row.text("storage note"),
    )


def _document(row: Row, name: str) -> dict[str, Any]:
    """A cell that holds several words with their names, as JSON: {"from": "cure", "years": 7}."""
    text = row.text(name)
    if not text:
        return {}
    try:
        found = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        row.refuse("cell-unreadable", f"{name}: it is no JSON object.", column=name, typed=shown(text))
        return {}
    return found


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is no number")


def _check_replacement(row: Row, checked: CheckedPart) -> None:
    new = row.text("replaced by")
    if not new:
        if row.values.get("replaced on") is not None:
            row.refuse("cell-missing", "The row says when it was replaced, and not by what.", column="replaced by")
        return
    if compare_key(new) == checked.compare_key:
        row.refuse("replacement-loop", f"{row.text('number')} cannot replace itself.", part=row.text("number"))


def _measure(row: Row, name: str, dimension: Dimension) -> int | None:
    """A measure with its unit, in base units."""
    text = row.values.get(name)
    if text is None:
        return None
    if is_bare(text):
        row.ask("no-unit", name, text, "", f"{name}: {text} of what unit?")
        return None
    try:
        return read_amount(text, dimension).amount
    except DomainError as error:
        row.errors.append(error)
        return None


def _known_part(row: Row) -> KnownPart | None:
    """The part that a row names; asks where only zeros in front are missing, refuses one that is not on record."""
    typed = row.text("part")
    try:
        key = compare_key(typed)
    except DomainError as error:
        row.errors.append(error)
        return None
    part = row.known.parts.get(key)
    if part is not None:
        row.values["part"] = part.number
        return part
    if any(doubt.column == "part" for doubt in row.doubts):
        return None
    padded = [
        row.known.parts[full]
        for full in (key.zfill(width) for width in range(len(key) + 1, MOST_ZEROS + 1))
        if key.isascii() and key.isdigit() and full in row.known.parts
    ]
    if padded:
        row.doubts.append(zero_eaten("part", typed, padded[0].number, f"that is on record: {padded[0].name}"))
        return None
    row.refuse("not-found", f"No part {typed} is on record.", part=typed)
    return None


def _check_label(row: Row, part: KnownPart, name: str) -> None:
    """A lot or serial: asked about where it is on record in another spelling. The answer that it is as written keeps it apart."""
    text = row.text(name)
    if not text:
        return
    key = row.values[f"{name}_key"] = label_key(text)
    known = row.known.labels.get((name, part.number, key), ())
    if known and text not in known:
        words = f"{name}: {text} is on record as {' and '.join(known)}; is it that one?"
        row.ask("number-known", name, text, known[0], words)


def _check_supplier(row: Row) -> None:
    code, name = row.text("code"), row.text("name")
    for column, text, most in (("code", code, 40), ("name", name, 200)):
        if len(text) > most:
            row.refuse("text-too-long", f"{column}: at most {most} characters.", column=column)
    days = row.values.get("send back days")
    if days is not None and days > 3650:
        row.refuse("part-unusable", f"send back days {days} is too much.", field="send back days")


def _check_named_supplier(row: Row) -> None:
    supplier = row.text("supplier")
    if supplier and supplier not in row.known.suppliers:
        row.refuse("not-found", f"No supplier {supplier} is on record.", supplier=supplier)


def _check_price(row: Row) -> None:
    _known_part(row)
    _check_named_supplier(row)
    for name in ("pack", "least order"):
        if row.values.get(name) == 0:
            row.refuse("part-unusable", f"{name}: from 1 up.", field=name)
    for name in ("pack", "least order", "lead days"):
        if (row.values.get(name) or 0) > 1_000_000_000:
            row.refuse("part-unusable", f"{name} is too much.", field=name)


def _check_lot(row: Row) -> None:
    part = _known_part(row)
    _check_named_supplier(row)
    if part is not None and part.tracked_by is not Tracked.LOT:
        row.refuse("lot-not-kept", f"{part.number} is not traced by lot.", part=part.number)
    if part is not None:
        _check_label(row, part, "lot")
    if row.text("cured"):
        try:
            parse_cure_code(row.text("cured"), latest=row.today)
        except DomainError as error:
            row.errors.append(error)
    _past(row, "made on")
    _past(row, "received on")
    if row.text("expiry rule") and row.values.get("extension years") is not None and row.values["extension years"] > 50:
        row.refuse(
            "cell-unreadable",
            "extension years: at most 50.",
            column="extension years",
            typed=row.text("extension years"),
        )


def _past(row: Row, name: str) -> None:
    """A day that cannot lie ahead: asked about, with day and month changed about where that lies behind."""
    text = row.values.get(name)
    if text is None or any(doubt.column == name for doubt in row.doubts):
        return
    day = date.fromisoformat(str(text))
    if day <= row.today:
        return
    other = date(day.year, day.day, day.month) if day.day <= 12 else None
    if other is not None and other <= row.today and name not in row.answers:
        words = f"{name}: {day:%d %B %Y} lies ahead; is {other:%d %B %Y} meant?"
        row.doubts.append(Doubt("day-swapped", name, str(text), other.isoformat(), words))
        return
    row.refuse("from-the-future", f"{name}: {day.isoformat()} has not happened yet.", column=name, typed=str(text))


def _check_place(row: Row) -> None:
    place = row.text("place")
    if place and place not in row.known.places:
        row.refuse("not-found", f"No shelf or quarantine place {place} is on record.", place=place)


def _check_stock(row: Row) -> None:
    part = _known_part(row)
    _check_place(row)
    if part is None:
        return
    _check_tracking(row, part, lot=row.text("lot"), serial=row.text("serial"))
    _check_label(row, part, "lot")
    _check_label(row, part, "serial")
    row.values["spot"] = row.text("spot") or "-"
    if row.text("remark"):
        row.refuse(
            "import-remark",
            f"{row.text('remark')}: that is more than a table can bring in; open, weigh, or look at it here.",
            column="remark",
        )
    amount = row.values.get("amount")
    if amount is not None:
        row.values["base_amount"] = _stock_amount(row, part, str(amount))
    if part.tracked_by in (Tracked.SERIAL, Tracked.SET) and row.values.get("base_amount") not in (None, 1):
        row.refuse("amount-too-large", f"{part.number} {row.text('serial')} is one thing.", part=part.number)


def _check_tracking(row: Row, part: KnownPart, *, lot: str, serial: str) -> None:
    single = part.tracked_by in (Tracked.SERIAL, Tracked.SET)
    if part.tracked_by is Tracked.LOT and not lot:
        row.refuse("lot-missing", f"{part.number} is traced by lot; no lot was given.", part=part.number)
    if single and not serial:
        row.refuse("serial-missing", f"{part.number} is told apart by serial number; none was given.", part=part.number)
    if serial and not single:
        row.refuse("serial-not-kept", f"{part.number} has no serial numbers; {serial} was given.", part=part.number)
    if lot and part.tracked_by is not Tracked.LOT:
        row.refuse("lot-not-kept", f"{part.number} is not traced by lot; {lot} was given.", part=part.number)


def _stock_amount(row: Row, part: KnownPart, text: str) -> int | None:
    """Base units of an amount; a number alone is read in the unit beside it, or asked about where that could be another one."""
    unit = row.text("unit")
    symbol = BY_CODE[part.unit].symbol
    if is_bare(text):
        if unit:
            text = f"{text} {unit}"
        elif part.base is Base.PIECE and not row.evidence.of("amount").with_unit:
            text = f"{text} {part.unit}"
        elif "amount" not in row.answers:
            row.ask(
                "no-unit",
                "amount",
                text,
                f"{text} {part.unit}",
                f"amount: is {text} {symbol} meant? No unit stands there.",
            )
            return None
    try:
        quantity = parse_quantity(text)
        if part.base is Base.PIECE and quantity.unit.dimension is Dimension.COUNT:
            try:
                check_counted_as(quantity, part.unit)
            except DomainError as error:
                row.ask("another-unit", "amount", text, "", f"amount: {error.message}")
                return None
        return to_base(quantity, DIMENSION_OF[part.base]).amount
    except DomainError as error:
        row.errors.append(error)
        return None


def _check_set(row: Row) -> None:
    part = _known_part(row)
    _check_place(row)
    if part is not None and part.tracked_by is not Tracked.SET:
        row.refuse("part-unusable", f"{part.number} is no matched set.", part=part.number)
    if part is not None:
        _check_label(row, part, "serial")
    row.values["spot"] = row.text("spot") or "-"
    _check_weight(row)
    row.values["bore_nm"] = _measure(row, "bore", Dimension.LENGTH)
    row.values["piston_nm"] = _measure(row, "piston", Dimension.LENGTH)
    bore, piston = row.values["bore_nm"], row.values["piston_nm"]
    if bore is not None and piston is not None and bore <= piston:
        row.refuse("cell-unreadable", "The bore is not wider than the piston.", column="bore", typed=row.text("bore"))


def _check_weight(row: Row) -> None:
    """One weight of the piston, whose column says what lay on the scales with it."""
    given = {
        weighed: weight
        for weighed in WEIGHED
        if (weight := _measure(row, f"weight {weighed}", Dimension.MASS)) is not None
    }
    if row.text("weight") or len(given) > 1:
        said = f"A column says {' or '.join(f'weight {weighed}' for weighed in WEIGHED)}, one for each set."
        row.refuse("weight-unsaid", said, column="weight", typed=row.text("weight"))
    row.values["weighed"], row.values["weight_mg"] = next(iter(given.items()), ("", None))


CHECKS: Mapping[str, Callable[[Row], None]] = {
    "parts": _check_part,
    "suppliers": _check_supplier,
    "prices": _check_price,
    "lots": _check_lot,
    "stock": _check_stock,
    "sets": _check_set,
}
