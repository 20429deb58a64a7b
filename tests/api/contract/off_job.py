"""One good request for each operation of what leaves beside jobs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.utils import timezone

from inventory.models import Item, Person
from inventory.services.off_job import LeavingLine, sell_at_counter
from tests.api.contract.shops import Good
from tests.factories.stores import OwnerFactory, PartFactory, quarantine, shelf, stamp, stock


def _line() -> dict[str, Any]:
    stock(PartFactory(number="W-1"), 10, lot="W", place=shelf("R1"))
    return {"item": Item.objects.get(part__number="W-1").pk, "amount": "2 EA", "place": "R1"}


def _selling(actor: Person) -> Good:
    words = {"buyer": OwnerFactory().pk, "reason": "walked in", "demand": True}
    return Good(body={"lines": [_line()], **words})


def _using(actor: Person) -> Good:
    return Good(body={"lines": [_line()], "reason": "test rig", "demand": False})


def _sold(actor: Person) -> int:
    line = _line()
    lines = [LeavingLine(line["item"], 2, "R1")]
    words: dict[str, Any] = {"buyer": OwnerFactory().pk, "reason": "walked in", "demand": True}
    done = sell_at_counter(actor=actor, stamp=stamp(timezone.now()), lines=lines, **words)
    return int(done.body["lines"][0]["line"])


def _returning(actor: Person) -> Good:
    quarantine("Q1")
    return Good({"line": _sold(actor)}, body={"amount": 1, "place": "Q1", "reason": "the wrong size"})


def _listed(actor: Person) -> Good:
    _sold(actor)
    return Good(query={"demand": "true"})


def _marking(actor: Person) -> Good:
    part = PartFactory(number="W-1").number
    return Good(body={"part": part, "month": "2025-01", "exceptional": True, "reason": "a recall"})


GOOD_OFF_JOB: dict[str, Callable[[Person], Good]] = {
    "counter_sales_list": _listed,
    "counter_sales_create": _selling,
    "counter_sale_lines_returns_create": _returning,
    "workshop_uses_list": lambda actor: Good(),
    "workshop_uses_create": _using,
    "demand_marks_create": _marking,
    "demand_read": lambda actor: Good(query={"since": "2025-01-01"}),
}
