"""A new gasket does not go over old bolts: what its notice names goes with it to the bench and into the engine, or it stays. Over HTTP.

Worked example of the demo shop (invented): the steel gasket A-203 goes only with ten A-502, and the old A-501 are never mixed with it.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from tests.api.rest.described import DescribedClient
from tests.journeys.shop import Story, scans

BOOKED = datetime(2025, 1, 2, 9, tzinfo=UTC)
AT_WORK = datetime(2025, 1, 16, 9, tzinfo=UTC)
JOB = "J1175"
BOLTS = [f"HEAD/bolt-{number:02}" for number in range(1, 11)]
FINE = {"positions": [{"position": bolt, "because": "the old ones look fine"} for bolt in BOLTS]}


@pytest.fixture
def jonah(story: Story) -> DescribedClient:
    """The technician; gasket and bolts are held."""
    story.book(JOB, BOOKED, "2025-01-15", "2025-01-17", operations=["P2"])
    story.shelve("A-203", 1, BOOKED)
    story.shelve("A-502", 10, BOOKED)
    story.at = AT_WORK
    return story.client("jonah")


def said(answer: Any) -> tuple[int, str]:
    return answer.status_code, answer.json().get("code", "")


def open_lines(jonah: DescribedClient, what: str) -> list[dict[str, Any]]:
    return [row for row in jonah.read(f"jobs/{JOB}/open-lines").json()["open"] if row["what"] == what]


def test_bolts_given_up_after_the_hold_keep_the_gasket_on_the_cart(story, jonah):
    story.did(jonah, f"jobs/{JOB}/finds", {"finds": [{"position": bolt, "part": "A-501"} for bolt in BOLTS]})
    held = story.did(jonah, f"jobs/{JOB}/holds", {})
    gasket = [row for row in held["held"] if row["part"] == "A-203"]
    piet = story.client("piet")
    story.did(piet, f"pick-lists/{held['pick_list']}/picks", {"scans": scans(gasket)})
    for row in held["held"]:
        if row["part"] == "A-502":
            story.did(story.client("maren"), f"holds/{row['hold']}/releases", {"reason": "needed elsewhere"})
    story.did(jonah, f"jobs/{JOB}/not-needed", FINE)
    lacks = sorted({row[name] for row in held["shorts"] for name in ("part", "wanted")})
    body = {"received_by": "jonah", "missing": lacks, "occurred_at": AT_WORK.isoformat()}
    assert said(piet.send(f"pick-lists/{held['pick_list']}/handovers", body)) == (422, "companion-missing")
    assert [row["part"] for row in open_lines(jonah, "companion missing")] == ["A-203", "A-501"]


def test_bolts_answered_away_at_the_bench_keep_the_gasket_out_of_the_engine(story, jonah):
    rows = story.bring(JOB)
    gasket = next(row["item"] for row in rows if row["part"] == "A-203")
    story.did(jonah, f"jobs/{JOB}/not-needed", FINE)
    fitting = {"fittings": [{"position": "HEAD/gasket", "item": gasket}], "occurred_at": AT_WORK.isoformat()}
    assert said(jonah.send(f"jobs/{JOB}/fittings", fitting)) == (422, "companion-missing")


def test_not_needed_is_no_answer_under_a_joint_that_was_opened(story, jonah):
    rows = story.bring(JOB)
    gasket = next(row["item"] for row in rows if row["part"] == "A-203")
    story.did(jonah, f"jobs/{JOB}/fittings", {"fittings": [{"position": "HEAD/gasket", "item": gasket}]})
    refused = jonah.send(f"jobs/{JOB}/not-needed", FINE | {"occurred_at": AT_WORK.isoformat()})
    assert said(refused) == (422, "always-new")
    assert refused.json()["values"]["positions"] == dict.fromkeys(BOLTS, "HEAD/gasket")
    elsewhere = {"positions": [{"position": "COOLANT/fill", "because": "the owner fills it in"}]}
    story.did(jonah, f"jobs/{JOB}/not-needed", elsewhere)


def test_a_word_from_before_the_joint_was_opened_leaves_its_line_open(story, jonah):
    story.did(jonah, f"jobs/{JOB}/not-needed", FINE)
    assert open_lines(jonah, "always new, left old") == []
    story.did(jonah, f"jobs/{JOB}/finds", {"finds": [{"position": BOLTS[0], "part": "A-501"}]})
    story.did(jonah, f"jobs/{JOB}/removals", {"removals": [{"position": BOLTS[0]}]})
    assert [row["position"] for row in open_lines(jonah, "always new, left old")] == BOLTS


def test_what_came_out_beside_the_booked_work_is_renewed_too(story):
    """A job without the head on it: the gasket that came out all the same is not answered away, and its procedure can be added."""
    story.book(JOB, BOOKED, "2025-01-15", "2025-01-17", operations=["P3"], findings=[])
    story.at = AT_WORK
    jonah = story.client("jonah")
    finds = [{"position": "HEAD/gasket", "part": "A-203"}, {"position": "CYL-1/rings", "part": "A-103"}]
    story.did(jonah, f"jobs/{JOB}/finds", {"finds": finds})
    removals = [{"position": one["position"], "to": "scrap"} for one in finds]
    story.did(jonah, f"jobs/{JOB}/removals", {"removals": removals})
    gone = [row["position"] for row in open_lines(jonah, "taken out, nothing is back")]
    assert gone == ["HEAD/gasket", "CYL-1/rings"]
    word = {"positions": [{"position": "HEAD/gasket", "because": "so"}], "occurred_at": AT_WORK.isoformat()}
    assert said(jonah.send(f"jobs/{JOB}/not-needed", word)) == (422, "always-new")
    # No line asks for a ring set where the set is not kept: a new set brings its own.
    story.did(
        jonah, f"jobs/{JOB}/not-needed", {"positions": [{"position": "CYL-1/rings", "because": "the set has its own"}]}
    )
    story.did(story.client("maren"), f"jobs/{JOB}/operations", {"operations": ["P2"]})
    assert "HEAD/gasket" in {position for line in story.list_of(JOB)["lines"] for position in line["positions"]}
