"""What rows of each kind of table must be beside what is on record: the part is known, the place is a shelf, the amount has a unit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

from inventory.domain.catalogue import BASE_OF
from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Doubt, is_bare
from inventory.domain.import_known import KnownPart, Row, document, known_part, measure
from inventory.domain.import_parts import check_part_row
from inventory.domain.items import Base, Tracked
from inventory.domain.part_numbers import look_of
from inventory.domain.quantities import check_counted_as, parse_quantity, to_base
from inventory.domain.receiving import WEIGHED
from inventory.domain.shelf_life import parse_cure_code
from inventory.domain.spelling import label_key
from inventory.domain.units import BY_CODE, Dimension

DIMENSION_OF = {base: dimension for dimension, base in BASE_OF.items()}
_MOST = 1_000_000_000
#: As terms of suppliers that are entered by hand.
_MOST_DAYS = 3650


def _check_label(row: Row, part: KnownPart, name: str) -> None:
    """A lot or serial: asked about where it is on record in another spelling, or where one that looks like it is. The answer that it is
    as written keeps it apart."""
    text = row.text(name)
    if not text:
        return
    key = row.values[f"{name}_key"] = label_key(text)
    alike = row.known.labels.get((name, part.number, look_of(key)), {})
    known = [label for label, its in alike.items() if its == key]
    if known and text not in known:
        words = f"{name}: {text} is on record as {' and '.join(known)}; is it that one?"
        row.ask("number-known", name, text, known[0], words)
    elif alike and not known:
        words = f"{name}: {text} looks like {' and '.join(alike)} of {part.number}, which is on record; is it that one?"
        row.ask("looks-alike", name, text, next(iter(alike)), words)


def _check_supplier(row: Row) -> None:
    code, name = row.text("code"), row.text("name")
    for column, text, most in (("code", code, 40), ("name", name, 200)):
        if len(text) > most:
            row.refuse("text-too-long", f"{column}: at most {most} characters.", column=column)
    _check_days(row, "send back days")
    row.values["facts"] = document(row, "facts")


def _check_days(row: Row, *names: str) -> None:
    for name in names:
        if (row.values.get(name) or 0) > _MOST_DAYS:
            row.refuse("part-unusable", f"{name} {row.values[name]} is too much.", field=name)


def _check_named_supplier(row: Row) -> None:
    supplier = row.text("supplier")
    if supplier and supplier not in row.known.suppliers:
        row.refuse("not-found", f"No supplier {supplier} is on record.", supplier=supplier)


def _check_price(row: Row) -> None:
    known_part(row)
    _check_named_supplier(row)
    for name in ("pack", "least order"):
        if row.values.get(name) == 0:
            row.refuse("part-unusable", f"{name}: from 1 up.", field=name)
        if (row.values.get(name) or 0) > _MOST:
            row.refuse("part-unusable", f"{name} is too much.", field=name)
    _check_days(row, "lead days", "send back days", "express days")
    if (row.values.get("express days") is None) != (row.values.get("express price") is None):
        row.refuse("part-unusable", "Express has its days and its price, or neither.", field="express days")
    if row.values.get("price") is None and not row.doubts:
        row.warnings.append("no price stands there: it is sold, and nobody said for how much")


def _check_lot(row: Row) -> None:
    part = known_part(row)
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
    # Where a table names the rule, its day is the one that was counted; else it is what the bag says.
    ruled = bool(row.text("expiry rule"))
    row.values["printed"] = row.values.get("printed on") or (None if ruled else row.values.get("expires on"))
    row.values["counted"] = row.values.get("expires on") if ruled else None
    if ruled and row.values.get("extension years") is not None and row.values["extension years"] > 50:
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
    part = known_part(row)
    _check_place(row)
    if part is None:
        return
    _check_tracking(row, part, lot=row.text("lot"), serial=row.text("serial"))
    _check_label(row, part, "lot")
    _check_label(row, part, "serial")
    row.values["spot"] = row.text("spot") or "-"
    _check_dated(row, part)
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


def _check_dated(row: Row, part: KnownPart) -> None:
    """As at receipt: without the date that its life is counted from a lot lies in quarantine, and on no shelf."""
    lot, place = row.text("lot"), row.text("place")
    known = lot in row.known.labels.get(("lot", part.number, look_of(label_key(lot))), {}) if lot else False
    undated = (part.number, lot) in row.known.undated if known else part.needs_date
    if not lot or not undated or place in row.known.quarantines or place not in row.known.places:
        return
    words = (
        f"lot {lot} of {part.number} has no date that its life is counted from: it belongs in quarantine, or bring in the table"
        " of lots with its date first"
    )
    if "place" in row.answers:
        row.refuse("undated", f"{words}.", part=part.number, lot=lot)
        return
    proposal = next(iter(row.known.quarantines)) if len(row.known.quarantines) == 1 else ""
    row.ask("undated", "place", place, proposal, f"place: {words}.")


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
    part = known_part(row)
    _check_place(row)
    if part is not None and part.tracked_by is not Tracked.SET:
        row.refuse("part-unusable", f"{part.number} is no matched set.", part=part.number)
    if part is not None:
        _check_label(row, part, "serial")
    row.values["spot"] = row.text("spot") or "-"
    _check_weight(row)
    row.values["bore_nm"] = measure(row, "bore", Dimension.LENGTH)
    row.values["piston_nm"] = measure(row, "piston", Dimension.LENGTH)
    bore, piston = row.values["bore_nm"], row.values["piston_nm"]
    if bore is not None and piston is not None and bore <= piston:
        row.refuse("cell-unreadable", "The bore is not wider than the piston.", column="bore", typed=row.text("bore"))


def _check_weight(row: Row) -> None:
    """One weight of the piston, whose column says what lay on the scales with it."""
    given = {
        weighed: weight
        for weighed in WEIGHED
        if (weight := measure(row, f"weight {weighed}", Dimension.MASS)) is not None
    }
    if row.text("weight") or len(given) > 1:
        said = f"A column says {' or '.join(f'weight {weighed}' for weighed in WEIGHED)}, one for each set."
        row.refuse("weight-unsaid", said, column="weight", typed=row.text("weight"))
    row.values["weighed"], row.values["weight_mg"] = next(iter(given.items()), ("", None))


CHECKS: Mapping[str, Callable[[Row], None]] = {
    "parts": check_part_row,
    "suppliers": _check_supplier,
    "prices": _check_price,
    "lots": _check_lot,
    "stock": _check_stock,
    "sets": _check_set,
}
