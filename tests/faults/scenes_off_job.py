"""Stages for what leaves beside jobs."""

from __future__ import annotations

from typing import Any

from inventory.services.demand_marks import mark_demand
from inventory.services.off_job import LeavingLine, sell_at_counter, take_back_sold, use_in_workshop
from tests.factories.acts import done
from tests.factories.stores import NOON, OwnerFactory
from tests.faults.scenes import scene
from tests.faults.scenes_stores import lot_of


def _sale() -> dict[str, Any]:
    lines = [LeavingLine(lot_of(4, promised=1).pk, 3, "R1")]
    return {"lines": lines, "buyer": OwnerFactory().pk, "reason": "walked in", "demand": True}


@scene(sell_at_counter)
def three_over_the_counter() -> dict[str, Any]:
    return _sale()


@scene(take_back_sold)
def two_of_three_come_back() -> dict[str, Any]:
    line = done(sell_at_counter, **_sale())["lines"][0]["line"]
    return {"line": line, "amount": 2, "place": "Q1", "reason": "the wrong size"}


@scene(use_in_workshop)
def two_for_the_test_rig() -> dict[str, Any]:
    return {"lines": [LeavingLine(lot_of(4).pk, 2, "R1")], "reason": "test rig", "demand": False}


@scene(mark_demand)
def a_month_with_a_recall_in_it() -> dict[str, Any]:
    return {"part": lot_of(4).part.number, "month": NOON.date(), "reason": "a recall"}
