"""Stock value carried forward: whatever happens, going on from a moment comes to the same, to the coin, as going over everything."""

import json
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.carried import (
    all_that_feed,
    as_differences,
    books_with,
    changed,
    differences_of,
    items_in,
    newest_good,
    parts_of,
    sums_of,
)
from inventory.domain.cost_pools import Method
from inventory.domain.places import PlaceKind as Kind
from inventory.domain.valuation import Books, End, Invoice, Step, gone_on, valued

ENDS = {kind: End(at, 10 + at, kind, "N" if at % 2 else "S") for at, kind in enumerate(sorted(Kind), 1)}
SHELF, CONVERSION, BENCH = (ENDS[kind] for kind in (Kind.SHELF, Kind.CONVERSION, Kind.BENCH))
#: Items 1 and 2 are lots of part 7, 3 and 4 have a number of their own; part 9 is what comes out of conversions.
PART_OF = {1: 7, 2: 7, 3: 8, 4: 8, 5: 9}


def step(act: int, amount: int, origin: End, target: End, item: int, **more: Any) -> Step:
    single = item in (3, 4)
    key = ("item", item) if single else ("part", PART_OF[item], "piece")
    return Step(act, item, key, 1 if single else amount, origin, target, single=single, **more)


KINDS = st.sampled_from([kind for kind in sorted(Kind) if kind not in (Kind.CONVERSION, Kind.SUPPLIER)])
DELIVERED = st.tuples(st.just("came"), st.none() | st.integers(0, 3000), st.integers(1, 4), st.integers(1, 9))
MOVED = st.tuples(KINDS, KINDS, st.integers(1, 4), st.integers(1, 9))
CONVERTED = st.tuples(st.just("made"), st.none(), st.integers(1, 4), st.integers(1, 9))
CHARGED = st.tuples(st.just("invoice"), st.integers(0, 5000), st.integers(0, 8), st.none())


def happened(what: list[tuple[Any, ...]]) -> tuple[list[list[Step] | Invoice], dict[int, Step]]:
    """Acts in their order, and the steps by which the lines of deliveries came."""
    acts: list[list[Step] | Invoice] = []
    lines: dict[int, Step] = {}
    for act, (first, second, third, amount) in enumerate(what, 1):
        if first == "came":
            one = step(act, amount, ENDS[Kind.SUPPLIER], SHELF, third, coins=second, line=act)
            lines[act] = one
            acts.append([one])
        elif first == "invoice":
            if lines:
                acts.append(Invoice(act, sorted(lines)[third % len(lines)], second))
        elif first == "made":
            acts.append([step(act, amount, SHELF, CONVERSION, third), step(act, 2, CONVERSION, SHELF, 5)])
        elif first is not second:
            acts.append([step(act, amount, ENDS[first], ENDS[second], third)])
    return acts, lines


def written(books: Books) -> Any:
    """Everything that is carried, as it is kept and read again."""
    return json.loads(json.dumps([parts_of(books, PART_OF), sums_of(books), differences_of(books)]))


@given(
    st.sampled_from(Method),
    st.lists(st.one_of(MOVED, DELIVERED, CONVERTED, CHARGED), max_size=40),
    st.integers(0, 40),
)
def test_going_on_is_the_same_as_going_over_everything(method: Method, what: list[tuple[Any, ...]], cut: int) -> None:
    acts, lines = happened(what)
    whole, before = valued(method, acts), valued(method, acts[:cut])
    kept, sums, told = written(before)
    assert {item for part in kept.values() for item in items_in(part)} <= PART_OF.keys()
    books = books_with(method, sums, kept.values())
    charged = {one.line: one.coins for one in acts[:cut] if isinstance(one, Invoice)}
    for line, came in lines.items():
        if line <= cut or any(came in act for act in acts[:cut] if not isinstance(act, Invoice)):
            books.knows(line, came.key, came.amount, charged.get(line, came.coins or None))
    gone_on(books, acts[cut:])
    parts, after, differences = written(whole)
    assert written(books)[:2] == [parts, after]
    assert told + written(books)[2] == differences
    assert as_differences(differences) == whole.differences
    assert [*before.entries, *books.entries] == whole.entries
    assert books.worth() == whole.worth()


def test_nothing_is_kept_of_what_is_used_up() -> None:
    books = valued(
        Method.FIRST_IN,
        [
            [step(1, 4, ENDS[Kind.SUPPLIER], SHELF, 1, coins=400, line=1)],
            [step(2, 4, SHELF, BENCH, 1)],
            [step(3, 4, BENCH, ENDS[Kind.ENGINE], 1)],
        ],
    )
    assert (parts_of(books, PART_OF), sums_of(books)["gone"]) == ({}, {Kind.ENGINE.value: 400})
    assert changed({7: {"old": [[1, 1, 2]]}, 8: {}}, {8: {}, 9: {"old": [[1, 5, 2]]}}) == [7, 9]


def test_what_a_cost_comes_from_is_followed_through_every_conversion() -> None:
    conversions: list[tuple[set[Any], set[Any]]] = [({"set"}, {"ring"}), ({"kit"}, {"set", "bolt"}), ({"x"}, {"y"})]
    # The second part of what came out of one act shares its cost.
    conversions.append(({"bolt", "nut"}, {"bag"}))
    assert all_that_feed({"kit"}, conversions) == {"kit", "set", "bolt", "ring", "nut", "bag"}
    assert all_that_feed({"ring"}, conversions) == {"ring"}


def test_the_newest_moment_that_holds_is_found_by_halving() -> None:
    counted = [3, 5, 8, 13, 21, 34, 55]
    for first_wrong in range(len(counted) + 1):
        asked: list[int] = []

        def count(at: int, wrong: int = first_wrong, asked: list[int] = asked) -> int:
            asked.append(at)
            return counted[at] + (at >= wrong)

        assert newest_good(counted, count) == (first_wrong - 1 if first_wrong else None)
        assert len(asked) <= 3
    assert newest_good([], lambda at: 0) is None
