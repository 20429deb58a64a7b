"""Places lost, the maker's word, tags and marks, old parts with a new camshaft."""

from copy import deepcopy

import pytest

from inventory.models import Item
from inventory.services.receive import ReceiveLine
from kits.models import Fitting, JobFinding, LostPosition, Removal
from kits.queries.at_positions import came_out, new_at, on_bench, outs_of, removals_of, words_on
from kits.queries.job_list import job_list
from kits.queries.scope import job_by_number
from kits.services.families import enter_family
from kits.services.fit import FitIn, fit
from kits.services.jobs import withdraw_finding
from kits.services.origins import enter_origin_word, lose_positions
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.factories.acts import done, refused
from tests.factories.rebuilds import (
    TODAY,
    at_bench,
    book,
    item_at,
    person,
    put_in,
    receive_at,
    shelve,
)
from tests.fixtures.shop_files import family_document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TWO, FIVE = "TAPPET-02/tappet", "TAPPET-05/tappet"
CAM, LINER = "CAMSHAFT/camshaft", "CYL-1/set"


def rowan(*positions, **more):
    """A Rowan-6 job in whose engine old parts were found at the positions; the job, and the items by position."""
    job = book("J1", engine="R6-7309", operations=["P4"], **more)
    parts = {CAM: "R-602", LINER: "R-101"}
    finds = [FindIn(place, parts.get(place, "R-601"), serial="S-1" if place in parts else "") for place in positions]
    found = done(find_in_engine, job="J1", finds=finds)["found"] if finds else []
    return job, {row["position"]: row["item"] for row in found}


def out(*removals):
    return done(remove, job="J1", removals=[RemoveIn(one) if isinstance(one, str) else one for one in removals])[
        "removed"
    ]


def passed(*lines):
    """Good words on old parts: (position, item)."""
    done(inspect, job="J1", inspections=[InspectIn(place, "by the book", "good", True, item) for place, item in lines])


def back(*lines, code=None):
    """Fit; the code it is refused with, or the doubtful words of each line."""
    lines = [one if isinstance(one, FitIn) else FitIn(*one) for one in lines]
    if code:
        return refused(
            code, fit, job="J1", fittings=lines, actor=person("fitter"), checker=person("checker", "act_check")
        )
    body = done(fit, job="J1", fittings=lines, actor=person("fitter"), checker=person("checker", "act_check"))
    return [row["doubtful"] for row in body["fitted"]]


def test_two_flat_tappets_that_are_swapped_do_not_go_in():
    _, items = rowan(TWO, FIVE)
    out(TWO, FIVE)
    error = back((FIVE, items[TWO]), (TWO, items[FIVE]), code="wrong-place-of-origin")
    assert [(line, one.code, one.values["came_from"]) for line, one in error.errors] == [
        (1, "wrong-place-of-origin", [TWO]),
        (2, "wrong-place-of-origin", [FIVE]),
    ]
    back((TWO, items[TWO]), (FIVE, items[FIVE]), code="not-inspected")
    passed((TWO, items[TWO]), (FIVE, items[FIVE]))
    assert back((TWO, items[TWO]), (FIVE, items[FIVE])) == ["", ""]


def test_when_somebody_insists_both_places_are_lost_for_good():
    job, items = rowan(TWO, FIVE)
    out(TWO, FIVE)
    refused("nothing-given", lose_positions, job="J1", items=[], reason="mixed up")
    refused("reason-missing", lose_positions, job="J1", items=[items[TWO]], reason=" ")
    error = refused("not-found", lose_positions, job="J1", items=[items[TWO], 999_999], reason="mixed up")
    assert [line for line, _ in error.errors] == [2]
    assert LostPosition.objects.count() == 0
    both = [items[TWO], items[FIVE]]
    body = done(lose_positions, job="J1", items=both, reason="mixed up on the bench")
    assert body == {
        "lost": [
            {"item": items[TWO], "part": "R-601", "positions": [TWO]},
            {"item": items[FIVE], "part": "R-601", "positions": [FIVE]},
        ]
    }
    refused("position-lost-already", lose_positions, job="J1", items=[items[TWO]], reason="again")
    assert came_out(job) == {items[TWO]: (), items[FIVE]: ()}
    assert [(row["position"], row["position_lost"], row["why_lost"]) for row in removals_of(job)] == [
        ("", True, "mixed up on the bench")
    ] * 2
    assert {one.position for one in on_bench(job)} == {""}
    for place in (TWO, FIVE):
        back((place, items[TWO]), code="position-lost")
    refused("position-lost", enter_origin_word, job="J1", item=items[TWO], position=TWO, word="a letter")
    error = refused("position-lost", inspect, job="J1", inspections=[InspectIn(TWO, "flat", "flat", True, items[TWO])])
    assert [line for line, _ in error.errors] == [1]
    done(inspect, job="J1", inspections=[InspectIn(TWO, "flat", "place lost", False, items[TWO])])
    assert Fitting.objects.count() == 0


def test_taken_out_without_a_position_the_place_is_lost_at_once():
    job, items = rowan(TWO, FIVE)
    error = refused("position-unknown", remove, job="J1", removals=[RemoveIn("")])
    assert error.errors[0][1].ways_out == ("Name the item: its place is lost then.",)
    refused("position-empty", remove, job="J1", removals=[RemoveIn("", item=999_999)])
    said = out(RemoveIn("", item=items[TWO]), FIVE)
    assert [(row["position"], row["position_lost"]) for row in said] == [("", True), (FIVE, False)]
    assert came_out(job) == {items[TWO]: (), items[FIVE]: (FIVE,)}
    assert Removal.objects.get(item=items[TWO]).spot.name == TWO
    back((TWO, items[TWO]), code="position-lost")
    refused("position-lost-already", lose_positions, job="J1", items=[items[TWO]], reason="again")


def test_another_part_goes_by_the_makers_word_and_stays_doubtful():
    job, items = rowan(LINER, findings=[("liner-lifted", "CYL-1")])
    out(RemoveIn("", item=items[LINER]))
    done(inspect, job="J1", inspections=[InspectIn(LINER, "bore 109.00 mm", "108.99 mm", True, items[LINER])])
    back((LINER, items[LINER]), code="position-lost")
    refused("reason-missing", enter_origin_word, job="J1", item=items[LINER], position=LINER, word="")
    refused("position-unknown", enter_origin_word, job="J1", item=items[LINER], position="CYL-9/set", word="w")
    refused("not-found", enter_origin_word, job="J1", item=999_999, position=LINER, word="w")
    body = done(enter_origin_word, job="J1", item=items[LINER], position=LINER, word="letter of 3 March")
    assert body == {"item": items[LINER], "position": LINER, "word": "letter of 3 March"}
    assert words_on(job, [items[LINER]]) == {(items[LINER], LINER): "letter of 3 March"}
    assert back((LINER, items[LINER])) == ["position lost; the maker's word: letter of 3 March"]
    assert Fitting.objects.get().doubtful == "position lost; the maker's word: letter of 3 March"


def test_the_makers_word_is_for_parts_of_unknown_place_only():
    _, items = rowan(LINER)
    out(LINER)
    error = refused("wrong-place-of-origin", enter_origin_word, job="J1", item=items[LINER], position=LINER, word="w")
    assert error.values["came_from"] == [LINER]


def test_two_tags_of_one_text_are_refused():
    job, items = rowan(TWO, FIVE)
    error = refused("tag-used", remove, job="J1", removals=[RemoveIn(TWO, tag="V2"), RemoveIn(FIVE, tag="v 2")])
    assert [(line, one.values["tag"]) for line, one in error.errors] == [(2, "v 2")]
    out(RemoveIn(TWO, tag="V2"))
    refused("tag-used", remove, job="J1", removals=[RemoveIn(FIVE, tag="V2")])
    out(RemoveIn(FIVE, tag="V5"))
    assert [(row["tag"], row["position"]) for row in removals_of(job)] == [("V2", TWO), ("V5", FIVE)]
    back(FitIn(TWO, items[TWO], tag="V5"), code="wrong-place-of-origin")
    passed((TWO, items[TWO]))
    assert back(FitIn(TWO, items[TWO], tag="V2")) == [""]


@pytest.mark.parametrize(
    ("came", "goes", "doubtful"),
    [(0, 0, ""), (0, 180, ""), (None, 0, "clock mark missing"), (0, None, "clock mark missing")],
)
def test_an_old_liner_goes_back_by_its_clock_mark(came, goes, doubtful):
    job, items = rowan(LINER, findings=[("liner-lifted", "CYL-1")])
    out(RemoveIn(LINER, clock_deg=came))
    done(inspect, job="J1", inspections=[InspectIn(LINER, "bore 109.00 mm", "108.99 mm", True, items[LINER])])
    # The family allows half a turn (its invented bench book).
    back(FitIn(LINER, items[LINER], clock_deg=90), code="mark-differs") if came is not None else None
    assert back(FitIn(LINER, items[LINER], clock_deg=goes)) == [doubtful]
    row = Fitting.objects.get()
    assert (row.reused, row.clock_deg, row.doubtful) == (True, goes, doubtful)
    assert outs_of(job)[items[LINER]][0].clock_deg == came


@pytest.mark.parametrize(("came", "goes", "doubtful"), [("left", "Left", ""), ("", "left", "number side missing")])
def test_a_part_with_a_number_keeps_its_side(came, goes, doubtful):
    document = deepcopy(family_document("Rowan-6")) | {"revision": 2}
    document["facts"]["origins"] = [{"at": "VALVE-*/valve", "lost": "never", "mark": "side"}]
    done(enter_family, document=document)
    book("J1", engine="R6-7309", operations=["P4"])
    place = "VALVE-03/valve"
    (found,) = done(find_in_engine, job="J1", finds=[FindIn(place, "R-604")])["found"]
    out(RemoveIn(place, side=came))
    if came:
        back(FitIn(place, found["item"], side="right"), code="mark-differs")
    passed((place, found["item"]))
    assert back(FitIn(place, found["item"], side=goes)) == [doubtful]
    assert Fitting.objects.get().side == goes


def new_cam(*findings):
    """A new camshaft at the bench of the job."""
    shelve({"R-601": 12})
    receive_at("R-602", [ReceiveLine("R-602", 1, serial="C-1")])
    body = at_bench(book("J1", engine="R6-7309", operations=["P4"], findings=findings), steps=["P4/18"])
    return item_at(body, CAM)


def withdraw(code):
    """Take a finding of the job back."""
    number = JobFinding.objects.get(code=code).pk
    done(withdraw_finding, job="J1", finding_id=number, reason="it was not worn")


def old_tappets(*positions):
    finds = [FindIn(place, "R-601") for place in positions]
    return {row["position"]: row["item"] for row in done(find_in_engine, job="J1", finds=finds)["found"]}


def test_an_old_tappet_does_not_run_with_a_new_camshaft():
    cam = new_cam(("camshaft-renewed", "ENGINE"))
    items = old_tappets(TWO, FIVE)
    # They are in: the new camshaft does not go in to them.
    error = back((CAM, cam), code="bedded-to-another")
    assert error.errors[0][1].values["old"] == [TWO, FIVE]
    out(TWO, FIVE)
    assert back((CAM, cam)) == [""]
    job = job_by_number("J1")
    assert new_at(job, [CAM, TWO]) == {CAM: True}
    # It is in: they do not go back; the list says always new as well, and says it first.
    back((TWO, items[TWO]), code="always-new")


def test_without_a_line_of_the_list_the_camshaft_still_decides():
    cam = new_cam(("camshaft-renewed", "ENGINE"))
    items = old_tappets(TWO)
    out(TWO)
    assert back((CAM, cam)) == [""]
    # The finding is taken back after the camshaft went in: nothing on the list forbids the old tappet any more.
    withdraw("camshaft-renewed")
    assert (TWO, 1) not in job_list(job_by_number("J1"), TODAY).explosion.requirements
    passed((TWO, items[TWO]))
    error = back((TWO, items[TWO]), code="bedded-to-another")
    assert error.errors[0][1].values["old"] == [TWO]


def test_new_tappets_go_with_a_new_camshaft():
    cam = new_cam(("camshaft-renewed", "ENGINE"))
    fresh = Item.objects.get(part__number="R-601", lot__isnull=False).pk
    assert put_in(job_by_number("J1"), (CAM, cam), (TWO, fresh)).body["fitted"][1]["reused"] is False
    assert new_at(job_by_number("J1"), [CAM, TWO, FIVE]) == {CAM: True, TWO: True}
