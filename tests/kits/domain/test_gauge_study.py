"""Gauge repeatability studies, checked against a published one and against a twin that sums deviations."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from statistics import fmean

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.gauge_study import MOST_ROWS, StudyRow, percent, root_text, study

#: Ten parts, three operators, three repeats each, limits 18 to 58. Source: Houf & Berman (1988), thermal impedance of power modules,
#: as used in statistics manuals (VARCOMP procedure, example 2).
HOUF_BERMAN = {
    1: ((37, 38, 37), (41, 41, 40), (41, 42, 41)),
    2: ((42, 41, 43), (42, 42, 42), (43, 42, 43)),
    3: ((30, 31, 31), (31, 31, 31), (29, 30, 28)),
    4: ((42, 43, 42), (43, 43, 43), (42, 42, 42)),
    5: ((28, 30, 29), (29, 30, 29), (31, 29, 29)),
    6: ((42, 42, 43), (45, 45, 45), (44, 46, 45)),
    7: ((25, 26, 27), (28, 28, 30), (29, 27, 27)),
    8: ((40, 40, 40), (43, 42, 42), (43, 43, 41)),
    9: ((25, 25, 25), (27, 29, 28), (26, 26, 26)),
    10: ((35, 34, 34), (35, 35, 34), (35, 34, 35)),
}
ROWS = [
    StudyRow(str(part), str(who), repeat, value)
    for part, people in HOUF_BERMAN.items()
    for who, values in enumerate(people, 1)
    for repeat, value in enumerate(values, 1)
]


def close(number: Fraction, digits: int) -> float:
    return round(float(number), digits)


def test_the_study_of_houf_and_berman():
    found = study(ROWS, tolerance=58 - 18)
    # Mean squares agree with Burdick, Borror & Montgomery (2003), from memory.
    squares = found.mean_squares
    assert (close(squares["part"], 3), close(squares["operator"], 3)) == (437.328, 19.633)
    assert (close(squares["interaction"], 3), close(squares["repeatability"], 4)) == (2.695, 0.5111)
    # Variances, shares and categories: recomputed independently from the published data.
    variances = {name: close(value, 4) for name, value in found.variances.items()}
    assert variances == {
        "repeatability": 0.5111, "operator": 0.5646, "interaction": 0.7280, "reproducibility": 1.2926, "gauge": 1.8037,
        "part": 48.2926, "total": 50.0963,
    }  # fmt: skip
    assert (percent(found.of_study), percent(found.of_tolerance)) == ("18.97", "20.15")
    # with 5.15 sigma in place of 6: 17.29 %
    assert percent(found.of_tolerance * Fraction(515, 600) ** 2) == "17.29"
    assert (found.categories, found.below_zero, found.verdict) == (7, (), "marginal")
    assert (found.parts, found.operators, found.repeats) == (10, 3, 3)


def test_the_order_of_the_readings_does_not_matter():
    assert study(ROWS[::-1], 40) == study(ROWS, 40)


def table(parts, people, repeats, values):
    cells = product(range(parts), range(people), range(1, repeats + 1))
    return [StudyRow(f"p{p}", f"o{o}", n, v) for (p, o, n), v in zip(cells, values, strict=True)]


SHAPES = st.tuples(st.integers(2, 4), st.integers(2, 3), st.integers(2, 3))
STUDIES = SHAPES.flatmap(
    lambda s: st.lists(st.integers(-50, 50), min_size=s[0] * s[1] * s[2], max_size=s[0] * s[1] * s[2]).map(
        lambda values: (s, table(*s, values))
    )
)


@given(STUDIES)
@settings(max_examples=50, deadline=None)
def test_the_twin_that_sums_squared_deviations(made):
    (p, o, n), rows = made

    def mean(keep):
        return fmean(row.value for row in rows if keep(row))

    whole = mean(lambda row: True)
    parts, people = sorted({row.part for row in rows}), sorted({row.operator for row in rows})
    part = {one: mean(lambda row, one=one: row.part == one) for one in parts}
    who = {one: mean(lambda row, one=one: row.operator == one) for one in people}
    cell = {(a, b): mean(lambda row, a=a, b=b: (row.part, row.operator) == (a, b)) for a in parts for b in people}
    twin = {
        "part": o * n * sum((value - whole) ** 2 for value in part.values()) / (p - 1),
        "operator": p * n * sum((value - whole) ** 2 for value in who.values()) / (o - 1),
        "interaction": n * sum((cell[a, b] - part[a] - who[b] + whole) ** 2 for a, b in cell) / ((p - 1) * (o - 1)),
        "repeatability": sum((row.value - cell[row.part, row.operator]) ** 2 for row in rows) / (p * o * (n - 1)),
    }
    found = study(rows)
    assert {name: float(value) for name, value in found.mean_squares.items()} == pytest.approx(twin, abs=1e-6)
    assert all(value >= 0 for value in found.variances.values())
    assert found.variances["total"] == sum(
        found.variances[name] for name in ("repeatability", "operator", "interaction", "part")
    )


@given(STUDIES, st.integers(-1000, 1000), st.integers(1, 20))
@settings(max_examples=30, deadline=None)
def test_a_shift_changes_nothing_and_a_scale_changes_no_share(made, shift, scale):
    _, rows = made
    moved = [StudyRow(row.part, row.operator, row.repeat, scale * row.value + shift) for row in rows]
    one, other = study(rows, 10), study(moved, 10 * scale)
    assert (other.of_study, other.of_tolerance, other.categories) == (one.of_study, one.of_tolerance, one.categories)
    assert other.below_zero == one.below_zero


def test_estimates_below_zero_count_as_zero_and_are_named():
    # both people have the same mean, and no interaction beyond the scatter of repeats
    found = study(table(2, 2, 2, [0, 2, 2, 0, 10, 12, 12, 10]))
    assert found.below_zero == ("interaction",)
    assert (found.variances["operator"], found.variances["interaction"]) == (0, 0)
    # repeatability 2, mean squares of operator and interaction 0, part 200: (200 - 0) / 4 = 50
    assert found.mean_squares == {"part": 200, "operator": 0, "interaction": 0, "repeatability": 2}
    assert (found.variances["part"], found.variances["gauge"]) == (50, 2)
    # floor(1.41 * root 25) = 7
    assert found.categories == 7


def test_a_gauge_that_shows_no_spread_at_all():
    found = study(table(2, 2, 2, [5] * 8), 1)
    assert (found.categories, found.of_study, found.of_tolerance, found.verdict) == (None, 0, 0, "good")


@pytest.mark.parametrize(
    ("tolerance", "verdict"), [(600, "good"), (599, "marginal"), (200, "marginal"), (199, "not good enough")]
)
def test_ten_and_thirty_per_cent_themselves_count(tolerance, verdict):
    # two of four cells scatter by 10: repeatability 100, six sigma 60
    rows = table(2, 2, 2, [-10, 10, 0, 0, -10, 10, 0, 0])
    assert study(rows).variances["gauge"] == 100
    assert study(rows, tolerance).verdict == verdict


@pytest.mark.parametrize(
    ("square", "places", "text"),
    [(2, 4, "1.4142"), (Fraction(1, 4), 2, "0.50"), (0, 2, "0.00"), (Fraction(2), 0, "1"), (3, 0, "2")],
)
def test_roots_to_the_nearest_last_place(square, places, text):
    assert root_text(Fraction(square), places) == text


def test_what_is_missing_and_what_is_there_twice_is_named():
    rows = table(2, 2, 2, range(8))
    with pytest.raises(DomainError) as caught:
        study([*rows[:3], *rows[4:], rows[5]])
    assert caught.value.code == "study-unbalanced"
    assert caught.value.values == {"missing": [["p0", "o1", 2]], "twice": [["p1", "o0", 2]]}


@pytest.mark.parametrize(
    ("rows", "tolerance"),
    [
        ([], None),
        (table(1, 2, 2, range(4)), None),
        (table(2, 1, 2, range(4)), None),
        (table(2, 2, 1, range(4)), None),
        (table(2, 2, 2, range(8)), 0),
        (table(2, 2, 2, range(8)), -1),
        (table(2, 2, 2, range(8)), True),
        (table(2, 2, 2, [0.5] * 8), None),
        ([StudyRow("p", "o", 0, 1)], None),
        ([StudyRow(" ", "o", 1, 1)], None),
        ([StudyRow("p", "o", 10**9, 1), StudyRow("q", "r", 1, 1)], None),
        ([StudyRow("p", "o", 1, 1)] * (MOST_ROWS + 1), None),
    ],
)
def test_what_is_no_study(rows, tolerance):
    with pytest.raises(DomainError) as caught:
        study(rows, tolerance)
    assert caught.value.code == "study-unusable"
