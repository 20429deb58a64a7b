"""The list as people read it: gathered into lines, in the order of work, every unit with its because."""

from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.choices import settle
from kits.domain.explosion import explode
from kits.domain.findings import Finding
from kits.domain.listing import lines_of, order_of_work, parts_named, special_tools, unexplained
from kits.domain.procedures import Operation, Step, parse_operation
from kits.domain.settled import totals
from tests.factories.engines import family, findings, line, number, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
ALL = [Finding(code.code, place) for code in FAMILY.findings.values() for place in FAMILY.map.places(code.scope)]
jobs = st.tuples(
    st.lists(st.sampled_from(list(OPERATIONS.values())), max_size=3, unique_by=lambda one: one.code),
    st.lists(st.sampled_from(ALL), max_size=6),
)


def settled(codes, *said):
    on_job = [OPERATIONS[code] for code in codes.split()]
    return settle(explode(FAMILY, on_job, findings(*said), number("T4-00150")), {}), on_job


def procedure(code: str, *steps: tuple[int, list[int]]) -> Operation:
    """An operation of bare steps: (number, the steps it waits for)."""
    return parse_operation(
        {
            "code": code,
            "family": "Testbed-4",
            "revision": 1,
            "name": code,
            "opens": [],
            "steps": [{"step": step, "after": after, "name": f"step {step}"} for step, after in steps],
            "lines": [line(f"{code}-1", steps[0][0], "X", "OIL/fill", amount="1 L", how="fill")],
        },
        FAMILY,
    )


def brute(on_job: list[Operation]) -> dict[tuple[str, int], int]:
    """The first permutation, by (step, place of the operation), in which nothing stands before what it waits for."""
    steps: list[tuple[tuple[int, int], str, Step]] = sorted(
        ((step.step, at), operation.code, step) for at, operation in enumerate(on_job) for step in operation.steps
    )
    for order in permutations(steps):
        at = {(code, step.step): place for place, (_, code, step) in enumerate(order)}
        if all(at[code, before] < at[code, step.step] for _, code, step in order for before in step.after):
            return at
    raise AssertionError("the steps wait for each other in a circle")


@pytest.mark.parametrize(
    "on_job",
    [
        [procedure("A", (10, []), (20, [10]), (30, [20]))],
        [procedure("A", (10, []), (20, [10])), procedure("B", (10, []), (15, []), (20, [15]))],
        [procedure("A", (10, [30]), (20, []), (30, []))],  # step 10 waits for step 30: it comes last
        [procedure("B", (10, [20]), (20, [])), procedure("A", (10, []), (20, [10]), (30, [10]))],
    ],
)
def test_order_of_work_is_by_step_then_booking_and_never_before_what_is_waited_for(on_job) -> None:
    assert order_of_work(on_job) == brute(on_job)


def test_steps_that_wait_for_each_other_are_refused() -> None:
    whole = procedure("A", (10, []), (20, [10]))
    circle = replace(whole, steps=(replace(whole.steps[0], after=(20,)), *whole.steps[1:]))
    with pytest.raises(DomainError) as caught:
        order_of_work([circle])
    assert caught.value.code == "step-loop"


def test_a_line_gathers_the_positions_of_one_part_at_one_step() -> None:
    its, on_job = settled("T1", "lifted@CYL-1", "lifted@CYL-3")
    rows = [(one.operation, one.step, one.part, one.amount, one.base) for one in lines_of(its, on_job)]
    assert rows == [
        ("T1", 10, "RING", 2, "piece"),
        ("T1", 20, "ROD-BOLT", 4, "piece"),
        ("T1", 20, "SHELL-STD", 2, "piece"),
        ("T1", 30, "COVER-RUBBER", 2, "piece"),
        ("T1", 30, "NEW-BOLT", 20, "piece"),
        ("T1", 30, "NEW-GASKET", 2, "piece"),
        ("T1", 40, "OIL", 4_000_000, "microlitre"),
        ("T1", 40, "SEALANT", 7069, "microlitre"),
        ("T1", 40, "WASHER", 1, "piece"),
    ]


def test_a_joint_that_two_operations_open_is_closed_once_at_the_later_of_its_steps() -> None:
    its, on_job = settled("T3 T1", "lifted@CYL-1")
    washers = [one for one in lines_of(its, on_job) if one.part == "WASHER"]
    assert [(one.operation, one.step, one.amount) for one in washers] == [("T1", 40, 1)]
    assert {because.split()[0] for because in washers[0].becauses} == {"T1", "T3"}


def test_a_position_that_needs_nothing_leaves_its_line_and_a_replacement_takes_its_place() -> None:
    its, on_job = settled("T1", "lifted@CYL-1", "lifted@CYL-3")
    rows = lines_of(its, on_job, skip=["CYL-1/ring", "SUMP/washer"], parts={("CYL-3/ring", 1): "RING-2"})
    assert [(one.part, one.positions) for one in rows if one.part.startswith("RING")] == [("RING-2", ("CYL-3/ring",))]
    assert "WASHER" not in {one.part for one in rows}
    assert [one.number for one in rows] == list(range(1, len(rows) + 1))


def test_tools_are_named_once_with_the_steps_that_use_them() -> None:
    its, on_job = settled("T1 T2", "sump-off@ENGINE", "valve-out@VALVE-2", "valve-out@VALVE-1")
    assert special_tools(lines_of(its, on_job)) == {"stem sleeve": ("T2/10",), "bead gun": ("T1/40",)}


def test_a_line_without_a_because_is_found() -> None:
    its, on_job = settled("T2", "valve-out@VALVE-2")
    rows = lines_of(its, on_job)
    assert unexplained(rows) == []
    bare = type(rows[0])(**{name: getattr(rows[0], name) for name in rows[0].__slots__} | {"becauses": ()})
    assert unexplained([*rows, bare]) == ["VALVE-2/stem-seal"]


def test_every_part_that_a_list_may_name_is_asked_of_the_catalogue() -> None:
    its = explode(FAMILY, [OPERATIONS["T1"]], findings("low@CYL-1", "head-off@BANK-LEFT"), number("T4-00150"))
    assert parts_named(its) == {"SHIM-5", "SHIM-9", "NEW-GASKET", "NEW-BOLT", "COVER-RUBBER", "OLD-BOLT"}


@settings(max_examples=50, deadline=None)
@given(jobs)
def test_lines_hold_every_settled_unit_once_in_order_of_work_with_a_because(job) -> None:
    on_job, said = job
    its = settle(explode(FAMILY, on_job, said, number("T4-00150")), {})
    rows, rank = lines_of(its, on_job), order_of_work(on_job)
    assert sorted(key for one in rows for key in one.keys) == sorted(one.key for one in its.lines)
    by_part: dict[tuple[str, str], int] = {}
    for one in rows:
        by_part[one.part, one.base] = by_part.get((one.part, one.base), 0) + one.amount
    assert by_part == {(one.part, one.base): one.amount for one in totals(its)}
    ranks = [rank[one.operation, one.step] for one in rows]
    assert ranks == sorted(ranks)
    assert unexplained(rows) == []
