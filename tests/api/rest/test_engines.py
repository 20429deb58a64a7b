"""`engine-families`, `procedures`, `engines`, and what is in an engine."""

import pytest

from inventory.domain.places import PlaceKind
from inventory.models import Owner
from inventory.services import things
from kits.models import Engine, EngineFamily
from tests.api.rest.rebuilds import job_body, rebuild, small_shop
from tests.factories.engines import family_document

pytestmark = pytest.mark.django_db


@pytest.fixture
def engine():
    """The small family and one of its engines, in which nothing is recorded."""
    small_shop()
    place = things.make_place("T4-00200", PlaceKind.ENGINE, site=None)
    return Engine.objects.create(number="T4-00200", family=EngineFamily.objects.get(), digits=200, place=place)


def test_a_family_and_its_procedures(engine, manager):
    assert [row["code"] for row in manager.rows("engine-families")] == ["Testbed-4"]
    body = manager.read("engine-families/Testbed-4").json()
    told = {name: body[name] for name in ("code", "name", "prefix", "revision")}
    assert told == {"code": "Testbed-4", "name": "Testbed four", "prefix": "T4-", "revision": 1}
    assert body["document"] == family_document()
    assert [row["code"] for row in manager.rows("procedures", family="Testbed-4")] == ["T1", "T2", "T3"]
    assert manager.rows("procedures", family="none") == []
    procedure = manager.read("procedures/T1").json()
    assert (procedure["code"], procedure["family"], procedure["revision"], procedure["document"]["code"]) == (
        "T1",
        "Testbed-4",
        1,
        "T1",
    )
    part = manager.read("parts/WASHER").json()
    assert {row["procedure"] for row in part["used_at"]} <= {"T1", "T2", "T3"}
    assert part["used_at"] != []


@pytest.mark.parametrize(
    "path",
    ["engine-families/none", "procedures/none", "engines/T4-00201", "engines/T4-00201/contents", "engines/x/story"],
)
def test_what_is_unknown_is_not_found(engine, manager, path):
    answer = manager.read(path)
    assert (answer.status_code, answer.json()["code"]) == (404, "not-found")


def test_an_engine_is_found_forgivingly_and_its_near_misses_are_named(engine, manager):
    assert manager.read("engines/t4 00200").json()["number"] == "T4-00200"
    assert manager.read("engines/T4-00201").json()["values"]["near"] == ["T4-00200"]
    assert [row["number"] for row in manager.rows("engines", search="T4-00020")] == ["T4-00200"]
    for written in ("T4-00200", "t4 00200", "t4-OO2OO", "0200"):
        assert "T4-00200" in [row["number"] for row in manager.rows("engines", search=written)], written
    assert [row["number"] for row in manager.rows("engines", family="Testbed-4", number="T4-00200")] == ["T4-00200"]


def test_the_engine_that_is_meant_comes_first(engine, manager):
    shop = rebuild()
    for number, other in (("J-1", "T4-00100"), ("J-2", "T4-00190")):
        shop.did(shop.manager, "jobs", job_body(number=number, engine=other))
    found = [row["number"] for row in manager.rows("engines", search="t4 00200")]
    assert found == ["T4-00200", "T4-00100"]
    assert [row["number"] for row in manager.rows("engines", search="t4 00200", ordering="number")] == found[::-1]
    assert [row["number"] for row in manager.rows("jobs", search="J-2")] == ["J-2", "J-1"]


def owned(engine):
    """The engine has an owner and a job that was cancelled after its last one."""
    engine.owner = Owner.objects.create(name="Jo Bright", address="1 Mill Lane")
    engine.save()
    its = rebuild()
    for number, day in (("J-1", "2025-01-15"), ("J-2", "2025-01-12"), ("J-3", "2025-01-18")):
        its.did(its.manager, "jobs", job_body(number=number, engine=engine.number, new_engine=False, strip_on=day))
    its.did(its.manager, "jobs/J-3/cancellations", {"reason": "sold"})
    return its


def test_engines_tell_their_last_job_and_their_owner_to_whoever_may_see_owners(engine, manager, client_of):
    owned(engine)
    told = {"owner": engine.owner_id, "owner_name": "Jo Bright", "last_job": "J-1", "last_job_on": "2025-01-15"}
    for row in (manager.rows("engines", search="t4 0020")[0], manager.read("engines/T4-00200").json()):
        assert {name: row[name] for name in told} == told
    answer = client_of("technician").read("engines", search="T4-00200")
    assert {name: answer.json()["results"][0][name] for name in told} == told | {"owner_name": None}
    assert "Bright" not in answer.content.decode()


def test_what_depends_on_the_number_is_said_in_words_at_booking_and_later(engine, manager):
    below = rebuild().booked(engine="T4-00149").said["booked"]["number_ranges"]
    heads = ["HEAD-LEFT/gasket", "HEAD-RIGHT/gasket"]
    assert below == [
        {"numbers": "below T4-00150", "part": "OLD-GASKET", "fits": True, "at": heads, "procedures": ["T1"]}
    ]
    assert manager.read("engines/T4-00149").json()["number_ranges"] == [below[0] | {"procedures": ["T1", "T2"]}]
    assert manager.read("engines/T4-00200").json()["number_ranges"] == [
        {"numbers": "from T4-00150", "part": "OLD-GASKET", "fits": False, "at": heads, "procedures": ["T1", "T2"]}
    ]


def test_gaps_are_named_when_they_are_asked_for(engine, manager):
    body = manager.read("engines/T4-00200/contents").json()
    assert (body["engine"], body["on"], body["known"], body["contents"], body["gaps"]) == (
        "T4-00200",
        None,
        None,
        [],
        None,
    )
    gaps = manager.read("engines/T4-00200/contents", gaps="true").json()["gaps"]
    # the small engine has 83 use positions, counted by hand
    assert len(gaps) == 83
    assert {gap["said"] for gap in gaps} == {"not recorded"}


def test_what_was_fitted_is_in_the_engine_since_then_and_not_before(engine, manager):
    its = rebuild().at_bench()
    answer = its.technician.send(
        "jobs/J-1/fittings", {"fittings": [{"position": "SUMP/washer", "item": its.item("WASHER")}]}
    )
    assert answer.status_code == 201, answer.content
    number = its.said["booked"]["engine"]
    now = its.technician.read(f"engines/{number}/contents").json()["contents"]
    assert [(row["position"], row["part"], row["amount"], row["job"]) for row in now] == [
        ("SUMP/washer", "WASHER", 1, "J-1")
    ]
    assert now[0]["fitter"] == its.technician.person.username
    for query in ({"on": "2025-01-01"}, {"known": "2025-01-01"}, {"on": "2025-01-01T00:00:00Z"}):
        assert its.technician.read(f"engines/{number}/contents", **query).json()["contents"] == []
    story = its.technician.read(f"engines/{number}/story").json()
    assert [event["what"] for event in story["events"]][-1] == "fitted"
    assert [layer["job"] for layer in story["layers"]] == ["J-1"]


def test_the_contents_are_printed_with_what_nobody_recorded(engine):
    """A page for paper names the gaps without being asked."""
    its = rebuild().at_bench()
    fitting = {"fittings": [{"position": "SUMP/washer", "item": its.item("WASHER")}]}
    its.did(its.technician, "jobs/J-1/fittings", fitting)
    address = f"/api/v1/engines/{its.said['booked']['engine']}/contents"
    page = its.technician.get(address, {"format": "html"})
    assert (page.status_code, page["Content-Type"]) == (200, "text/html; charset=utf-8")
    text = page.content.decode()
    (row,) = [one for one in text.split("<tr>") if "SUMP/washer" in one]
    assert "<strong>WASHER</strong>" in row and f"{its.technician.person.username}; -" in row and "<td>J-1</td>" in row
    # the small engine has 83 use positions, counted by hand
    assert "Not recorded: 82 positions" in text and "As it is now, on " in text
    before = its.technician.get(address, {"format": "html", "on": "2025-01-01", "known": "2025-01-02"}).content.decode()
    assert "As it was on 2025-01-01, as our records had it on 2025-01-02" in before
    assert "Nothing is on record as being in it." in before and "Not recorded: 83 positions" in before
    assert its.technician.get("/api/v1/engines/T4-99999/contents", {"format": "html"}).status_code == 404


@pytest.mark.parametrize(
    "query",
    [{"on": "yesterday"}, {"known": "2025-02-30"}, {"on": "2025-01-01T00:00:00"}, {"gaps": "yes"}, {"day": "x"}],
)
def test_a_day_that_cannot_be_read_is_refused(engine, manager, query):
    answer = manager.read("engines/T4-00200/contents", **query)
    assert (answer.status_code, answer.json()["code"][:9]) == (400, "parameter")


def test_lists_of_three_cost_as_many_queries_as_lists_of_one(engine, manager, django_assert_num_queries):
    def read_all():
        assert [len(manager.rows("engines", **asked)) for asked in ({}, {"search": "T4-"})] == [rows, rows]

    rows = 1
    read_all()
    # twice: who asks, two for what they may, the list, its last jobs; the search looks for near numbers first, by six
    with django_assert_num_queries(16):
        read_all()
    for digits in (201, 202):
        place = things.make_place(f"T4-00{digits}", PlaceKind.ENGINE, site=None)
        Engine.objects.create(number=place.code, family=engine.family, digits=digits, place=place)
    rows = 3
    with django_assert_num_queries(16):
        read_all()
    with django_assert_num_queries(2):
        assert len(manager.rows("procedures")) == 3
