"""Found in the engine, taken out of it, inspected to go back."""

import pytest

from inventory.models import Balance, Item
from kits.models import Found, Inspection, Removal
from kits.services.families import enter_procedure
from kits.services.left_over import scrap_for_job
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.factories import workshop
from tests.factories.acts import done, gone, refused
from tests.factories.engines import line
from tests.factories.measuring import PAST, gauge, scales
from tests.factories.moves import take_back
from tests.factories.rebuilds import at_bench, book, item_at, later, listed, person, put_in, shelve
from tests.factories.stores import stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

BOLT = "HEAD/bolt-01"


@pytest.fixture
def gauges():
    """A bolt length gauge in date, one that is not, and scales."""
    gauge("B-1", high="300 mm")
    gauge("B-OLD", high="300 mm", due=PAST)
    scales()


def rowan(number="J1", **more):
    return book(number, engine="R6-7309", operations=["P4"], **more)


def engine_holds():
    rows = Balance.objects.filter(place__kind="engine", amount__gt=0)
    return sorted(rows.values_list("spot__name", "part__number", "item__identity", "amount"))


def test_found_with_a_lot_is_known_and_without_one_is_like_no_other():
    rowan()
    body = done(
        find_in_engine,
        job="J1",
        finds=[
            FindIn("CYL-1/groove-lower", "R-113", lot="SB-2302", size="standard", condition="hard", whose="shop"),
            FindIn(BOLT, "R-501"),
        ],
    )
    assert [(row["position"], row["known"]) for row in body["found"]] == [("CYL-1/groove-lower", True), (BOLT, False)]
    assert [row[:2] + row[3:] for row in engine_holds()] == [("CYL-1/groove-lower", "R-113", 1), (BOLT, "R-501", 1)]
    assert Item.objects.get(pk=body["found"][1]["item"]).lot is None
    assert list(Found.objects.values_list("size", "condition", "whose").order_by("pk")) == [
        ("standard", "hard", "shop"),
        ("", "", "customer"),
    ]


def test_what_cannot_be_found_there_is_named_line_by_line():
    rowan()
    done(find_in_engine, job="J1", finds=[FindIn(BOLT, "R-501")])
    error = refused("position-unknown", find_in_engine, job="J1", finds=[FindIn("HEAD/bolt-99", "R-501")])
    assert [(number, one.values["position"]) for number, one in error.errors] == [(1, "HEAD/bolt-99")]
    refused("not-found", find_in_engine, job="J1", finds=[FindIn("HEAD/bolt-02", "R-999")])
    error = refused(
        "position-taken", find_in_engine, job="J1", finds=[FindIn("HEAD/bolt-02", "R-501"), FindIn(BOLT, "R-501")]
    )
    assert [number for number, _ in error.errors] == [2]
    refused("position-taken", find_in_engine, job="J1", finds=[FindIn("HEAD/bolt-03", "R-501")] * 2)
    refused("nothing-given", find_in_engine, job="J1", finds=[])
    error = refused(
        "serial-not-kept",
        find_in_engine,
        job="J1",
        finds=[
            FindIn("HEAD/bolt-04", "R-501", serial="1"),
            FindIn("CYL-1/set", "R-101", lot="L"),
            FindIn("CYL-2/set", "R-101", amount=2),
            FindIn("HEAD/bolt-05", "R-501", amount=0),
            FindIn("HEAD/bolt-06", "R-501", amount="1 L"),
        ],
    )
    assert [one.code for _, one in error.errors] == [
        "serial-not-kept",
        "serial-missing",
        "serial-is-one",
        "amount-not-positive",
        "quantity-wrong-dimension",
    ]
    assert [row[0] for row in engine_holds()] == [BOLT]


def test_a_joint_that_a_procedure_of_the_family_seals_with_several_pieces_takes_as_many():
    """Also by a procedure that the job was not booked for; a position that no procedure names takes one."""
    workshop.workshop()
    packed = {
        **workshop.operations()[1],
        "code": "PACKED",
        "lines": [line("four", 10, "RING", "COVER/part-6", amount="4 EA")],
    }
    workshop.job("J1", "RINGS")
    error = refused("more-than-listed", find_in_engine, job="J1", finds=[FindIn("COVER/part-6", "RING", amount=4)])
    assert [(one.values["listed"], one.values["asked"]) for _, one in error.errors] == [(1, 4)]
    done(enter_procedure, document=packed)
    finds = [FindIn("CYL-1/ring", "RING"), FindIn("COVER/part-6", "RING", amount=5)]
    error = refused("more-than-listed", find_in_engine, job="J1", finds=finds)
    assert [(number, one.values["listed"]) for number, one in error.errors] == [(2, 4)]
    done(find_in_engine, job="J1", finds=[finds[0], FindIn("COVER/part-6", "RING", amount="4 EA")])
    assert [(at, amount) for at, _, _, amount in engine_holds()] == [("COVER/part-6", 4), ("CYL-1/ring", 1)]


def test_removed_to_the_bench_to_scrap_or_as_evidence():
    rowan()
    places = {"HEAD/bolt-01": "bench", "HEAD/bolt-02": "scrap", "HEAD/bolt-04": "FG-CLAIM"}
    done(find_in_engine, job="J1", finds=[FindIn(position, "R-501") for position in places])
    removals = [RemoveIn(position, to=to) for position, to in places.items()]
    body = done(remove, job="J1", removals=removals)
    assert [(row["position"], row["part"], row["to"]) for row in body["removed"]] == [
        (position, "R-501", to) for position, to in places.items()
    ]
    assert engine_holds() == []
    assert [part for part, _, _ in gone("scrap")] == ["R-501"]
    assert list(Removal.objects.order_by("pk").values_list("to_bench", flat=True)) == [True, False, False]


def test_nothing_there_a_wrong_place_and_a_set_to_scrap_without_a_reason():
    book("J1", findings=[("liner-lifted", "CYL-1")])
    done(find_in_engine, job="J1", finds=[FindIn("CYL-1/set", "A-101", serial="S-0001")])
    error = refused(
        "position-empty",
        remove,
        job="J1",
        removals=[RemoveIn("CYL-2/set"), RemoveIn("CYL-1/set", to="scrap"), RemoveIn("CYL-1/set", item=999_999)],
    )
    assert [(number, one.code) for number, one in error.errors] == [
        (1, "position-empty"),
        (2, "reason-missing"),
        (3, "position-empty"),
    ]
    refused("wrong-place", remove, job="J1", removals=[RemoveIn("CYL-1/set", to="TB-CAGE")])
    refused("not-found", remove, job="J1", removals=[RemoveIn("CYL-1/set", to="nowhere")])
    refused("position-unknown", remove, job="J1", removals=[RemoveIn("CYL-9/set")])
    refused("nothing-given", remove, job="J1", removals=[])
    refused("amount-not-positive", remove, job="J1", removals=[RemoveIn("CYL-1/set", amount=0)])
    refused("not-there", remove, job="J1", removals=[RemoveIn("CYL-1/set", amount=2)])
    refused("not-there", remove, job="J1", removals=[RemoveIn("CYL-1/set")] * 2)
    assert len(engine_holds()) == 1


def used_bolt(job, times=1):
    """A head bolt that our records have fitted so many times: its item."""
    shelve({"R-501": 1})
    body = at_bench(job, steps=["P4/30"])
    item = item_at(body, BOLT)
    put_in(job, (BOLT, item))
    return item


def test_a_bolt_within_its_length_and_uses_goes_back_once_and_not_twice(gauges):
    # Row of the demo shop's bench book: free length at most 191.5 mm, two uses in all.
    first = rowan(findings=[("head-bolt-rejected", BOLT)])
    item = used_bolt(first)
    second = rowan("J2", findings=[("head-off", "ENGINE"), ("head-bolt-rejected", BOLT)])
    done(remove, job="J2", removals=[RemoveIn(BOLT)])
    for result in ("191.6 mm", "looks good"):
        no = InspectIn(BOLT, "191.5 mm", result, True, item, "B-1")
        refused("not-reusable", inspect, job="J2", inspections=[no])
    refused("not-reusable", inspect, job="J2", inspections=[InspectIn(BOLT, "191.5 mm", "191.2 mm", True, gauge="B-1")])
    body = done(inspect, job="J2", inspections=[InspectIn(BOLT, "191.5 mm", "191.5 mm", True, item, "B-1")])
    assert body == {"inspected": [{"position": BOLT, "good": True, "gauge": "B-1", "gauge_state": "in date"}]}
    assert Inspection.objects.get().gauge.number == "B-1"
    assert [line.position for line in listed(second).taken_off.taken] == [BOLT]
    put_in(second, (BOLT, item))
    rowan("J3", findings=[("head-bolt-rejected", BOLT)])
    done(remove, job="J3", removals=[RemoveIn(BOLT)])
    error = refused(
        "not-reusable", inspect, job="J3", inspections=[InspectIn(BOLT, "191.5 mm", "191.2 mm", True, item, "B-1")]
    )
    assert "2 times" in error.message
    # A bad word is always taken, whatever it was measured with.
    body = done(inspect, job="J3", inspections=[InspectIn(BOLT, "191.5 mm", "191.9 mm", False, item, "B-OLD")])
    assert body["inspected"][0]["gauge_state"] == "out of date"


@pytest.mark.parametrize(
    ("gauge_number", "code", "why"),
    [
        ("", "not-reusable", "no gauge is named"),
        ("B-OLD", "not-reusable", "the gauge is out of date"),
        ("W-1", "gauge-wrong", "measures mass"),
        ("B-404", "not-found", "There is no gauge B-404"),
    ],
)
def test_a_length_counts_with_a_gauge_that_is_in_date(gauges, gauge_number, code, why):
    item = used_bolt(rowan(findings=[("head-bolt-rejected", BOLT)]))
    rowan("J2", findings=[("head-bolt-rejected", BOLT)])
    done(remove, job="J2", removals=[RemoveIn(BOLT)])
    good = InspectIn(BOLT, "191.5 mm", "191.2 mm", True, item, gauge_number)
    error = refused(code, inspect, job="J2", inspections=[good])
    assert (why in error.message, Inspection.objects.count()) == (True, 0)


@pytest.mark.parametrize("lot", ["", "OLD-1"])
def test_a_bolt_of_unknown_history_counts_as_used_up(gauges, lot):
    rowan(findings=[("head-bolt-rejected", BOLT)])
    item = done(find_in_engine, job="J1", finds=[FindIn(BOLT, "R-501", lot=lot)])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn(BOLT)])
    error = refused(
        "not-reusable", inspect, job="J1", inspections=[InspectIn(BOLT, "191.5 mm", "191.0 mm", True, item, "B-1")]
    )
    assert "history is unknown" in error.message


def test_a_bolt_without_a_limit_is_never_good_again():
    book("J1", findings=[("rod-parted", "CYL-1")])
    error = refused("not-reusable", inspect, job="J1", inspections=[InspectIn("ROD-1/bolt-1", "visual", "good", True)])
    assert "never used again" in error.message


def test_an_inspection_says_against_what_and_with_which_result():
    rowan()
    refused("nothing-given", inspect, job="J1", inspections=[])
    for limit, result in (("", "good"), ("run-out 0.05 mm", " ")):
        refused("reason-missing", inspect, job="J1", inspections=[InspectIn(BOLT, limit, result, False)])
    refused("position-unknown", inspect, job="J1", inspections=[InspectIn("HEAD/nail", "a", "b", False)])
    refused("not-found", inspect, job="J1", inspections=[InspectIn(BOLT, "a", "b", False, 999_999)])
    assert Inspection.objects.count() == 0


def test_a_good_inspection_takes_its_position_off_the_list_and_the_newest_word_counts():
    position = "PUSHROD-01/pushrod"
    job = rowan(findings=[("pushrod-rejected", "VALVE-01")])
    assert [line.part for line in listed(job).lines] == ["R-603"]
    item = done(find_in_engine, job="J1", finds=[FindIn(position, "R-603")])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn(position)])
    done(inspect, job="J1", inspections=[InspectIn(position, "run-out 0.3 mm", "0.1 mm", True, item)])
    assert listed(job).lines == ()
    done(inspect, job="J1", inspections=[InspectIn(position, "run-out 0.3 mm", "0.4 mm, second look", False, item)])
    assert [line.part for line in listed(job).lines] == ["R-603"]


def test_a_removal_taken_back_leaves_the_part_in_and_nothing_old_at_the_bench():
    rowan()
    done(find_in_engine, job="J1", finds=[FindIn(BOLT, "R-501")])
    out = remove(actor=person("fitter"), stamp=stamp(), job="J1", removals=[RemoveIn(BOLT)])
    item = Item.objects.get(part__number="R-501")
    take_back(out, later(1))
    refused("not-there", scrap_for_job, job="J1", item_id=item.pk, amount=1, reason="bent", who_pays="job")
    assert [row[0] for row in engine_holds()] == [BOLT]
