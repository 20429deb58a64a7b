"""Chemicals on a job's list whose safety data sheet is missing, or not signed by who reads the list: told before anything is picked."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from inventory.domain.safety_sheets import is_chemical
from inventory.queries.safety_sheets import read_by, safety_sheets_at
from kits.queries.job_list import JobList


def sheet_warnings(listed: JobList, person_id: int, at: datetime) -> list[dict[str, Any]]:
    """[{part, name, why}] by part number. Two queries where the list has a chemical, else none."""
    on_list = {line.part for line in (*listed.lines, *listed.candidates)}
    chemicals = {part.pk: part for number, part in listed.parts.items() if number in on_list and is_chemical(part.kind)}
    if not chemicals:
        return []
    sheets = safety_sheets_at(chemicals, at)
    signed = read_by([sheet.pk for sheet in sheets.values()], person_id, at)
    found = []
    for pk, part in sorted(chemicals.items(), key=lambda one: one[1].number):
        sheet = sheets.get(pk)
        if sheet is None:
            why = "no safety data sheet is on record: it is held, and not picked"
        elif sheet.pk not in signed:
            why = f"you have not signed sheet {sheet.revision} as read: whoever takes the cart has to"
        else:
            continue
        found.append({"part": part.number, "name": part.name, "why": why})
    return found
