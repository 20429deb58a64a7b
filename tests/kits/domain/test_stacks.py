"""Stacks of tolerances against printed limits. 1 in = 25.4 mm, so 0.0001 in is 2540 nm."""

from __future__ import annotations

from decimal import Decimal, localcontext
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.limits import Limits
from kits.domain.stacks import Contributor, Standing, against, between, stack

TENTH, UM = 2540, 1_000


def test_projection_of_flange_plate_and_gasket():
    # Flange .4048 +-.0008, plate .3925 +-.0010, gasket .0082 +-.0010 in; printed limits .0013-.0069: US Army TM 5-3805-263-14&P-2,
    # cylinder liners. The arithmetic reproduces the printed limits exactly.
    found = stack(
        [
            Contributor("flange", 1, 4048 * TENTH, 8 * TENTH, 8 * TENTH),
            Contributor("plate", -1, 3925 * TENTH, 10 * TENTH, 10 * TENTH),
            Contributor("gasket", -1, 82 * TENTH, 10 * TENTH, 10 * TENTH),
        ]
    )
    assert (found.nominal_nm, found.low_nm, found.high_nm) == (41 * TENTH, 13 * TENTH, 69 * TENTH)
    # Root of 8^2 + 10^2 + 10^2 = 16.2480768 tenths of a thousandth, on either side of 41 (by hand, in Decimal), rounded outwards.
    half = Decimal(264).sqrt() * TENTH
    assert (found.rss_low_nm, found.rss_high_nm) == (int(41 * TENTH - half), int(41 * TENTH + half) + 1)
    assert against(found, Limits(13 * TENTH, 69 * TENTH)) == Standing.INSIDE
    assert against(found, Limits(13 * TENTH + 1, 69 * TENTH)) == Standing.MEASURE


def test_worst_case_below_the_limit_must_be_measured():
    # Flange .4630-.4650, counterbore .4600-.4620 in, limit .002-.005: worst case .001-.005, so it must be measured; with a shim of
    # .005 the worst case is .006-.010: never. TM 5-6115-400-35 Table 1.
    parts = [
        between("flange", 1, 4630 * TENTH, 4650 * TENTH),
        between("counterbore", -1, 4600 * TENTH, 4620 * TENTH),
    ]
    limits = Limits(20 * TENTH, 50 * TENTH)
    found = stack(parts)
    assert (found.low_nm, found.high_nm, against(found, limits)) == (10 * TENTH, 50 * TENTH, Standing.MEASURE)
    shimmed = stack([*parts, Contributor("shim", 1, 50 * TENTH)])
    assert (shimmed.low_nm, shimmed.high_nm, against(shimmed, limits)) == (60 * TENTH, 100 * TENTH, Standing.OUTSIDE)


@pytest.mark.parametrize(("recess", "shim"), [((90, 140), 150), ((140, 190), 200), ((170, 220), 230)])
def test_a_printed_table_of_shims(recess, shim):
    # Recess below the block 0.14-0.09 mm takes shim 0.15, and so on: protrusion 0.01-0.06 mm. Service manual of a small marine
    # diesel (brand withheld).
    found = stack([Contributor("shim", 1, shim * UM), between("recess", -1, recess[0] * UM, recess[1] * UM)])
    assert (found.low_nm, found.high_nm) == (10 * UM, 60 * UM)


def test_what_the_seal_under_a_liner_adds():
    # Limit 0.23, measured 0.10: 0.13 is wanted, the largest seal not above it is 0.122 on average. Workshop manual of a wet-liner petrol
    # V6 (brand withheld).
    seal = stack([Contributor("liner", 1, 100 * UM), Contributor("seal", 1, 122 * UM)])
    assert against(seal, Limits(None, 230 * UM)) == Standing.INSIDE
    assert against(
        stack([Contributor("liner", 1, 100 * UM), Contributor("seal", 1, 130_001)]), Limits(None, 230 * UM)
    ) == (Standing.OUTSIDE)


PARTS = st.lists(
    st.tuples(st.sampled_from([1, -1]), st.integers(-50, 50), st.integers(0, 6), st.integers(0, 6)),
    min_size=1,
    max_size=4,
)


@settings(max_examples=60)
@given(PARTS)
def test_against_a_twin_that_puts_every_part_at_both_ends(rows):
    parts = [Contributor(str(at), *row) for at, row in enumerate(rows)]
    found = stack(parts)
    ends = [[one.sign * (one.nominal_nm - one.minus_nm), one.sign * (one.nominal_nm + one.plus_nm)] for one in parts]
    sums = [sum(chosen) for chosen in product(*ends)]
    assert (found.low_nm, found.high_nm) == (min(sums), max(sums))
    assert found.nominal_nm == sum(one.sign * one.nominal_nm for one in parts)
    with localcontext() as context:
        context.prec = 60
        half = sum((Decimal(one.plus_nm + one.minus_nm) / 2) ** 2 for one in parts).sqrt()
        middle = Decimal(found.low_nm + found.high_nm) / 2
        # Rounded outwards, never by a whole nanometre or more beyond the half that the whole numbers cost.
        assert 0 <= middle - half - found.rss_low_nm < Decimal("1.5")
        assert 0 <= found.rss_high_nm - middle - half < Decimal("1.5")
    # A worst case of one part alone is its root sum of squares, and no stack's root is wider than its worst case.
    assert found.low_nm <= found.rss_low_nm
    assert found.rss_high_nm <= found.high_nm


@pytest.mark.parametrize(
    "parts",
    [
        [],
        [Contributor("a", 0, 1)],
        [Contributor("a", True, 1)],
        [Contributor("a", 1, 1.0)],
        [Contributor("a", 1, 1, -1)],
        [Contributor("a", 1, 1, 0, True)],
        [Contributor("a", 1, 1), Contributor("a", 1, 2)],
    ],
)
def test_nonsense_is_refused(parts):
    with pytest.raises(DomainError) as caught:
        stack(parts)
    assert caught.value.code == "stack-unreadable"
    with pytest.raises(DomainError) as caught:
        stack([between("a", 1, 2, 1)])
    assert caught.value.code == "stack-unreadable"
