"""Pools of cost: the shop's worked numbers, and a twin that takes piece by piece."""

from collections import deque
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.cost_pools import Method, Pool, Taken


def test_the_worked_average() -> None:
    """Worked example of the demo shop (invented): 10 at 4.00 and 20 at 4.60 are 4.40 each; -12, +2, +6 at 5.00."""
    pool = Pool(Method.AVERAGE)
    pool.put(Taken(4000, 10))
    pool.put(Taken(9200, 20))
    assert pool.each == 440
    assert pool.take(12) == Taken(5280, 12)
    pool.put(Taken(880, 2), back=True)
    pool.put(Taken(3000, 6))
    assert (pool.amount, pool.coins, pool.each) == (26, 11800, Fraction(11800, 26))
    assert f"{float(Fraction(118, 26)):.5f}" == "4.53846"


def test_first_in_first_out_takes_the_oldest_and_what_comes_back_is_the_oldest_again() -> None:
    pool = Pool(Method.FIRST_IN)
    pool.put(Taken(4000, 10))
    pool.put(Taken(9200, 20))
    assert pool.take(12) == Taken(4000 + 920, 12)
    pool.put(Taken(920, 2), back=True)
    pool.put(Taken(3000, 6))
    assert (pool.amount, pool.coins) == (26, 920 + 8280 + 3000)
    assert pool.take(3).coins == 920 + 460


def test_what_has_no_cost_goes_last_and_at_nothing() -> None:
    pool = Pool(Method.AVERAGE)
    pool.put(Taken(unknown=((7, 5),)))
    pool.put(Taken(1000, 10))
    assert (pool.amount, pool.unknown, pool.each) == (15, 5, 100)
    assert pool.take(12) == Taken(1000, 10, ((7, 2),))
    assert (pool.amount, pool.coins, pool.each) == (3, 0, None)


def test_an_invoice_reaches_what_is_still_there() -> None:
    waiting = Pool(Method.AVERAGE)
    waiting.put(Taken(unknown=((7, 5),)))
    waiting.take(2)
    assert (waiting.charge(7, 5, 1000), waiting.coins, waiting.unknown) == (600, 600, 0)
    first_in = Pool(Method.FIRST_IN)
    first_in.put(Taken(1000, 10, line=1))
    first_in.put(Taken(2000, 10, line=2))
    first_in.take(5)
    assert first_in.charge(1, 10, 200) == 100
    assert first_in.take(5).coins == 600
    average = Pool(Method.AVERAGE)
    average.put(Taken(1000, 10, line=1))
    average.take(9)
    assert (average.charge(1, 10, -5000), average.coins) == (-100, 0)  # never below nothing


def test_more_than_there_is_is_owed() -> None:
    pool = Pool(Method.FIRST_IN)
    pool.put(Taken(300, 3))
    assert pool.take(5) == Taken(300, 3, ((None, 2),))
    assert (pool.put(Taken(1000, 4)), pool.amount, pool.coins) == (500, 2, 500)


class Pieces:
    """The twin: every piece lies there with its own coins, the i-th of a delivery with its step of the total."""

    def __init__(self) -> None:
        self.pieces: deque[int] = deque()

    def put(self, coins: int, amount: int) -> None:
        self.pieces.extend(coins * (i + 1) // amount - coins * i // amount for i in range(amount))

    def take(self, amount: int) -> int:
        return sum(self.pieces.popleft() for _ in range(amount))


PUTS = st.tuples(st.just("put"), st.integers(1, 5000), st.integers(1, 12))
TAKES = st.tuples(st.just("take"), st.just(0), st.integers(1, 12))


@given(st.lists(st.one_of(PUTS, TAKES), max_size=30))
def test_piece_by_piece_gives_the_same(steps: list[tuple[str, int, int]]) -> None:
    pool, twin = Pool(Method.FIRST_IN), Pieces()
    for what, coins, amount in steps:
        if what == "put":
            pool.put(Taken(coins, amount))
            twin.put(coins, amount)
        elif amount <= len(twin.pieces):
            assert pool.take(amount).coins == twin.take(amount)
        assert (pool.amount, pool.coins) == (len(twin.pieces), sum(twin.pieces))


@given(st.lists(st.one_of(PUTS, TAKES), max_size=30))
def test_the_average_stays_within_a_coin_of_the_exact_one_at_each_issue(steps: list[tuple[str, int, int]]) -> None:
    pool = Pool(Method.AVERAGE)
    for what, coins, amount in steps:
        if what == "put":
            pool.put(Taken(coins, amount))
        elif amount <= pool.amount and pool.each is not None:
            exact, before = pool.each * amount, pool.coins
            taken = pool.take(amount)
            assert abs(taken.coins - exact) < 1
            assert before == pool.coins + taken.coins
