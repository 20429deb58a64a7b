"""Product sheets of sealants as they held at a moment."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.product_sheets import SheetEntry
from inventory.models import Part, SealantSheet


def sheets_at(part_ids: Collection[int], at: datetime) -> dict[int, SealantSheet]:
    """Part → the newest sheet that was on record at that moment; a part without one is left out. One query."""
    rows = SealantSheet.objects.filter(part_id__in=part_ids, act__occurred_at__lte=at).order_by("revision")
    return {row.part_id: row for row in rows}


def entries_of(sheet: SealantSheet | None) -> tuple[SheetEntry, ...]:
    """The rows of a sheet's table; none where there is no sheet."""
    return tuple(SheetEntry(**row) for row in sheet.entries) if sheet is not None else ()


def sheets_of(number: str) -> dict[str, Any]:
    """All sheets of a part, the newest first, each with who signed that they read it. Three queries; DomainError "not-found"."""
    part = Part.objects.filter(number=number).first()
    if part is None:
        raise DomainError("not-found", f"There is no part {number}.", part=number)
    rows = (
        SealantSheet.objects.filter(part=part)
        .select_related("act")
        .prefetch_related("readings__person", "readings__act")
        .order_by("-revision")
    )
    return {
        "part": number,
        "sheets": [
            {
                "revision": row.revision,
                "since": row.act.occurred_at,
                "edition": row.edition,
                "cures_by": row.cures_by,
                "density_mg_per_ml": row.density_mg_per_ml,
                "open_days": row.open_days,
                "entries": row.entries,
                "sensor_safe": row.sensor_safe,
                "read_by": [
                    {"person": reading.person.username, "at": reading.act.occurred_at}
                    for reading in sorted(row.readings.all(), key=lambda one: one.pk)
                ],
            }
            for row in rows
        ],
    }
