"""The demo's claim, on the one job of its two years that it is about: what it tells, twice, and what its pack says.

Source of the answer: story S12 of the demo shop (invented): 1,089 h on 2024-12-02, built 2024-07-24, within 18 months and 3,000 h: yes.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partialmethod
from typing import Any

import pytest

from api.demo import history
from api.demo.catalogue import load_people
from api.demo.claims import tell_claims
from api.demo.files import document
from api.demo.history import History
from api.demo.stock import Buyer
from api.management.commands.demo import PASSWORD, load
from inventory.queries.audit import audit
from inventory.queries.people import person_by_login
from tests import databases
from tests.api.rest.clients import ShopClient


@pytest.fixture(scope="module")
def told(template_database: str, django_db_blocker: Any) -> Iterator[tuple[list[str], list[str], dict[str, Any]]]:
    """What is told the first time and the second, and the pack as the warranty clerk reads it."""
    (claim,) = document("claims")["claims"]
    patch = pytest.MonkeyPatch()
    patch.setattr(History, "run", partialmethod(History.run, only=lambda row: row["job"] == claim["job"]))
    patch.setattr(history, "used_by_part", dict)
    with django_db_blocker.unblock(), databases.clone(template_database):
        staff = load_people(PASSWORD)
        load(staff, Buyer(staff), str, str)
        first: list[str] = []
        second: list[str] = []
        tell_claims(staff, first.append)
        tell_claims(staff, second.append)
        pack = ShopClient(person_by_login(claim["clerk"])).read("claims/1/pack").json()
        assert audit() == []
    patch.undo()
    yield first, second, pack


def test_the_claim_is_inside_its_term_by_months_and_hours(told: Any) -> None:
    first, second, _ = told
    assert first == second
    assert first[1:9] == [
        "hester has a claim on R6-7309, told on 2024-12-02: coolant in the oil",
        "  the work of job J1128, handed over on 2024-07-24; inside the term: yes",
        "    months: 18 months from 2024-07-24: to 2026-01-24, that day included",
        "    hours: 1,089 h since hand-over on 2024-12-02, limit 3,000 h",
        "    kilometres: no limit of kilometres",
        "  CYL-4/groove-lower: R-113, lot SB-2341: wet below the liner, ring flat on its outside",
        "  cause, found by edda: the lower ring of cylinder 4 leaked; why it went flat is not known yet"
        " (oil sample OIL-24-118, coolant sample COOL-24-118)",
        "  answered: accepted, inside the term, and the ring was ours; the claim is closed",
    ]


def test_its_hours_are_those_of_the_story(told: Any) -> None:
    (claim,) = document("claims")["claims"]
    (job,) = [row for row in document("jobs")["jobs"] if row["job"] == claim["job"]]
    meter = claim["meter"]
    assert int(meter["at_claim"]) - int(meter["at_hand_over"]) == job["running_hours"] == 1089
    assert (job["engine"], job["opened"], job["event"]["on"]) == (
        claim["engine"], claim["handed_over_on"], claim["told_on"],
    )  # fmt: skip


def test_the_pack_has_every_position_of_the_build_and_names_what_it_lacks(told: Any) -> None:
    first, _, pack = told
    positions = {one["position"] for one in pack["build_sheet"]["positions"]}
    assert {f"CYL-{at}/{name}" for at in range(1, 7) for name in ("set", "groove-lower")} <= positions
    assert [one["reason"] for one in pack["removed_since"]] == []
    assert {one["lot"] for one in pack["lots"] if one["part"] == "R-113"} == {"SB-2341"}
    assert {gap["what"] for gap in pack["missing"] if gap["section"] == "Claim sheet"} == {
        "number of the owner on that day"
    }
    said = [line for line in first if line.startswith("    ") and "as built on this job: fitted with" in line]
    assert said == ["    Positions: as built on this job: fitted with, 26 times"]
