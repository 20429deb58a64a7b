"""Which verdict binds what goes into a bore: the newest that speaks of it, of each kind."""

import pytest

from kits.domain.judging import CLEARANCE, GAPS
from kits.domain.standing_verdicts import (
    HEIGHT,
    Said,
    binding,
    heights_against,
    judged_again_first,
    set_put_aside,
    why_in_no_bore,
)


def said(number, kind=CLEARANCE, subject="CYL-1", serial="", verdict="fail", aside=False, job="", other=""):
    return Said(number, kind, subject, serial, verdict, (), aside, job, other)


def ids(rows, place="CYL-1", serial="S-1", kind="matched set"):
    return [one.id for one in binding(rows, place, serial, kind)]


@pytest.mark.parametrize(
    ("one", "place", "serial", "kind", "binds"),
    [
        (said(1), "CYL-1", "S-1", "matched set", True),
        (said(1), "CYL-2", "S-1", "matched set", False),
        (said(1), "CYL-1", "", "matched set", True),
        # What was read of a set goes with it, and not with the next one.
        (said(1, serial="S-1"), "CYL-1", "S-1", "matched set", True),
        (said(1, serial="S-1"), "CYL-1", "S-2", "matched set", False),
        (said(1, serial="S-1"), "CYL-2", "S-1", "matched set", True),
        (said(1, subject="S-1", serial="S-1"), "CYL-4", "S-1", "matched set", True),
        # The gap of a ring counts in its own bore.
        (said(1, GAPS, serial="S-1"), "CYL-1", "S-1", "matched set", True),
        (said(1, GAPS, serial="S-1"), "CYL-2", "S-1", "matched set", False),
        (said(1, GAPS, "S-1", "S-1"), "CYL-2", "S-1", "matched set", True),
        (said(1, GAPS), "CYL-1", "", "hard part", True),
        (said(1, GAPS), "CYL-2", "", "hard part", False),
        (said(1), "CYL-1", "", "hard part", False),
        (said(1, GAPS), "CYL-1", "", "O-ring", False),
        # A height is of one set in one bore.
        (said(1, HEIGHT, "CYL-1/set", "S-1"), "CYL-1", "S-1", "matched set", True),
        (said(1, HEIGHT, "CYL-1/set", "S-1"), "CYL-2", "S-1", "matched set", False),
        (said(1, HEIGHT, "CYL-1/set", "S-1"), "CYL-1", "S-2", "matched set", False),
        (said(1, HEIGHT, "CYL-1/set", "S-1"), "CYL-1", "", "matched set", False),
        (said(1, HEIGHT, "CYL-1/set"), "CYL-1", "S-2", "matched set", True),
        (said(1, HEIGHT, "CYL-1/set"), "CYL-1", "", "O-ring", False),
        (said(1, "gasket grade"), "CYL-1", "S-1", "matched set", False),
    ],
)
def test_what_a_verdict_speaks_of(one, place, serial, kind, binds):
    assert ids([one], place, serial, kind) == ([1] if binds else [])


def test_of_each_kind_the_newest_that_speaks_of_it():
    rows = [said(3, GAPS), said(2, verdict="pass"), said(1), said(4, subject="CYL-2")]
    assert ids(rows) == [2, 3]
    assert [one.fails for one in binding(rows, "CYL-1", "S-1", "matched set")] == [False, True]
    assert [said(1, verdict=verdict).fails for verdict in ("pass", "doubtful", "fail")] == [False, False, True]
    # A good one of another set, or of the same set by its serial alone, is newer or it is not.
    assert ids([said(1, serial="S-1"), said(2, serial="S-2", verdict="pass")]) == [1]
    assert ids([said(1, serial="S-1"), said(2, subject="S-1", serial="S-1", verdict="pass")]) == [2]


def test_a_set_is_put_aside_until_it_is_judged_anew():
    apart, agrees = said(1, serial="S-1", verdict="doubtful", aside=True), said(2, serial="S-1", verdict="pass")
    assert set_put_aside([apart], "S-1") is apart
    assert set_put_aside([apart], "S-2") is None
    assert set_put_aside([agrees, apart], "S-1") is None
    assert set_put_aside([], "S-1") is None
    assert why_in_no_bore([apart], "S-1") == "it is put aside: its label disagrees with what was measured"
    assert why_in_no_bore([said(1, serial="S-1")], "S-1") == "its clearance fails"
    assert [why_in_no_bore([agrees, said(1)], serial) for serial in ("S-1", "S-2")] == ["", ""]


def test_liners_that_are_not_closed_over():
    """By cylinder: what stands there, judged last."""
    rows = [
        said(1, HEIGHT, "CYL-1/set", "S-1"),
        said(2, HEIGHT, "CYL-1/set", "S-2", verdict="pass"),
        said(3, HEIGHT, "CYL-2/set"),
        said(4, HEIGHT, "CYL-3/set"),
        said(5, HEIGHT, "CYL-3/set", "S-3", verdict="doubtful"),
        said(6, CLEARANCE, "CYL-4"),
    ]
    found = heights_against(rows, {"CYL-1": "S-1", "CYL-3": "S-3", "CYL-4": "S-4"})
    assert {place: one.id for place, one in found.items()} == {"CYL-1": 1, "CYL-2": 3}
    assert set(heights_against(rows, {"CYL-1": "S-2", "CYL-2": "S-9"})) == {"CYL-2", "CYL-3"}


@pytest.mark.parametrize(
    ("one", "place", "serial", "kind", "binds"),
    [
        (said(1, serial="S-1", job="J9"), "CYL-4", "S-1", "matched set", True),
        (said(1, serial="S-1", job="J9"), "CYL-1", "S-2", "matched set", False),
        # The bores of another job are others: its gaps were read in the set's own liner.
        (said(1, GAPS, serial="S-1", job="J9"), "CYL-3", "S-1", "matched set", True),
        (said(1, GAPS, job="J9"), "CYL-1", "", "hard part", False),
        (said(1, job="J9"), "CYL-1", "S-1", "matched set", False),
        (said(1, HEIGHT, "CYL-1/set", "S-1", job="J9"), "CYL-1", "S-1", "matched set", False),
    ],
)
def test_what_was_judged_on_another_job_speaks_of_its_set_alone(one, place, serial, kind, binds):
    assert ids([one], place, serial, kind) == ([1] if binds else [])


def test_by_other_limits_only_a_no_still_counts():
    failed = said(1, serial="S-1", job="J9", other="others now")
    assert why_in_no_bore([failed], "S-1") == "its clearance fails on job J9; others now"
    # A pass by other limits lifts nothing; one by those that count now does, be it of another job.
    passed = said(2, serial="S-1", verdict="pass", job="J8", other="others now")
    assert why_in_no_bore([failed, passed], "S-1") == "its clearance fails on job J9; others now"
    assert ids([failed, passed]) == [1]
    assert why_in_no_bore([failed, passed, said(3, serial="S-1", verdict="pass", job="J8")], "S-1") == ""
    aside = said(4, serial="S-1", verdict="doubtful", aside=True, other="others now")
    assert set_put_aside([aside], "S-1") is aside


def again(number, verdict="pass", kind=HEIGHT, subject="CYL-1/set", serial="S-1"):
    return Said(number, kind, subject, serial, verdict, (), False, again="reading 9 was taken since")


def test_what_was_read_anew_neither_passes_nor_stops_failing():
    one, other = again(1), again(2, "fail")
    assert (one.lets_in, one.fails, other.lets_in, other.fails) == (False, False, False, True)
    assert heights_against([one], {"CYL-1": "S-1"}) == {"CYL-1": one}
    # Judged again since, it is good; of another set there it says nothing.
    assert heights_against([one, said(3, HEIGHT, "CYL-1/set", "S-1", "pass")], {"CYL-1": "S-1"}) == {}
    assert heights_against([one], {"CYL-1": "S-2"}) == {}


def test_what_is_judged_again_of_the_sets_that_stand():
    rows = [
        again(1, kind=CLEARANCE, subject="CYL-1"),
        again(2, "fail", GAPS, "CYL-1"),
        again(3, kind=GAPS, subject="CYL-2", serial="S-2"),
    ]
    assert judged_again_first(rows, {"CYL-1": "S-1", "CYL-3": "S-3"}) == [rows[0]]
    assert judged_again_first(rows, {"CYL-1": "S-1", "CYL-2": "S-2"}) == [rows[0], rows[2]]
    assert judged_again_first([*rows, said(4, serial="S-1", verdict="pass")], {"CYL-1": "S-1"}) == []
