"""An old liner in a layout: its bore is fixed, its turn as the family allows; what is read of it later asks for another verdict."""

import pytest

from kits.queries.open_lines import open_lines
from kits.queries.proposals import proposal_of
from kits.services.accept_layout import BoreIn, accept_layout
from kits.services.fit import FitIn, fit
from kits.services.readings import ReadingIn, withdraw_reading
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.factories.acts import done, refused
from tests.factories.measuring import DRY, gauge, read, scales
from tests.factories.rebuilds import TODAY, book, person, put_in, shelve_sets

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]
CLOCK = ("12", "3", "6", "9")
STAY = (3, 4, 5, 6)


def all_round(what, *values_um, **more):
    return [
        ReadingIn(what, f"{um} um", "G-1", point=point, **DRY | more)
        for point, um in zip(CLOCK, values_um * (4 // len(values_um)), strict=True)
    ]


@pytest.fixture
def bench():
    """A Rowan-6 whose first set is renewed and whose second was lifted, with its seat and its flange sloping against each other; the job
    and the old set's item. Its family lets an old liner go back half a turn on (the demo shop's, invented)."""
    gauge("G-1")
    scales("W-1")
    shelve_sets("R-101", "S-1")
    job = book("J1", engine="R6-7309", operations=["P4"], findings=[("cylinder-chosen", "CYL-1")])
    old = done(find_in_engine, job="J1", finds=[FindIn("CYL-2/set", "R-101", serial="S-9")])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn("CYL-2/set", clock_deg=0)])
    done(inspect, job="J1", inspections=[InspectIn("CYL-2/set", "by the book", "good", True, old)])
    rows = all_round("flange-thickness", 9_035, set="S-1") + all_round("counterbore-depth", 8_950, place="CYL-1")
    rows += all_round(
        "flange-thickness", 9_055, 9_035, 9_015, 9_035, place="CYL-2", confirmed=True, reason="read twice"
    )
    rows += all_round(
        "counterbore-depth", 8_930, 8_950, 8_970, 8_950, place="CYL-2", confirmed=True, reason="read twice"
    )
    rows += [one for at in STAY for one in all_round("protrusion", 85, place=f"CYL-{at}")]
    weights = [ReadingIn("weight", "1640 g", "W-1", set="S-1", point="with pin")]
    weights += [ReadingIn("weight", "1640 g", "W-1", place=f"CYL-{at}", point="with pin") for at in (2, *STAY)]
    read("J1", *rows, *weights)
    return job, old


def back(job, old, clock_deg):
    line = FitIn("CYL-2/set", old, clock_deg=clock_deg)
    return {"job": "J1", "fittings": [line], "actor": person("fitter"), "checker": person("checker", "act_check")}


def again(job):
    return {
        (one["what"], one["position"])
        for one in open_lines(job, TODAY)
        if one["what"] in ("judge again", "height not read")
    }


def test_it_goes_back_turned_as_it_was_laid_out_and_is_judged_again_once_it_is_read_anew(bench):
    job, old = bench
    found = proposal_of(job, TODAY)
    assert found["outcome"] == "certain", found
    assert [(one["serial"], one["stays"], one["turn_deg"]) for one in found["bores"][:2]] == [
        ("S-1", False, 0),
        ("S-9", True, 180),
    ]
    done(accept_layout, job="J1", bores=[BoreIn("CYL-1/set", "S-1")])
    refused("mark-differs", fit, **back(job, old, 0))
    put_in(job, FitIn("CYL-2/set", old, clock_deg=180))
    # the layout says its height, nothing else was judged
    assert again(job) == set()
    read(
        "J1", *all_round("flange-thickness", 9_056, 9_036, 9_016, 9_036, place="CYL-2", confirmed=True, reason="again")
    )
    assert again(job) == {("judge again", "CYL-2")}


def test_one_that_was_not_lifted_stands_as_it_stands_and_is_judged_again_too(bench):
    job, _ = bench
    done(accept_layout, job="J1", bores=[BoreIn("CYL-1/set", "S-1")])
    assert again(job) == set()
    read("J1", *all_round("protrusion", 86, place="CYL-4"))
    assert again(job) == {("judge again", "CYL-4")}


def test_old_liners_alone_are_laid_out_too_so_that_their_steps_are_judged():
    """Three lifted neighbours at 85, 85 and 136 µm of at most 120: none of it keeps the limits; read again at 110 µm the step is 25."""
    gauge("G-1")
    scales("W-1")
    kept = [("set-kept", f"CYL-{at}") for at in (1, 2, 3)]
    job = book("J1", engine="R6-7309", operations=["P4"], findings=kept)
    refused_without = refused("not-on-list", accept_layout, job="J1", bores=[BoreIn("CYL-1/set", "S-1")])
    assert "no old one lies at its bench" in refused_without.message
    at = [f"CYL-{number}/set" for number in (1, 2, 3)]
    finds = [FindIn(position, "R-101", serial=f"S-{number}") for number, position in enumerate(at, 1)]
    found = done(find_in_engine, job="J1", finds=finds)["found"]
    done(remove, job="J1", removals=[RemoveIn(position, clock_deg=0) for position in at])
    looks = [InspectIn(row["position"], "by the book", "good", True, row["item"]) for row in found]
    done(inspect, job="J1", inspections=looks)
    rows = [one for number in (1, 2, 3) for one in all_round("counterbore-depth", 8_950, place=f"CYL-{number}")]
    rows += [one for number in (1, 2) for one in all_round("flange-thickness", 9_035, place=f"CYL-{number}")]
    high = all_round("flange-thickness", 9_086, place="CYL-3", confirmed=True, reason="read twice")
    rows += [one for number in (4, 5, 6) for one in all_round("protrusion", 85, place=f"CYL-{number}")]
    weights = [ReadingIn("weight", "1640 g", "W-1", place=f"CYL-{number}", point="with pin") for number in range(1, 7)]
    ids = [one["id"] for one in read("J1", *rows, *high, *weights)["readings"]][len(rows) : len(rows) + 4]
    assert proposal_of(job, TODAY)["outcome"] == "no layout"
    for one in ids:
        done(withdraw_reading, job="J1", reading_id=one, reason="a burr under the flange")
    read("J1", *all_round("flange-thickness", 9_060, place="CYL-3", confirmed=True, reason="burr taken off"))
    shown = proposal_of(job, TODAY)
    assert (shown["outcome"], shown["largest_step_nm"]) == ("certain", 25_000)
    assert [(one["serial"], one["stays"]) for one in shown["bores"][:3]] == [
        ("S-1", True),
        ("S-2", True),
        ("S-3", True),
    ]
    body = done(accept_layout, job="J1", bores=[BoreIn("CYL-1/set", "S-1")])
    assert (body["held"], [one["serial"] for one in body["bores"][:3]]) == ([], ["S-1", "S-2", "S-3"])
    error = refused("layout-accepted", accept_layout, job="J1", bores=[BoreIn("CYL-1/set", "S-1")])
    assert error.values["positions"][:3] == at
    put_in(job, *(FitIn(row["position"], row["item"], clock_deg=0) for row in found))
    assert again(job) == set()
