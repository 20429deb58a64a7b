"""Readings of the records as those who judge take them. Private to services: nothing is decided here."""

from __future__ import annotations

from collections.abc import Sequence

from kits.domain.expansion import light_pieces
from kits.domain.families import Family
from kits.domain.gauges import expansion
from kits.domain.selecting import holder
from kits.domain.taken import Growth, Read, Taken, take
from kits.queries.readings import ReadingRow


def taken_of(family: Family, rows: Sequence[ReadingRow]) -> tuple[Taken, ...]:
    """The readings taken together, at 20 °C, as the family's pieces grow."""
    facts = family.facts
    growth = Growth(facts.expansion_ppm, light_pieces(facts.expansion_ppm, facts.texts.get("block", "")))
    return take([_read(row) for row in rows], growth)


def _read(row: ReadingRow) -> Read:
    """A row as the domain takes it; a place inside a cylinder or at a main counts as that one."""
    return Read(
        id=row.id,
        what=row.what,
        place=holder(row.place),
        set=row.set,
        point=row.point,
        value_nm=row.value,
        shown=row.shown,
        uncertainty_nm=row.uncertainty,
        gauge=row.gauge,
        gauge_ppm=expansion(row.expansion_ppm) if row.expansion_ppm else None,
        part_mk=row.part_mk,
        gauge_mk=row.gauge_mk,
        clamped=row.clamped,
        marks=row.marks,
    )
