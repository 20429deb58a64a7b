"""An old liner in a layout: its bore is fixed, its turn as the family allows; what is read of it later asks for another verdict."""

import pytest

from kits.queries.open_lines import open_lines
from kits.queries.proposals import proposal_of
from kits.services.accept_layout import BoreIn, accept_layout
from kits.services.fit import FitIn, fit
from kits.services.readings import ReadingIn
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.factories.acts import done, refused
from tests.factories.measuring import DRY, gauge, read, scales
from tests.factories.rebuilds import book, person, put_in, shelve_sets

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
        (one["what"], one["position"]) for one in open_lines(job) if one["what"] in ("judge again", "height not read")
    }


def test_it_goes_back_turned_as_it_was_laid_out_and_is_judged_again_once_it_is_read_anew(bench):
    job, old = bench
    found = proposal_of(job)
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
