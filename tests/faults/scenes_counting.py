"""A stage for each act of counting by sheet and of keeping a piece of a lot back."""

from __future__ import annotations

from typing import Any

from inventory.services.count_sheets import BinIn, open_sheet, post_sheet
from inventory.services.enter_counts import SheetLineIn, enter_counts, recount
from inventory.services.keep_pieces import keep_pieces
from inventory.services.receive import ReceiveLine, receive
from kits.services.kept import release_kept
from tests.factories.keeping import switch_on
from tests.factories.stores import PartFactory, PersonFactory, SupplierFactory, shelf, stamp
from tests.faults.scenes import fresh, scene
from tests.faults.scenes_stores import lot_of


def counting(*counted: int) -> dict[str, Any]:
    """A sheet over one new bin of twenty, five of them promised, and what was counted of it, each by somebody else."""
    item = lot_of(20, promised=5)
    opened = open_sheet(
        actor=PersonFactory(), stamp=stamp(), site="TS", bins=[BinIn("R1", item.part.number)], note="weekly"
    )
    sheet = opened.body["sheet"]
    for number, amount in enumerate(counted):
        service = recount if number else enter_counts
        service(actor=PersonFactory(), stamp=stamp(), sheet=sheet, lines=[SheetLineIn(amount, 1)])
    return {"sheet": sheet}


@scene(open_sheet)
def a_bin() -> dict[str, Any]:
    return {"site": "TS", "bins": [BinIn("R1", lot_of(4).part.number)]}


@scene(enter_counts)
def a_bin_not_counted_yet() -> dict[str, Any]:
    return counting() | {"lines": [SheetLineIn(3, 1)]}


@scene(recount)
def a_bin_far_off() -> dict[str, Any]:
    return counting(3) | {"lines": [SheetLineIn(3, 1)]}


@scene(post_sheet)
def a_sheet_counted_twice() -> dict[str, Any]:
    return counting(3, 3) | {"reason": "seventeen are missing"}


@scene(keep_pieces)
def a_lot_that_keeps_none() -> dict[str, Any]:
    lot_of(4, kind="O-ring")
    switch_on()
    return {}


@scene(release_kept)
def a_kept_ring_of_a_lot_that_was_fitted_nowhere() -> dict[str, Any]:
    switch_on()
    return {"lot_id": lot_of(4, kind="O-ring").lot_id, "reason": "it goes back"}


@scene(receive)
def a_lot_of_which_one_is_kept() -> dict[str, Any]:
    switch_on()
    ring = PartFactory(number=fresh("F-"), kind="O-ring")
    place, supplier = shelf("R1").code, SupplierFactory().code
    return {"supplier": supplier, "place": place, "lines": [ReceiveLine(ring.number, 4, lot="A")]}
