"""What is on record of what rows of a table name, before they are judged."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from inventory.domain.import_cells import Cell
from inventory.domain.import_kinds import Kind
from inventory.domain.import_known import Known, KnownPart
from inventory.domain.import_rows import wanted_keys
from inventory.domain.items import Base, Tracked
from inventory.domain.lot_dates import Dates, lacks_date
from inventory.domain.part_numbers import look_of
from inventory.domain.places import PlaceKind
from inventory.domain.spelling import label_key
from inventory.models import Lot, Part, Place, Serial, Supplier
from inventory.models.looks import Look
from inventory.queries.imports import in_chunks
from inventory.queries.shop import Shop, shop


def known_for(kind: Kind, rows: Sequence[Mapping[str, Cell]]) -> Known:
    """What is on record of the parts that rows may mean; all places and suppliers. Four queries for each 10,000 keys."""
    parts: dict[str, KnownPart] = {}
    its = shop()
    for part in in_chunks(Part.objects.order_by("-number"), "compare_key", wanted_keys(kind, rows)):
        needs = bool(part.life) and lacks_date(its.life_of(part), Dates())
        parts[part.compare_key] = KnownPart(
            part.number, part.name, part.unit, Base(part.base), Tracked(part.tracked_by), needs
        )
    stored = Place.objects.filter(kind__in=(PlaceKind.SHELF, PlaceKind.QUARANTINE)).values_list("code", "kind")
    places = dict(stored)
    suppliers = Supplier.objects.values_list("code", flat=True)
    labels, undated = _labels(kind, rows, its)
    return Known(
        parts,
        frozenset(places),
        frozenset(code for code, what in places.items() if what == PlaceKind.QUARANTINE),
        frozenset(suppliers),
        labels,
        undated,
    )


def _labels(
    kind: Kind, rows: Sequence[Mapping[str, Cell]], its: Shop
) -> tuple[dict[tuple[str, str, str], dict[str, str]], frozenset[tuple[str, str]]]:
    """("lot" or "serial", part number, look) -> the labels on record that look so -> their keys; and the lots without the date that their
    life is counted from. A query for each 10,000 looks of either."""
    found: dict[tuple[str, str, str], dict[str, str]] = {}
    undated: set[tuple[str, str]] = set()
    for name, labels, text in (("lot", Lot.objects.all(), "code"), ("serial", Serial.objects.all(), "number")):
        typed = (row.get(name, Cell()).text.strip().removesuffix(".0") for row in rows) if name in kind.reads else ()
        stored = labels.alias(look=Look("compare_key")).select_related("part").order_by(text)
        for one in in_chunks(stored, "look", {look_of(label_key(t)) for t in typed if t}):
            key = one.compare_key
            found.setdefault((name, one.part.number, look_of(key)), {})[getattr(one, text)] = key
            if isinstance(one, Lot) and one.expires_on is None and _undated(one, its):
                undated.add((one.part.number, one.code))
    return found, frozenset(undated)


def _undated(lot: Lot, its: Shop) -> bool:
    dates = Dates(lot.cure_code, lot.made_on, lot.printed_on)
    return bool(lot.part.life) and lacks_date(its.life_of(lot.part), dates)
