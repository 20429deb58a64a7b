"""One good request for each operation of broken sets and what is left of them."""

from __future__ import annotations

from inventory.models import DepositEntry, Person
from tests.api.contract.rebuilds import JOB, Make
from tests.api.contract.shops import Good
from tests.api.rest.rebuilds import rebuild
from tests.factories.cores import brought, crate, maker, paid, pump
from tests.factories.matching import break_one, left_of_two, read_both
from tests.factories.measuring import gauge


def _matched(actor: Person) -> Good:
    """What two broken sets left is read, and somebody else signs."""
    its = rebuild().booked()
    gauge("G-1")
    them = left_of_two("SET", "S-1", "S-2")
    read_both("J-1", them)
    return Good(JOB, body={"part": "SET", "serial": "S-9", "signed_by": its.inspector.person.username, **them})


def _core(actor: Person) -> Good:
    break_one("S-1", "S-0441", "liner")
    return Good({"serial": "S-0441"}, body={"value_coins": 2_500, "reason": "the maker takes pistons back"})


def _taken_in(actor: Person) -> Good:
    pump()
    crate()
    return Good(body={"part": "PUMP", "to_place": "CRATES", "tag": "T-1", "subject": "J-1", "grade": "complete"})


def _answered(actor: Person) -> Good:
    return Good({"number": brought()}, body={"tag": "T-1", "subject": "J-1", "reason": "by its clamp"})


def _sent(actor: Person) -> Good:
    return Good(body={"supplier": maker().code, "units": [brought("T-1", "J-1")], "note": "parcel 5"})


def _paid(actor: Person) -> Good:
    return Good(body={"side": "supplier", "supplier": maker().code, "part": pump().number, "coins": 4_500})


def _settled(actor: Person) -> Good:
    return Good({"number": paid()}, body={"what": "refunded", "coins": 4_500})


def _reversed(actor: Person) -> Good:
    return Good({"number": DepositEntry.objects.get(deposit=paid()).pk}, body={"reason": "paid for another pump"})


GOOD_CORES: dict[str, Make] = {
    "jobs_matched_sets_create": _matched,
    "matched_sets_core_values_create": _core,
    "old_units_list": lambda actor: Good(query={"state": "here", "open": "true"}),
    "old_units_create": _taken_in,
    "old_units_answers_create": _answered,
    "old_unit_returns_create": _sent,
    "deposits_list": lambda actor: Good(query={"side": "supplier", "outstanding": "true"}),
    "deposits_create": _paid,
    "deposits_entries_create": _settled,
    "deposit_entries_reversals_create": _reversed,
    "outstanding_deposits_read": lambda actor: Good(),
    "deposits_at_risk_read": lambda actor: Good(query={"on": "2025-02-14", "days": "7", "supplier": "maker"}),
}
