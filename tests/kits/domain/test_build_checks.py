"""Pistons, leak test, first run and what follows: a value on a limit is good, one base unit beyond is not."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.units import Dimension
from kits.domain.build_checks import Due, RunValue, due_lines, holders, judge_run, missing_items, why_leaks
from kits.domain.build_facts import AfterRun, LeakLimits, RunLimit
from kits.domain.engine_map import parse_engine_map
from tests.factories.engines import family_document

LEAK = LeakLimits(
    pressure_least_pa=80_000,
    pressure_most_pa=100_000,
    hold_least_s=600,
    drop_most_pa=5_000,
    when="lifted",
    source="book, page 1",
)
RUN = (
    RunLimit("oil pressure", Dimension.PRESSURE, "BAR", 100_000, 500_000),
    RunLimit("coolant temperature", Dimension.TEMPERATURE, "CEL", None, 368_150),
)
AFTER = (
    AfterRun("valve clearance", 30, 50, (), "page 2"),
    AfterRun("re-tightening", None, 10, (), "page 3"),
)


def test_every_item_of_a_piston_is_seen_or_named():
    wanted = ["crown", "tops", "gaps", "clips", "rod side", "tang"]
    assert missing_items(wanted, []) == tuple(wanted)
    assert missing_items(wanted, ["tops", "tang", "crown"]) == ("gaps", "clips", "rod side")
    assert missing_items(wanted, wanted) == ()


@pytest.mark.parametrize(
    ("pressure", "held", "drop", "wet", "why", "counts"),
    [
        (100_000, 600, 5_000, [], (), True),
        (100_000, 600, 5_001, [], ("the pressure dropped by more than the limit",), True),
        (100_001, 600, 0, [], ("the pressure was more than the maker allows",), False),
        (100_000, 599, 0, [], ("the pressure was not held long enough",), False),
        (0, 600, 0, [], ("there was no pressure",), False),
        (80_000, 600, 5_000, [], (), True),
        (79_999, 600, 0, [], ("the pressure was less than the maker asks for",), False),
        # a hundredth of a hand's pressure: 0.001 bar
        (100, 600, 0, [], ("the pressure was less than the maker asks for",), False),
        (80_000, 600, 0, ["CYL-2/set"], ("wet below CYL-2/set",), True),
    ],
)
def test_a_leak_test_against_its_limits(pressure, held, drop, wet, why, counts):
    assert why_leaks(LEAK, pressure, held, drop, wet) == (why, counts)


@given(st.integers(1, 100_000), st.integers(600, 9_000), st.integers(0, 9_000), st.integers(0, 9_000))
def test_a_larger_drop_never_passes_where_a_smaller_failed(pressure, held, one, other):
    smaller, larger = sorted((one, other))
    if why_leaks(LEAK, pressure, held, smaller, [])[0]:
        assert why_leaks(LEAK, pressure, held, larger, [])[0]


def test_the_first_run_names_each_value():
    assert judge_run(RUN, {"oil pressure": 100_000, "coolant temperature": 368_150}) == (
        RunValue("oil pressure", 100_000, True, ""),
        RunValue("coolant temperature", 368_150, True, ""),
    )
    assert [one.why for one in judge_run(RUN, {"oil pressure": 99_999, "coolant temperature": 368_151})] == [
        "below the limit",
        "above the limit",
    ]
    assert [one.why for one in judge_run(RUN, {"oil pressure": 500_001})] == ["above the limit", "not measured"]


def test_work_after_the_first_run_is_due_done_or_late():
    run_on = date(2025, 1, 15)
    last = run_on + timedelta(days=30)
    assert due_lines(AFTER, run_on, {}, last) == (
        Due(AFTER[0], last, 50, None, False),
        Due(AFTER[1], None, 10, None, False),
    )
    assert [one.late for one in due_lines(AFTER, run_on, {}, last + timedelta(days=1))] == [True, False]
    assert [one.late for one in due_lines(AFTER, run_on, {}, run_on, 10)] == [False, False]
    assert [one.late for one in due_lines(AFTER, run_on, {}, run_on, 11)] == [False, True]
    done = due_lines(AFTER, run_on, {"re-tightening": run_on}, last + timedelta(days=1), 99)
    assert [(one.done_on, one.late) for one in done] == [(None, True), (run_on, False)]


def test_a_rod_and_its_cap_are_of_the_cylinder_of_their_piston():
    its = parse_engine_map(family_document())
    assert holders(its, ["ROD-2/bolt-1", "ROD-2/shells"]) == holders(its, ["CYL-2/set"]) == {"CYL-2"}
    assert holders(its, ["MAIN-2/shells", "of/no-map"]) == {"MAIN-2"}
