"""Displacement from bore, stroke and cylinders."""

import math

import pytest

from kits.domain.displacement import contradicts, swept_ul

MM = 1_000_000


@pytest.mark.parametrize(
    ("bore", "stroke", "cylinders", "cm3"),
    [
        # Printed displacements of square two-litre fours and of a V8 of 4.00 by 3.48 in, 350 cubic inches (from memory).
        (86 * MM, 86 * MM, 4, 1998),
        (101_600_000, 88_392_000, 8, 5733),
    ],
)
def test_what_makers_print(bore, stroke, cylinders, cm3):
    assert round(swept_ul(bore, stroke, cylinders) / 1000) == cm3
    assert contradicts(bore, stroke, cylinders, cm3 * 1000) == ""


def test_it_is_pi_to_six_places():
    assert float(swept_ul(2 * MM, MM, 1)) == pytest.approx(math.pi, abs=3e-7)


def test_a_hundredth_part_passes_and_a_slip_does_not():
    swept = swept_ul(100 * MM, 100 * MM, 1)  # 785.398 cm3
    printed = int(swept / (1 + 0.01))
    assert contradicts(100 * MM, 100 * MM, 1, printed + 1) == ""
    assert contradicts(100 * MM, 100 * MM, 1, printed - 1) == "bore and stroke of 1 cylinders make 0.785 L"
    assert contradicts(100 * MM, 100 * MM, 10, int(swept)) != ""
    assert contradicts(None, 100 * MM, 4, 1) == contradicts(100 * MM, 100 * MM, 4, None) == ""
