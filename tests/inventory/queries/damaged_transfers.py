"""Damages of what rides between sites: each returns what the audit has to find."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from inventory.models import TransferNote
from inventory.services.take_transfer import TakeLine
from tests.factories.damage import execute, lift_guards
from tests.factories.vans import road

Finding = tuple[str, str, int | str]
TABLES = ("inventory_transfernoteline", "inventory_transfertaken")


def _more_on_the_note(shop: Any) -> list[Finding]:
    number = _note()
    execute("UPDATE inventory_transfernoteline SET amount = 5 WHERE note_id = %s", [number])
    return [("in-transit-is-what-the-note-says", "transfernote", number)]


def _taking_lost(shop: Any) -> list[Finding]:
    number = _note()
    execute("DELETE FROM inventory_transfertaken")
    return [("in-transit-is-what-the-note-says", "transfernote", number)]


def _note() -> int:
    """Four were sent, three came."""
    way = road("V-1")
    way.taken(way.sent(), TakeLine(1, 3, "Y1"))
    lift_guards(*TABLES)
    return TransferNote.objects.get().pk


TRANSFER_DAMAGES: list[tuple[str, Callable[[Any], list[Finding]]]] = [
    ("in-transit-is-what-the-note-says", _more_on_the_note),
    ("in-transit-is-what-the-note-says", _taking_lost),
]
