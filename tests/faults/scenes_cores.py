"""A stage for each act of old units and deposits."""

from __future__ import annotations

from typing import Any

from inventory.models import DepositEntry
from inventory.services.deposits import enter_deposit, reverse_entry, settle_deposit
from inventory.services.old_units import answer_old_unit, record_old_unit, send_back
from inventory.services.transfer import TransferLine, transfer
from tests.factories.cores import brought, crate, maker, paid, pump
from tests.factories.stores import PersonFactory, stamp
from tests.faults.scenes import fresh, scene
from tests.faults.scenes_stores import lot_of


@scene(record_old_unit)
def brought_without_its_engine() -> dict[str, Any]:
    crate()
    words = {"tag": fresh("T-"), "subject": "J1", "supplier": maker().code, "deposits": [paid()]}
    return {"part": pump().number, "to_place": "CRATES", **words}


@scene(record_old_unit)
def out_of_quarantine_without_a_tag() -> dict[str, Any]:
    crate()
    it = lot_of(2)
    carried = [TransferLine(it.pk, 1, "R1", "Q1")]
    transfer(actor=PersonFactory(), stamp=stamp(), lines=carried, note="it came back from an engine")
    return {"item_id": it.pk, "place": "Q1", "to_place": "CRATES"}


@scene(answer_old_unit)
def whose_it_is() -> dict[str, Any]:
    return {"unit": brought(), "tag": fresh("T-"), "subject": "J1", "reason": "by its clamp", "deposits": [paid()]}


@scene(send_back)
def two_in_one_parcel() -> dict[str, Any]:
    return {"supplier": maker().code, "units": [brought(fresh("T-"), "J1") for _ in range(2)], "note": "parcel 5"}


@scene(enter_deposit)
def paid_to_the_maker() -> dict[str, Any]:
    return {"side": "supplier", "supplier": maker().code, "part": pump().number, "coins": 4_500, "unit": brought()}


@scene(settle_deposit)
def a_part_of_it_is_lost() -> dict[str, Any]:
    return {"deposit": paid(), "what": "lost", "coins": 500, "reason": "the shaft was bent"}


@scene(reverse_entry)
def a_payment_that_was_none() -> dict[str, Any]:
    return {"entry": DepositEntry.objects.get(deposit=paid()).pk, "reason": "paid for another pump"}
