"""Expected write-off of dated stock, against sums written out with fifty digits, and by what must always hold."""

from datetime import date, timedelta
from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.write_off import DatedStock, chance_of_any, expected_write_off, losses, poisson

ON = date(2025, 3, 1)


def chances(mean, most):
    """Poisson chances of 0 to `most`, each from the one before, with fifty digits."""
    with localcontext() as context:
        context.prec = 50
        found = [(-Decimal(mean)).exp()]
        for count in range(1, most + 1):
            found.append(found[-1] * Decimal(mean) / count)
        return found


def by_hand(quantity, mean):
    terms = chances(mean, quantity)
    return float(sum((quantity - count) * terms[count] for count in range(quantity))), float(sum(terms[:quantity]))


def test_nine_pieces_and_a_mean_of_six():
    # Q = 9, D Poisson 6: expected written off 3.161, chance of any 0.847. Source: worked example of the demo shop (invented); recomputed from the Poisson sum.
    assert round(expected_write_off(9, 6), 3) == 3.161
    assert round(chance_of_any(9, 6), 3) == 0.847


@pytest.mark.parametrize("mean", ["0.01", "0.5", "6", "37.5", "400", "2500"])
@pytest.mark.parametrize("quantity", [0, 1, 2, 9, 60, 390, 2600])
def test_as_the_sums_written_out(quantity, mean):
    expected, chance = by_hand(quantity, mean)
    assert expected_write_off(quantity, float(mean)) == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert chance_of_any(quantity, float(mean)) == pytest.approx(chance, rel=1e-9, abs=1e-12)


@given(st.integers(0, 300), st.floats(0, 300))
def test_more_stock_loses_more_and_more_demand_less(quantity, mean):
    here = expected_write_off(quantity, mean)
    # One more piece is lost exactly when demand leaves it: E[(Q+1-D)+] - E[(Q-D)+] = P(D <= Q).
    more = expected_write_off(quantity + 1, mean) - here
    assert more == pytest.approx(chance_of_any(quantity + 1, mean), abs=1e-9)
    assert expected_write_off(quantity, mean + 1) <= here + 1e-9
    # Jensen's inequality: never less than what the mean itself would leave, and never more than there is.
    assert max(0, quantity - mean) - 1e-9 <= here <= quantity + 1e-9
    assert 0 <= chance_of_any(quantity, mean) <= 1


def test_no_demand_loses_all_and_chances_add_up_to_one():
    assert (expected_write_off(4, 0), chance_of_any(4, 0), chance_of_any(0, 0)) == (4, 1, 0)
    for mean in (0.001, 3, 1000, 20_000):
        assert sum(poisson(mean).values()) == pytest.approx(1, abs=1e-9)


def lot(free, days):
    return DatedStock(free, None if days is None else ON + timedelta(days=days - 1))


def test_one_lot_alone_is_the_plain_sum():
    [found] = losses([lot(9, 30)], ON, Fraction(1, 5))
    assert (found.mean, found.expected, found.chance) == (6.0, expected_write_off(9, 6), chance_of_any(9, 6))


def test_lots_in_line_as_every_outcome_counted_one_by_one():
    frees, means, most = (3, 2, 4), ("1.5", "1", "2.5"), 28
    terms = [[float(one) for one in chances(mean, most)] for mean in means]
    left = [0.0, 0.0, 0.0]
    for demands in product(range(most + 1), repeat=3):
        weight, over = terms[0][demands[0]] * terms[1][demands[1]] * terms[2][demands[2]], 0
        for at, demand in enumerate(demands):
            left[at] += weight * max(0, frees[at] - demand - over)
            over = max(0, demand + over - frees[at])
    found = losses([lot(3, 3), lot(2, 5), lot(4, 10)], ON, Fraction(1, 2))
    assert [one.mean for one in found] == [1.5, 1.0, 2.5]
    assert [one.expected for one in found] == pytest.approx(left, abs=1e-9)


def test_what_stands_in_line_before_it_makes_a_lot_lose_more():
    [alone] = losses([lot(6, 40)], ON, Fraction(1, 5))
    before, behind = losses([lot(5, 20), lot(6, 40)], ON, Fraction(1, 5))
    assert behind.expected > alone.expected
    # Two lots of one day are one lot.
    both = losses([lot(5, 40), lot(6, 40)], ON, Fraction(1, 5))
    assert sum(one.expected for one in both) == pytest.approx(losses([lot(11, 40)], ON, Fraction(1, 5))[0].expected)
    assert before.expected == pytest.approx(expected_write_off(5, 4))


def test_without_a_date_or_past_it_all_is_lost_and_serves_nobody():
    found = losses([lot(7, None), lot(2, 0), lot(9, 30)], ON, Fraction(1, 5))
    assert [(one.expected, one.chance) for one in found[:2]] == [(7.0, 1.0), (2.0, 1.0)]
    assert found[2].expected == expected_write_off(9, 6)
    assert losses([lot(0, None)], ON, Fraction(0))[0].chance == 0


def test_what_is_held_is_part_of_the_use_that_is_expected():
    # 6 are expected in thirty days and 4 are held for a day among them: 2 more are expected. Held for later: not yet.
    held = [(ON + timedelta(days=10), 4)]
    assert losses([lot(9, 30)], ON, Fraction(1, 5), held)[0].expected == expected_write_off(9, 2)
    assert losses([lot(9, 9)], ON, Fraction(1, 5), held)[0].mean == pytest.approx(1.8)
    assert losses([lot(9, 30)], ON, Fraction(1, 5), [(ON, 50)])[0].expected == 9
