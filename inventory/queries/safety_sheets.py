"""Safety data sheets as they stood at a moment, and who signed that they read them."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any

from inventory.domain.safety_sheets import CHEMICAL_KINDS
from inventory.models import Part, SafetySheet, SafetySheetReading
from inventory.queries.catalogue import no_such_parts


def safety_sheets_at(part_ids: Collection[int], at: datetime) -> dict[int, SafetySheet]:
    """Part → the newest sheet that was on record at that moment; a part without one is left out. One query."""
    rows = SafetySheet.objects.filter(part_id__in=part_ids, act__occurred_at__lte=at).order_by("revision")
    return {row.part_id: row for row in rows}


def read_by(sheet_ids: Collection[int], person_id: int, at: datetime) -> set[int]:
    """The sheets of these that a person had signed as read by that moment. One query."""
    rows = SafetySheetReading.objects.filter(sheet_id__in=sheet_ids, person=person_id, act__occurred_at__lte=at)
    return set(rows.values_list("sheet_id", flat=True))


def safety_sheets_of(number: str) -> dict[str, Any]:
    """All sheets of a part, the newest first, each with who signed that they read it. Three queries; DomainError "not-found"."""
    part = Part.objects.filter(number=number).first()
    if part is None:
        raise no_such_parts([number])[number]
    return {"part": number, "sheets": [_sheet(row) for row in _rows([part.pk])]}


def chemicals() -> list[dict[str, Any]]:
    """Every chemical of the catalogue with its newest sheet, None where there is none: what may not be issued. Three queries."""
    parts = list(Part.objects.filter(kind__in=CHEMICAL_KINDS).order_by("number"))
    newest: dict[int, SafetySheet] = {}
    for row in _rows([part.pk for part in parts]):
        newest.setdefault(row.part_id, row)
    return [
        {
            "part": part.number,
            "name": part.name,
            "kind": part.kind,
            "sheet": _sheet(newest[part.pk]) if part.pk in newest else None,
        }
        for part in parts
    ]


def _rows(part_ids: Collection[int]) -> list[SafetySheet]:
    rows = SafetySheet.objects.filter(part_id__in=part_ids).select_related("act")
    return list(rows.prefetch_related("readings__person", "readings__act").order_by("-revision"))


def _sheet(row: SafetySheet) -> dict[str, Any]:
    return {
        "revision": row.revision,
        "since": row.act.occurred_at,
        "link": row.link,
        "issued_on": row.issued_on,
        "read_by": [
            {"person": reading.person.username, "at": reading.act.occurred_at}
            for reading in sorted(row.readings.all(), key=lambda one: one.pk)
        ],
    }
