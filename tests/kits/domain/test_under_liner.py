"""A shim or a base ring as it was read."""

import pytest

from kits.domain.under_liner import Piece, ThicknessRead, piece_read

UM = 1_000
SIZES = (50 * UM, 100 * UM, 150 * UM)


def read(*values_um, marks=(), u=1, first=1):
    return [ThicknessRead(first + at, int(um * UM), u * UM, marks) for at, um in enumerate(values_um)]


@pytest.mark.parametrize(
    ("values", "nominal", "thickness"),
    [
        ((98,), 100, 98),
        ((98, 100), 100, 99),  # U = 2 · 1 µm: two that differ by no more give their mean
        ((97, 102, 98), 100, 98),  # the newest agrees with the median
        ((52, 98), 100, 98),  # the thinner one was read before it, for the same cylinder
        ((52, 98), 50, 52),
        ((75,), 50, 75),  # in the middle it is the thinner one
    ],
)
def test_what_was_read_of_its_size_counts(values, nominal, thickness):
    found = piece_read(read(*values), nominal * UM, SIZES)
    assert (found.thickness_nm, found.uncertainty_nm, found.doubts) == (thickness * UM, UM, ())


def test_nothing_read_nothing_there():
    assert piece_read([], 100 * UM, SIZES) is None
    assert piece_read(read(52), 100 * UM, SIZES) is None
    assert piece_read(read(52), 0, SIZES) is None


def test_two_that_disagree_leave_the_nominal_in_doubt_and_a_gauge_in_date_goes_first():
    assert piece_read(read(97, 100), 100 * UM, SIZES) == Piece(100 * UM, UM, ("its thickness: measure again",), (1, 2))
    late = ("gauge out of date",)
    assert piece_read(read(97, marks=late), 100 * UM, SIZES) == Piece(97 * UM, UM, late, (1,))
    assert piece_read([*read(97, marks=late), *read(99, first=5)], 100 * UM, SIZES) == Piece(99 * UM, UM, (), (5,))
