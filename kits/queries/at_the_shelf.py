"""Whether what was scanned at a shelf, and the bin that it was taken from, are what the line names."""

from __future__ import annotations

from datetime import date

from inventory.domain.errors import DomainError
from inventory.domain.labels import Label, as_data, as_gs1, is_structured, read_label
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import NO_SPOT
from inventory.domain.text import shown
from inventory.queries.held import Pending
from kits.queries.scanned import parts_called
from kits.queries.why_not import Reason


def wrong_bin(hold: Pending, scanned: str) -> DomainError | None:
    """None if no bin was scanned, or the line's: its place alone, or its place and its spot; else the refusal."""
    place, spot = hold.from_spot.place.code, hold.from_spot.name
    wanted = place if spot == NO_SPOT else f"{place} {spot}"
    said = " ".join(scanned.split()).casefold()
    if not said or said in (place.casefold(), wanted.casefold()):
        return None
    return _wrong(
        hold,
        f"It was taken from {scanned[:40]!r}; {hold.part} {hold.label} of this line lies at {wanted}.",
        "Go to the bin that the list names.",
        "Count the bin where it lies, if the books are wrong.",
        bin=shown(scanned),
        wanted=wanted,
    )


def wrong_scan(hold: Pending, scanned: str, day: date, why: Reason) -> DomainError | None:
    """None if the text is the line's lot, serial, tube or part number, or a label that says it; else the refusal.

    Where a label also names its part, that must be the line's part by its printed number, the shop's, a supplier's, or its GTIN.
    why  tells of another part what keeps it from this job, as the engine's number may
    """
    wanted = hold.label
    if scanned == wanted:
        return None
    try:
        label = _label(scanned, day)
        if _says(hold, label) if label else scanned.strip() and compare_key(scanned) == compare_key(wanted):
            return None
        part_alone = not label and scanned.strip() and compare_key(scanned) == compare_key(hold.part)
        reason = why(scanned, hold.thing.part_id) if scanned.strip() else ""
    except DomainError as error:
        return error
    if part_alone:
        return _wrong(
            hold,
            f"{shown(scanned)} is the part; this line is {wanted} of it.",
            "Scan the lot, serial or tube on the label.",
            scanned=shown(scanned),
            wanted=wanted,
            why="",
        )
    return _wrong(
        hold,
        f"{scanned[:40]!r} was scanned; this line is {hold.part} {wanted}." + (f" {reason}" if reason else ""),
        "Take what the list names.",
        "Release the line and hold what is there.",
        scanned=shown(scanned),
        wanted=wanted,
        why=reason,
    )


def _wrong(hold: Pending, sentence: str, *ways_out: str, **values: str) -> DomainError:
    """The refusal of what was not taken as the line says it."""
    return DomainError("wrong-scan", sentence, ways_out=ways_out, hold=hold.pk, part=hold.part, **values)


def _label(scanned: str, day: date) -> Label | None:
    if is_structured(scanned):
        return read_label(scanned, day)
    return as_gs1(scanned, day) or as_data(scanned, day)


def _says(hold: Pending, label: Label) -> bool:
    """Whether a label names the line's lot, serial or tube; of a part that is not traced, the part."""
    if hold.label != hold.part:
        said = [compare_key(one) for one in (label.serial, label.lot) if one]
        if compare_key(hold.label) not in said:
            return False
    elif not (label.part or label.gtin):
        return False
    for asked in ({"gtin": label.gtin} if label.gtin else {}), ({"number": label.part} if label.part else {}):
        if asked and not parts_called(**asked).filter(pk=hold.thing.part_id).exists():
            return False
    return True
