"""Halves, washers and gaskets chosen from readings, the family's tables and the shelf."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.bearings import Half
from kits.domain.facts import Bearing, EndFloat, Facts
from kits.domain.gasket_grade import GasketGrade
from kits.domain.judging import Judged
from kits.domain.limits import Limits
from kits.domain.selecting import journal_of, judge_gasket, judge_halves, judge_washers
from kits.domain.taken import Taken
from kits.domain.thrust import Washer
from tests.factories.reads import read, taken

UM = 1000
WALLS = {1: 1_991_000, 2: 1_996_000, 3: 2_001_000}
NAMES = [f"MAIN-{number}" for number in range(1, 6)]
BEARING = Bearing(
    "mains",
    tuple(Half(f"UP-{grade}", grade, wall) for grade, wall in WALLS.items()),
    tuple(Half(f"LO-{grade}", grade, wall) for grade, wall in WALLS.items()),
    tuple(f"{name}/upper" for name in NAMES),
    tuple(f"{name}/lower" for name in NAMES),
    Limits(25_000, 55_000),
    40_000,
    True,
)
STOCK = {"UP-1": 2, "UP-2": 3, "UP-3": 2, "LO-1": 1, "LO-2": 2, "LO-3": 2}
#: Worked example of the demo shop: housing less journal in micrometres.
ROOMS = (4028, 4035, 4040, 4031, 4046)


def mains(*rooms: int, **more: Any) -> tuple[Taken, ...]:
    rows = []
    for name, room in zip(NAMES, rooms, strict=False):
        rows.append(read("housing-bore", 56_000 + room, name, **more))
        rows.append(read("journal-diameter", 56_000, name))
    return taken(*rows)


def parts(found: Judged) -> list[tuple[str, str]]:
    return [(one.position, one.part) for one in found.chosen]


def test_the_worked_example() -> None:
    # Worked example of the demo shop (independent script): sum 0.011, spread 0.006, uppers 2,2,3,2,3, lowers 1,2,3,2,3; clearances
    # 0.041, 0.043, 0.038, 0.039, 0.044. With U = 7.212 µm 0.0322 to 0.0478 is kept: all five pass.
    found = judge_halves(mains(*ROOMS), BEARING, STOCK)
    said = found.document
    assert (found.verdict, said["why"], said["sum_apart"], said["spread"]) == ("pass", [], "0.011 mm", "0.006 mm")
    assert [pair["upper"]["grade"] for pair in said["pairs"]] == [2, 2, 3, 2, 3]
    assert [pair["lower"]["grade"] for pair in said["pairs"]] == [1, 2, 3, 2, 3]
    assert [pair["least_nm"] for pair in said["pairs"]] == [41_000, 43_000, 38_000, 39_000, 44_000]
    assert parts(found)[:4] == [
        ("MAIN-1/upper", "UP-2"),
        ("MAIN-1/lower", "LO-1"),
        ("MAIN-2/upper", "UP-2"),
        ("MAIN-2/lower", "LO-2"),
    ]
    assert (len(found.ids), said["allowance_nm"], said["stock"]) == (10, 7212, STOCK)
    # With stock without end the sum is 0.010 (the same script).
    assert judge_halves(mains(*ROOMS), BEARING, dict.fromkeys(STOCK, 10)).document["sum_apart"] == "0.010 mm"


def test_the_thrust_main_with_halves_of_its_own() -> None:
    own = Half("UP-T", 3, WALLS[3]), Half("LO-T", 3, WALLS[3])
    bearing = replace(BEARING, fixed={"MAIN-3": (own,)})
    found = judge_halves(mains(*ROOMS), bearing, STOCK | {"UP-T": 1, "LO-T": 1})
    assert (found.verdict, found.document["fixed"]) == ("pass", ["MAIN-3"])
    assert parts(found)[4:6] == [("MAIN-3/upper", "UP-T"), ("MAIN-3/lower", "LO-T")]
    assert not {part for position, part in parts(found) if "MAIN-3" not in position} & {"UP-T", "LO-T"}
    with pytest.raises(DomainError) as caught:
        judge_halves(mains(*ROOMS), bearing, STOCK)
    assert caught.value.code == "bearing-impossible"
    assert {"part": "UP-T", "grade": 3, "pieces": 1} in caught.value.values["lacking"]


def test_doubtful_where_only_the_plain_limits_leave_a_choice() -> None:
    # One journal, 4.012 mm of room: the thinnest pair leaves 0.030, inside 0.025 to 0.055 and outside 0.0322 to 0.0478.
    one = Bearing(
        "one", BEARING.uppers, BEARING.lowers, ("MAIN-1/upper",), ("MAIN-1/lower",), BEARING.clearance, 40_000, True
    )
    found = judge_halves(mains(4012), one, STOCK)
    assert (found.verdict, found.document["pairs"][0]["verdict"]) == ("doubtful", "doubtful")
    assert found.document["why"] == ["within the limits only if nothing is allowed for the gauges"]
    with pytest.raises(DomainError) as caught:
        judge_halves(mains(4006), one, STOCK)
    assert (caught.value.code, caught.value.values["journal"]) == ("bearing-impossible", "MAIN-1")
    assert judge_halves(mains(4028, marks=("gauge out of date",)), one, STOCK).verdict == "doubtful"
    assert judge_halves(mains(4028, part_mk=None), one, STOCK).verdict == "doubtful"
    assert judge_halves(mains(4028), one, STOCK).verdict == "pass"


def test_missing_readings_are_named_for_each_journal() -> None:
    with pytest.raises(DomainError) as caught:
        judge_halves(mains(*ROOMS)[:-1], BEARING, STOCK)
    assert (caught.value.code, caught.value.values["missing"]) == ("readings-missing", ["MAIN-5 journal"])


@given(st.lists(st.integers(0, 9), min_size=1, max_size=4), st.lists(st.integers(0, 9), min_size=1, max_size=4))
def test_a_journal_from_several_points_has_the_extremes_of_all_pairs_of_points(
    housings: list[int], sizes: list[int]
) -> None:
    # Twin: every housing reading with every journal reading.
    found = journal_of("M", [1000 + one for one in housings], [900 + one for one in sizes])
    rooms = [100 + housing - size for housing in housings for size in sizes]
    assert (found.housing_nm - found.largest_nm, found.housing_nm - found.smallest_nm) == (min(rooms), max(rooms))


FLOAT = EndFloat(Limits(50 * UM, 250 * UM), (Washer("W-STD", 2_310_000), Washer("W-10", 2_360_000)), 2, True)


def washers(end_float_um: int, *fitted: str, stock: dict[str, int] | None = None, fact: EndFloat = FLOAT) -> Judged:
    pieces = {"W-STD": 1, "W-10": 1} if stock is None else stock
    return judge_washers(taken(read("end-float", end_float_um, "ENGINE")), fact, fitted, pieces)


def test_thrust_washers_by_end_float() -> None:
    # 0.300 with the standard pair; the thicker pair takes 2 · 0.05 of it: 0.200, inside 0.050 to 0.250 (by hand). One pair is one piece.
    found = washers(300, "W-STD")
    said = found.document
    assert (found.verdict, said["measured_verdict"], said["end_float"]) == ("pass", "fail", "0.200 mm")
    assert [(one.part, one.position) for one in found.chosen] == [("W-10", "")]
    assert said["limits"] == {"low_nm": 50_000, "high_nm": 250_000}
    # 0.150 is the middle already.
    assert [one.part for one in washers(150, "W-STD", "W-STD").chosen] == ["W-STD"]
    # U = 4 µm: 0.348 leaves 0.248, doubtful.
    assert (washers(348, "W-STD").verdict, washers(346, "W-STD").verdict) == ("doubtful", "pass")


@pytest.mark.parametrize(
    ("end_float_um", "fitted", "stock", "code"),
    [
        (300, ("W-STD",), {"W-STD": 1}, "bearing-impossible"),
        (400, ("W-STD",), None, "bearing-impossible"),
        (300, (), None, "bearing-unreadable"),
        (300, ("W-9",), None, "bearing-unreadable"),
        (300, ("W-STD",) * 3, None, "bearing-unreadable"),
    ],
)
def test_washers_that_are_refused(end_float_um: int, fitted: Any, stock: Any, code: str) -> None:
    with pytest.raises(DomainError) as caught:
        washers(end_float_um, *fitted, stock=stock)
    assert caught.value.code == code


def test_an_end_float_is_read_once() -> None:
    for rows, fact, code in (
        ((), FLOAT, "readings-missing"),
        ((), None, "no-limit"),
        ((read("end-float", 100, "ENGINE"), read("end-float", 140, "ENGINE", "rear")), FLOAT, "reading-unusable"),
    ):
        with pytest.raises(DomainError) as caught:
            judge_washers(taken(*rows), fact, ("W-STD",), {})
        assert caught.value.code == code


# The demo shop's table of a six-cylinder: grade 1 to 0.40, 2 to 0.60, 3 to 0.75 mm.
GRADES = Facts(
    head_gasket_grades=tuple(
        GasketGrade(grade, most * UM, f"HG-{grade}") for grade, most in (("1", 400), ("2", 600), ("3", 750))
    )
)


def projections(*highest_um: int, clamped: bool | None = True) -> tuple[Taken, ...]:
    return taken(
        *(
            read("piston-projection", size - less, f"CYL-{number}", point, clamped=clamped)
            for number, size in enumerate(highest_um, 1)
            for point, less in (("front", 0), ("rear", 20))
        )
    )


def gasket(*highest_um: int, **more: Any) -> Judged:
    return judge_gasket(projections(*highest_um, **more), GRADES, [f"CYL-{n}" for n in range(1, len(highest_um) + 1)])


def test_the_largest_of_six_decides() -> None:
    # Worked example of the demo shop: the largest of six is 0.47, so grade 2.
    found = gasket(410, 440, 470, 390, 430, 420)
    said = found.document
    assert (found.verdict, said["grade"], said["part"]) == ("pass", "2", "HG-2")
    assert said["highest"] == {"piston": "CYL-3", "at": "front", "projection": "0.470 mm"}
    assert [(one.part, one.position) for one in found.chosen] == [("HG-2", "")]
    assert len(found.ids) == 12


@pytest.mark.parametrize(
    ("highest_um", "grade", "verdict"),
    [
        # U = 2 · 2 µm: within 4 µm of a limit nobody can say which of two grades it is.
        (396, "1", "pass"), (397, "1", "doubtful"), (400, "1", "doubtful"), (401, "2", "doubtful"), (404, "2", "doubtful"),
        (405, "2", "pass"), (596, "2", "pass"), (597, "2", "doubtful"), (746, "3", "pass"), (747, "3", "doubtful"),
    ],
)  # fmt: skip
def test_near_a_limit_it_is_doubtful(highest_um: int, grade: str, verdict: str) -> None:
    found = gasket(highest_um)
    assert (found.document["grade"], found.verdict) == (grade, verdict)


def test_projections_that_are_refused() -> None:
    for rows, pistons, facts, code in (
        (projections(470, clamped=False), ["CYL-1"], GRADES, "projection-not-accepted"),
        (projections(470, clamped=None), ["CYL-1"], GRADES, "projection-not-accepted"),
        (projections(470)[:1], ["CYL-1"], GRADES, "projection-not-accepted"),
        (projections(470), ["CYL-1", "CYL-2"], GRADES, "projection-not-accepted"),
        (projections(751), ["CYL-1"], GRADES, "gasket-grade-none"),
        (projections(470), ["CYL-2"], GRADES, "readings-missing"),
        (projections(470), ["CYL-1"], Facts(), "no-limit"),
    ):
        with pytest.raises(DomainError) as caught:
            judge_gasket(rows, facts, pistons)
        assert caught.value.code == code
