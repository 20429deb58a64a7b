"""A row of options told in full, and points of the clock in words."""

from fractions import Fraction

from kits.domain.layout_options import Option
from kits.domain.layout_placed import Placed, placed_of, point_said, points_said
from tests.factories.bores import UM, um, worked


def test_points_are_hours_where_they_fall_on_one():
    assert [point_said(at, 4) for at in range(4)] == ["12 o'clock", "3 o'clock", "6 o'clock", "9 o'clock"]
    assert [point_said(at, 3) for at in range(3)] == ["12 o'clock", "4 o'clock", "8 o'clock"]
    assert [point_said(at, 12) for at in (0, 11)] == ["12 o'clock", "11 o'clock"]
    assert [point_said(at, 8) for at in (0, 1, 7)] == ["0°", "45°", "315°"]


def test_points_of_several_bores():
    assert points_said([(1, 1), (1, 2)], 4) == "bore 1, 3 and 6 o'clock"
    assert points_said([(1, 0), (3, 0), (3, 1), (3, 3)], 4) == "bore 1, 12 o'clock; bore 3, 12, 3 and 9 o'clock"
    assert points_said([(2, 1), (2, 7)], 8) == "bore 2, 45° and 315°"


def test_a_row_in_full():
    # worked example: set 1 turned in bore 4 reads 86, 70, 86, 102; here on a ring of 5 and a shim of 50 as well
    task = worked()
    row = [
        Option(0, 0, 0, 0, chosen, turn, shim)
        for chosen, turn, shim in ((2, 0, 0), (3, 0, 0), (1, 0, 0), (0, 2, 50 * UM))
    ]
    placed = placed_of(task, row, 5 * UM)
    assert [one.serial for one in placed] == ["S-0443", "S-0444", "S-0442", "S-0441"]
    assert placed[3] == Placed(4, "", "S-0441", 180, 50 * UM, um((141, 125, 141, 157)))
    assert placed[0].mean_nm == Fraction(um((58 + 5,))[0])
