"""One good request for each operation of broken sets and what is left of them."""

from __future__ import annotations

from inventory.models import Person
from tests.api.contract.rebuilds import JOB, Make
from tests.api.contract.shops import Good
from tests.api.rest.rebuilds import rebuild
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


GOOD_CORES: dict[str, Make] = {
    "jobs_matched_sets_create": _matched,
    "matched_sets_core_values_create": _core,
}
