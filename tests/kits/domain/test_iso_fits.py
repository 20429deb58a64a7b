"""ISO 286 grades against the reference table, fits against published ones. 1 in = 25.4 mm, so 0.0001 in is 2540 nm."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from inventory.domain.errors import DomainError
from kits.domain.iso_fits import BANDS_MM, IT_UM, Fit, Kind, Zone, fit_between, fit_of, it_nm, zone

MM, UM, TENTH = 1_000_000, 1_000, 2540
TABLE = Path(__file__).resolve().parents[2] / "data" / "iso286_it_um.csv"


def test_91_of_91_values_of_the_table():
    # Provenance: tests/data/SOURCES.txt (two independent public tables of ISO 286-1).
    with open(TABLE, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    wrong = []
    for row in rows:
        grade, over, up_to = int(row["grade"].removeprefix("IT")), int(row["over_mm"]), int(row["up_to_mm"])
        wanted = int(row["tolerance_um"]) * UM
        # A band goes from just over its lower end up to and including its upper end.
        got = {it_nm(grade, size) for size in (over * MM + 1, (over + up_to) * MM // 2, up_to * MM)}
        if got != {wanted}:
            wrong.append(row)
    assert (len(rows), wrong) == (91, [])
    assert len(rows) == sum(map(len, IT_UM.values())) == 7 * len(BANDS_MM)


@pytest.mark.parametrize(
    ("size_mm", "name", "clearance_um"),
    [
        (50, "H7/g6", (9, 50)),  # read on a fits page and in a small fits library
        (50, "H7/p6", (-42, -1)),  # read on a fits page: 1 to 42 um of interference
        (25, "H7/h6", (0, 34)),  # read on an engineering page
        (25, "H7/g6", (7, 41)),  # read, ISO 286 fits
        (130, "H7/g6", (14, 79)),  # read, ISO 286 fits
    ],
)
def test_published_fits(size_mm, name, clearance_um):
    found = fit_of(name, size_mm * MM)
    assert (found.least_nm, found.most_nm) == tuple(end * UM for end in clearance_um)


def test_ten_millimetres_h7_is_15_by_the_table():
    # A known trap: the formula's own rounding gives 14, the table says 15 (two sources).
    assert zone("H7", 10 * MM) == Zone(10 * MM, 10 * MM + 15 * UM)
    # 30 mm is the last size of 18 to 30, not the first of 30 to 50 (H7 would be 25 there).
    assert zone("H7", 30 * MM).high_nm == 30 * MM + 21 * UM
    assert zone("H7", 30 * MM + 1).high_nm == 30 * MM + 1 + 25 * UM


@pytest.mark.parametrize(
    ("hole", "shaft", "printed"),
    [
        (
            (57810, 57830),
            (57780, 57800),
            (10, 50),
        ),  # sleeve to block bore, packing zone: same table, printed .0010-.0050
        ((58740, 58760), (58710, 58730), (10, 50)),  # TM 5-6115-400-35 Table 1
        ((62290, 62340), (62170, 62210), (80, 170)),  # TM 55-1905-219 and -220
        ((42495, 42511), (42428, 42450), (45, 83)),  # piston skirt to liner, TM 55-1905-219-14-4 and -220-14-4
    ],
)
def test_fits_of_printed_tables(hole, shaft, printed):
    ends = [Zone(low * TENTH, high * TENTH) for low, high in (hole, shaft)]
    assert fit_between(*ends) == Fit(printed[0] * TENTH, printed[1] * TENTH)


def test_kinds_of_fit():
    assert [Fit(least, most).kind for least, most in ((0, 5), (-1, 1), (-5, 0), (-5, -1))] == [
        Kind.CLEARANCE,
        Kind.TRANSITION,
        Kind.INTERFERENCE,
        Kind.INTERFERENCE,
    ]
    assert (fit_of("H7/p6", 50 * MM).kind, fit_of("H7/g6", 50 * MM).kind) == ("interference", "clearance")


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("H7/g6", 0),
        ("H7/g6", 500 * MM + 1),
        ("H7/g6", True),
        ("H7/g6", 50.0),
        ("H4/h6", 50 * MM),
        ("H12/h6", 50 * MM),
        ("H7/g6", 60 * MM),  # no deviation of g was read for that band
        ("H7/k6", 50 * MM),
        ("G7/h6", 50 * MM),
        ("h6/H7", 50 * MM),
        ("H7", 50 * MM),
        ("H7/g6/x", 50 * MM),
        ("", 50 * MM),
    ],
)
def test_what_is_not_in_the_table_is_refused(name, size):
    with pytest.raises(DomainError) as caught:
        fit_of(name, size)
    assert caught.value.code == "fit-unknown"
    assert fit_of("H7/h6", 500 * MM) == Fit(0, 103 * UM)


def test_a_zone_turned_round_is_refused():
    with pytest.raises(DomainError) as caught:
        fit_between(Zone(5, 4), Zone(1, 2))
    assert caught.value.code == "fit-unknown"
    with pytest.raises(DomainError) as caught:
        it_nm(True, MM)
    assert caught.value.code == "fit-unknown"
