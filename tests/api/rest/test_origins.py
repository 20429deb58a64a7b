"""Lost places and the maker's word over HTTP."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from kits.models import LostPosition, OriginWord

pytestmark = pytest.mark.django_db

PLACE = "LIFTER-3/lifter"


@pytest.fixture
def lifter(rebuild):
    """A lifter that came out of the third place to the bench; its item."""
    rebuild.booked(operations=["T2"], findings=[{"code": "lifter-bad", "place": "VALVE-3"}])
    rebuild.did(rebuild.technician, "jobs/J-1/finds", {"finds": [{"position": PLACE, "part": "LIFTER"}]})
    marks = {"position": PLACE, "tag": "3", "clock_deg": 90, "side": "front"}
    (removed,) = rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [marks]})["removed"]
    assert {name: removed[name] for name in marks} == marks
    assert removed["position_lost"] is False
    return removed["item"]


def test_removals_are_read_with_their_marks(rebuild, lifter):
    (row,) = rebuild.inspector.read("jobs/J-1/removals").json()["removals"]
    del row["removal"]
    assert row == {
        "position": PLACE, "item": lifter, "part": "LIFTER", "lot": "", "serial": "", "amount": 1, "at_bench": True, "tag": "3",
        "clock_deg": 90, "side": "front", "position_lost": False, "why_lost": "", "reason": "", "looked": "",
    }  # fmt: skip
    assert rebuild.inspector.read("jobs/J-9/removals").status_code == 404


def test_a_list_takes_as_many_queries_at_one_row_as_at_three(rebuild, lifter):
    def read():
        with CaptureQueriesContext(connection) as queries:
            rows = rebuild.inspector.read("jobs/J-1/removals").json()["removals"]
        return len(rows), len(queries)

    one = read()
    more = [f"LIFTER-{number}/lifter" for number in (4, 5)]
    rebuild.did(
        rebuild.technician, "jobs/J-1/finds", {"finds": [{"position": place, "part": "LIFTER"} for place in more]}
    )
    rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [{"position": place} for place in more]})
    assert (one[0], read()) == (1, (3, one[1]))


def test_a_lost_place_and_the_makers_word(rebuild, lifter):
    body = {"items": [lifter], "reason": "the rack fell"}
    assert rebuild.storekeeper.send("jobs/J-1/lost-positions", body).status_code == 403
    said = rebuild.did(rebuild.technician, "jobs/J-1/lost-positions", body)
    assert said == {"lost": [{"item": lifter, "part": "LIFTER", "positions": [PLACE]}]}
    again = rebuild.technician.send("jobs/J-1/lost-positions", body)
    assert (again.status_code, again.json()["code"]) == (409, "position-lost-already")
    (row,) = rebuild.inspector.read("jobs/J-1/removals").json()["removals"]
    assert (row["position"], row["position_lost"], row["why_lost"]) == ("", True, "the rack fell")
    inspection = {"position": PLACE, "item": lifter, "limit": "flat", "result": "flat", "good": True}
    rebuild.did(rebuild.inspector, "jobs/J-1/inspections", {"inspections": [inspection]})
    fitting = {"fittings": [{"position": PLACE, "item": lifter}]}
    answer = rebuild.technician.send("jobs/J-1/fittings", fitting)
    assert (answer.status_code, answer.json()["code"]) == (422, "position-lost")
    listed = rebuild.manager.read("jobs/J-1/list").json()
    assert [one["position"] for one in listed["reuse_refused"]] == [PLACE]
    word = {"item": lifter, "position": PLACE, "word": "a letter"}
    assert rebuild.technician.send("jobs/J-1/origin-words", word).status_code == 403
    assert rebuild.did(rebuild.manager, "jobs/J-1/origin-words", word) == word
    listed = rebuild.manager.read("jobs/J-1/list").json()
    assert ([one["position"] for one in listed["reused"]], listed["reuse_refused"]) == ([PLACE], [])
    (fitted,) = rebuild.did(rebuild.technician, "jobs/J-1/fittings", fitting)["fitted"]
    assert (fitted["reused"], fitted["doubtful"]) == (True, "position lost; the maker's word: a letter")
    assert (LostPosition.objects.count(), OriginWord.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("lost-positions", {"items": [], "reason": "x"}, 422, "nothing-given"),
        ("lost-positions", {"items": [999_999], "reason": "x"}, 404, "not-found"),
        ("lost-positions", {"items": [999_999], "reason": ""}, 422, "reason-missing"),
        ("lost-positions", {"items": ["1"], "reason": "x"}, 400, "fields-wrong"),
        ("origin-words", {"item": 999_999, "position": PLACE, "word": "w"}, 404, "not-found"),
        ("origin-words", {"item": 999_999, "position": PLACE, "word": ""}, 422, "reason-missing"),
        ("origin-words", {"item": 999_999, "position": "LIFTER-9/lifter", "word": "w"}, 422, "position-unknown"),
        ("removals", {"removals": [{"position": PLACE, "clock_deg": 360}]}, 400, "fields-wrong"),
        ("removals", {"removals": [{"reason": "no name"}]}, 422, "position-unknown"),
    ],
)
def test_what_is_refused(rebuild, path, body, status, code):
    rebuild.booked()
    answer = rebuild.manager.send(f"jobs/J-1/{path}", body)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert (LostPosition.objects.count(), OriginWord.objects.count()) == (0, 0)
