"""A shelf that is counted by sheet: forty seals in a bin, ten rings in another, and the people who count them."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib.auth.models import Permission

from inventory.models import Person
from inventory.services.count_sheets import BinIn, open_sheet
from inventory.services.enter_counts import SheetLineIn, enter_counts
from tests.factories.acts import done
from tests.factories.stores import NOON, PartFactory, PersonFactory, shelf, stamp, stock

DAY_BEFORE = NOON - timedelta(days=1)


def minutes(number: int) -> Any:
    """A stamp so many minutes after noon."""
    return stamp(NOON + timedelta(minutes=number))


def two_bins() -> None:
    """Forty stem seals of one lot, ten rings in two lots: both on R1, received the day before."""
    seal, ring = PartFactory(number="SEAL", kind="stem seal"), PartFactory(number="D-RING", kind="O-ring")
    stock(seal, 40, lot="A", place=shelf("R1"), at=DAY_BEFORE)
    stock(ring, 4, lot="B", place=shelf("R1"), at=DAY_BEFORE)
    stock(ring, 6, lot="C", place=shelf("R1"), at=DAY_BEFORE)


def may_recount(username: str = "edda", **facts: Any) -> Person:
    """Somebody who may count again what another person found far off the books."""
    person: Person = PersonFactory(username=username, **facts)
    person.user_permissions.add(Permission.objects.get(codename="act_recount"))
    return person


def sheet_of(*parts: str, actor: Person | None = None) -> int:
    """A sheet over bins of R1, opened at noon."""
    body = done(open_sheet, actor=actor, site="TS", bins=[BinIn("R1", part) for part in parts])
    number: int = body["sheet"]
    return number


def entered(sheet: int, counts: dict[int, int], at: int = 1, service: Any = enter_counts, **more: Any) -> Any:
    """What was counted of lines, so many minutes after noon; everything was looked at."""
    lines = [SheetLineIn(amount, line) for line, amount in counts.items()]
    more.setdefault("actor", PersonFactory())
    return done(service, stamp=minutes(at), sheet=sheet, lines=lines, looked_at=["stem seal", "O-ring"], **more)
