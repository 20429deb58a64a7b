"""One family for each bank: worked by hand, and against a twin that gives every bank every family."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.supersession import BothWays, Link, OneWay
from inventory.domain.supersession_choice import Families, choose_by_place

#: OLD may not stand with NEW on one bank; NEW and TWIN may.
LINKS: list[Link] = [OneWay("OLD", "NEW", no_mix_on="bank"), BothWays("NEW", "TWIN")]
LEFT, RIGHT = "LEFT", "RIGHT"


def issued(pieces: dict[str, int], stock: dict[str, int], already: dict[str, tuple[str, ...]] | None = None) -> object:
    return {bank: one.issue for bank, one in choose_by_place("OLD", pieces, LINKS, stock, already or {}).items()}


def test_each_bank_gets_one_kind_where_no_kind_serves_both() -> None:
    both = {LEFT: 9, RIGHT: 9}
    assert issued(both, {"OLD": 10, "NEW": 5, "TWIN": 4}) == {LEFT: (("OLD", 9),), RIGHT: (("NEW", 5), ("TWIN", 4))}
    # Ten of the old and eight of the new: one bank is whole, of the other nothing is half done.
    assert issued(both, {"OLD": 10, "NEW": 8}) == {LEFT: (("OLD", 9),)}
    assert issued(both, {"OLD": 8, "NEW": 8}) == {}


def test_what_sits_on_a_bank_binds_that_bank_only() -> None:
    both = {LEFT: 2, RIGHT: 2}
    stock = {"OLD": 9, "NEW": 2}
    assert issued(both, stock, {LEFT: ("TWIN",)}) == {LEFT: (("NEW", 2),), RIGHT: (("OLD", 2),)}
    assert issued(both, stock, {LEFT: ("OLD",), RIGHT: ("NEW",)}) == {LEFT: (("OLD", 2),), RIGHT: (("NEW", 2),)}
    assert issued(both, stock, {LEFT: ("NEW", "OLD")}) == {RIGHT: (("OLD", 2),)}


def test_a_bank_that_could_have_either_leaves_the_one_to_the_bank_that_cannot() -> None:
    # The left bank could have the old ones, and then the right one, which takes no new ones, would have none.
    stock = {"OLD": 2, "NEW": 2}
    assert issued({LEFT: 2, RIGHT: 2}, stock, {RIGHT: ("OLD",)}) == {LEFT: (("NEW", 2),), RIGHT: (("OLD", 2),)}


def test_only_what_goes_piece_for_piece_is_taken() -> None:
    links: list[Link] = [OneWay("OLD", "NEW", Fraction(2), no_mix_on="bank")]
    assert choose_by_place("OLD", {LEFT: 2}, links, {"NEW": 99}, {}) == {}


KINDS = ("A", "B", "C", "D")
#: Which of the four are one kind: numbers of the families.
_FAMILIES = st.tuples(*[st.integers(0, 3)] * 4)


@settings(max_examples=300, deadline=None)
@given(
    families=_FAMILIES,
    stock=st.tuples(*[st.integers(0, 6)] * 4),
    pieces=st.lists(st.integers(1, 5), min_size=1, max_size=3),
    sits=st.lists(st.none() | st.sampled_from(KINDS), min_size=3, max_size=3),
)
def test_as_many_banks_as_can_be_and_never_two_kinds_on_one(
    families: tuple[int, ...], stock: tuple[int, ...], pieces: list[int], sits: list[str | None]
) -> None:
    links: list[Link] = [
        BothWays(one, other, no_mix_on="" if families[at] == families[at + 1 + more] else "bank")
        for at, one in enumerate(KINDS)
        for more, other in enumerate(KINDS[at + 1 :])
    ]
    banks = {f"bank {at}": count for at, count in enumerate(pieces)}
    already = {bank: (sit,) for bank, sit in zip(banks, sits, strict=False) if sit}
    there = dict(zip(KINDS, stock, strict=True))
    found = choose_by_place("A", banks, links, there, already)
    kinds = Families(links)
    used = dict.fromkeys(KINDS, 0)
    for bank, choice in found.items():
        assert sum(count for _, count in choice.issue) == banks[bank]
        on_it = [number for number, _ in choice.issue] + list(already.get(bank, ()))
        assert not any(kinds.apart(one, other) for one in on_it for other in on_it)
        for number, count in choice.issue:
            used[number] += count
    assert all(used[number] <= there[number] for number in KINDS)
    # The twin: every bank is given every family, or nothing; what fits the stock is counted.
    has: dict[int, int] = {}
    for family, count in zip(families, stock, strict=True):
        has[family] = has.get(family, 0) + count
    most = 0
    for given_ in product([None, *sorted(set(families))], repeat=len(banks)):
        wants: dict[int, int] = {}
        allowed = True
        for (bank, count), family in zip(banks.items(), given_, strict=True):
            if family is not None:
                wants[family] = wants.get(family, 0) + count
                allowed &= all(families[KINDS.index(sit)] == family for sit in already.get(bank, ()))
        if allowed and all(count <= has[family] for family, count in wants.items()):
            most = max(most, sum(family is not None for family in given_))
    assert len(found) == most
