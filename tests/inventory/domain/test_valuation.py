"""What stock is worth and what jobs cost: worked examples, and the sum that must hold whatever happens."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.cost_pools import Method
from inventory.domain.places import PlaceKind as Kind
from inventory.domain.valuation import Books, End, Invoice, Step, valued

_ENDS = {kind: End(at, at, kind) for at, kind in enumerate(Kind, 1)}
SHELF, SELLER, BENCH, ENGINE = (_ENDS[k] for k in (Kind.SHELF, Kind.SUPPLIER, Kind.BENCH, Kind.ENGINE))
CONVERSION, DIFFERENCE, SCRAP, ASIDE = (
    _ENDS[k] for k in (Kind.CONVERSION, Kind.COUNT_DIFFERENCE, Kind.SCRAP, Kind.QUARANTINE)
)
NORTH = End(90, 90, Kind.SHELF, "N")


def step(amount: int, origin: End, target: End, *, item: int = 1, act: int = 1, **more: Any) -> Step:
    return Step(act, item, more.pop("key", item), amount, origin, target, **more)


def came(amount: int, coins: int | None, line: int = 1, **more: Any) -> list[Step]:
    return [step(amount, SELLER, SHELF, coins=coins, line=line, **more)]


def adds_up(books: Books) -> bool:
    out = books.in_stock + books.at_jobs + sum(books.gone.values()) + books.difference
    return books.came_in + books.counted_over == out


def test_the_worked_average_with_the_job_that_was_charged() -> None:
    """Worked example of the demo shop (invented)."""
    books = valued(
        Method.AVERAGE,
        [
            came(10, 4000, 1),
            came(20, 9200, 2),
            [step(12, SHELF, BENCH)],
            [step(2, BENCH, SHELF)],
            came(6, 3000, 3),
        ],
    )
    worth = books.worth()[1]
    assert (worth.amount, worth.coins, worth.each) == (26, 11800, Fraction(11800, 26))
    assert [(entry.coins, entry.amount) for entry in books.entries[2:4]] == [(5280, 12), (880, 2)]
    assert books.at_jobs == 4400
    assert adds_up(books)


def test_a_set_has_its_own_cost_whatever_the_others_cost() -> None:
    books = valued(
        Method.AVERAGE,
        [
            came(1, 9000, 1, item=1, single=True),
            came(1, 9900, 2, item=2, single=True),
            [step(1, SHELF, BENCH, item=2, single=True)],
            [step(1, BENCH, ENGINE, item=2, single=True)],
        ],
    )
    assert books.entries[2].coins == 9900
    assert (books.in_stock, books.gone[Kind.ENGINE], adds_up(books)) == (9000, 9900, True)


def test_what_was_in_an_engine_is_worth_nothing_and_does_not_thin_the_average() -> None:
    books = valued(
        Method.AVERAGE,
        [
            came(10, 1000),
            [step(4, ENGINE, BENCH)],
            [step(4, BENCH, ASIDE)],
            [step(2, SHELF, ASIDE)],
            [step(3, ASIDE, SCRAP)],  # old ones go first
            [step(2, ASIDE, SHELF)],  # and never to a shelf
        ],
    )
    worth = books.worth()[1]
    assert (worth.amount, worth.coins) == (10, 1000)
    assert books.gone[Kind.SCRAP] == 0


@pytest.mark.parametrize(("method", "job"), [(Method.AVERAGE, 6), (Method.FIRST_IN, 6)])
def test_a_late_invoice_is_a_difference_and_no_rewrite(method: Method, job: int) -> None:
    books = valued(method, [came(10, 1000), [step(6, SHELF, BENCH)], Invoice(3, 1, 1200), [step(4, SHELF, BENCH)]])
    (said,) = books.differences
    assert (said.was, said.coins, said.on_hand, said.gone) == (1000, 1200, 80, 120)
    assert [entry.coins for entry in books.entries] == [1000, 600, 480]
    assert (books.difference, adds_up(books)) == (120, True)


def test_without_a_cost_it_is_in_suspense_until_the_invoice() -> None:
    books = valued(Method.AVERAGE, [came(10, None), came(5, 0, 2), [step(4, SHELF, BENCH)]])
    worth = books.worth()[1]
    assert (worth.amount, worth.coins, worth.unknown, worth.each) == (11, 0, 11, None)
    assert (books.entries[-1].coins, books.entries[-1].unknown) == (0, 4)
    said = books.invoice(Invoice(9, 1, 1000))
    assert (said.was, said.on_hand, said.gone) == (None, 600, 400)
    assert (books.worth()[1].coins, books.worth()[1].unknown, adds_up(books)) == (600, 5, True)


def test_opening_a_kit_carries_its_cost_over_to_the_coin() -> None:
    opened = [
        step(1, SHELF, CONVERSION, item=1),
        step(2, CONVERSION, SHELF, item=2, weight=2 * 310),
        step(1, CONVERSION, SHELF, item=3, weight=650),
        step(8, CONVERSION, SHELF, item=4, weight=8 * 240),
    ]
    books = valued(Method.AVERAGE, [came(1, 6200), opened])
    # exact shares 1205.01…, 1263.32…, 3731.66…: the coin left over goes to the largest remainder
    assert [books.worth()[item].coins for item in (2, 3, 4)] == [1205, 1263, 3732]
    assert (books.in_stock, adds_up(books)) == (6200, True)


def test_old_members_stay_old_and_what_is_in_suspense_stays_there() -> None:
    parts = [step(1, CONVERSION, ASIDE, item=item, single=True) for item in (2, 3)]
    old = valued(
        Method.AVERAGE, [[step(1, ENGINE, ASIDE, single=True)], [step(1, ASIDE, CONVERSION, single=True), *parts]]
    )
    assert (old.worth(), old.in_stock) == ({}, 0)
    waiting = valued(Method.AVERAGE, [came(1, None, single=True), [step(1, SHELF, CONVERSION, single=True), *parts]])
    assert {item: worth.unknown for item, worth in waiting.worth().items()} == {2: 1, 3: 1}


def test_a_count_takes_and_brings_at_what_one_costs() -> None:
    books = valued(Method.AVERAGE, [came(10, 1001), [step(4, SHELF, DIFFERENCE)], [step(2, DIFFERENCE, SHELF)]])
    # 4 of 10 for 1001: 400; 601 for 6 left: 2 more at 100 1/6 each are 200
    assert (books.gone[Kind.COUNT_DIFFERENCE], books.counted_over, books.in_stock) == (400, 200, 801)
    one = valued(
        Method.AVERAGE,
        [
            came(1, 9000, single=True),
            [step(1, SHELF, DIFFERENCE, single=True)],
            [step(1, DIFFERENCE, SHELF, single=True)],
        ],
    )
    assert (one.in_stock, adds_up(one)) == (9000, True)
    taken_over = valued(Method.AVERAGE, [[step(3, DIFFERENCE, SHELF, coins=700)]])
    assert (taken_over.came_in, taken_over.worth()[1].each) == (700, Fraction(700, 3))


def test_sites_share_one_pool_by_what_lies_there() -> None:
    books = valued(Method.AVERAGE, [came(3, 1000), [step(1, SHELF, NORTH)]])
    assert books.worth()[1].by_site == {"": (2, 667), "N": (1, 333)}


MOVES = st.tuples(st.sampled_from(sorted(Kind)), st.sampled_from(sorted(Kind)), st.integers(1, 3), st.integers(1, 9))


@given(
    st.sampled_from(Method),
    st.lists(st.one_of(MOVES, st.tuples(st.none() | st.integers(0, 3000), st.integers(1, 9))), max_size=40),
)
def test_in_equals_out_and_on_hand_to_the_coin_whatever_happens(method: Method, what: list[tuple[Any, ...]]) -> None:
    books, lines = Books(method), 0
    for at, one in enumerate(what, 1):
        if len(one) == 2:
            lines += 1
            books.do(came(one[1], one[0], lines, act=at))
            if lines % 3 == 0:
                books.invoice(Invoice(at, lines - 1, 777))
        elif one[0] is not one[1] and one[0] is not Kind.SUPPLIER:
            origin, target, item, amount = _ENDS[one[0]], _ENDS[one[1]], one[2], one[3]
            if Kind.CONVERSION in (one[0], one[1]):
                books.do(
                    [
                        step(amount, SHELF, CONVERSION, item=item, act=at),
                        step(1, CONVERSION, BENCH, item=5, act=at),
                        step(2, CONVERSION, SHELF, item=6, act=at),
                    ]
                )
            else:
                books.do([step(amount, origin, target, item=item, act=at)])
        assert adds_up(books)
