"""Told with a job's list before anything is picked: chemicals whose safety data sheet is missing or not signed by who reads the list,
and lots of which the log of a place's temperatures says something."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from inventory.domain.safety_sheets import is_chemical
from inventory.models import Balance, Lot, TemperatureReading
from inventory.queries.safety_sheets import read_by, safety_sheets_at
from inventory.queries.storage import said, storage_notes
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


def storage_warnings(listed: JobList, at: datetime) -> list[dict[str, Any]]:
    """[{part, lot, lot_id, notes}] of the lots of its parts that lie in the shop, by part number and lot; they stop nothing by
    themselves. One query where no place keeps a log, else seven at most."""
    if not TemperatureReading.objects.exists():
        return []
    on_list = {line.part for line in (*listed.lines, *listed.candidates)}
    mine = [part.pk for number, part in listed.parts.items() if number in on_list]
    there = Balance.objects.filter(part_id__in=mine, amount__gt=0, in_shop=True).values("item__lot")
    lots = {lot.pk: lot for lot in Lot.objects.filter(pk__in=there).select_related("part")}
    notes = storage_notes(lots, at)
    return [
        {"part": lot.part.number, "lot": lot.code, "lot_id": lot.pk, "notes": said(notes[lot.pk])}
        for lot in sorted(lots.values(), key=lambda one: (one.part.number, one.code))
        if lot.pk in notes
    ]
