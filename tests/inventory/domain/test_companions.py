"""Companions: part and companion together or neither, on the finished list."""

from itertools import product

from hypothesis import example, given
from hypothesis import strategies as st

from inventory.domain.companions import NO_BANK, Companion, alone, differing

#: Ten bolts of one kind go with the gasket of that kind, both ways round (worked example of the demo shop, other names).
RULES = (
    Companion("new gasket", "new bolt", 10),
    Companion("new bolt", "new gasket", 1),
    Companion("old gasket", "old bolt", 10),
    Companion("old bolt", "old gasket", 1),
)


def broken(amounts):
    return [(one.rule.part, one.rule.needs, one.there) for one in alone(RULES, {NO_BANK: amounts})]


def test_pairs_that_belong_together_pass():
    assert broken({"new gasket": 1, "new bolt": 10, "washer": 3}) == []
    assert broken({"old gasket": 1, "old bolt": 10}) == []
    assert broken({}) == []


def test_a_wrong_pair_is_named_with_the_right_ones():
    found = alone(RULES, {NO_BANK: {"new gasket": 1, "old bolt": 10}})
    assert [one.sentence for one in found] == [
        "new gasket goes only with 10 of new bolt; none is there",
        "old bolt goes only with 1 of old gasket; none is there",
    ]
    assert found[0].pairs == (
        "new bolt with 1 of new gasket",
        "new gasket with 10 of new bolt",
        "old bolt with 1 of old gasket",
        "old gasket with 10 of old bolt",
    )


def test_enough_passes_and_one_less_does_not():
    assert broken({"new gasket": 1, "new bolt": 9}) == [("new gasket", "new bolt", 9)]
    assert broken({"new gasket": 1, "new bolt": 11}) == []


def test_an_alternative_that_brings_too_little_is_asked_about():
    groups = {
        "head-joint new": {NO_BANK: {"new gasket": 1, "new bolt": 8}},
        "head-joint old": {NO_BANK: {"old gasket": 1, "old bolt": 10}},
    }
    assert differing(RULES, groups) == (
        "head-joint new: new gasket goes only with 10 of new bolt; 8 are there, by the notice of its replacement",
    )


parts = st.sampled_from(["a", "b", "c", "d"])
banks = st.sampled_from([NO_BANK, "LEFT", "RIGHT"])
amounts_of = st.dictionaries(banks, st.dictionaries(parts, st.integers(0, 4)))


def test_each_bank_has_its_own():
    # Two heads of a V engine, ten bolts each: twenty bolts on the one are none on the other.
    rule = Companion("gasket", "bolt", 10)
    on_left = {"LEFT": {"gasket": 1, "bolt": 20}, "RIGHT": {"gasket": 1, "bolt": 4}}
    (found,) = alone([rule], on_left)
    assert (found.bank, found.there) == ("RIGHT", 4)
    assert found.sentence == "gasket goes only with 10 of bolt on RIGHT; 4 are there"
    assert alone([rule], {"LEFT": {"gasket": 1, "bolt": 10}, "RIGHT": {"bolt": 4}}) == ()
    # A notice that speaks of the engine counts over both; what stands in no bank serves one bank, not both.
    assert alone([Companion("gasket", "bolt", 10, on_engine=True)], on_left) == ()
    assert alone([rule], on_left | {NO_BANK: {"bolt": 6}}) == ()
    both = {"LEFT": {"gasket": 1}, "RIGHT": {"gasket": 1}, NO_BANK: {"bolt": 10}}
    assert [(one.bank, one.there) for one in alone([rule], both)] == [("RIGHT", 0)]
    # A part that stands in no bank itself takes its companions from anywhere.
    assert alone([rule], {NO_BANK: {"gasket": 1}, "LEFT": {"bolt": 5}, "RIGHT": {"bolt": 5}}) == ()


def could_be_served(rule, amounts):
    """Whether the pieces that stand in no bank can be dealt out so that every bank with the part has enough, one by one."""
    has = [bank for bank, there in amounts.items() if there.get(rule.part, 0) > 0]
    every = sum(there.get(rule.needs, 0) for there in amounts.values())
    if rule.on_engine or NO_BANK in has:
        return not has or every >= rule.pieces
    shared = amounts.get(NO_BANK, {}).get(rule.needs, 0)
    return any(
        all(amounts[bank].get(rule.needs, 0) + dealt.count(bank) >= rule.pieces for bank in has)
        for dealt in product(has or [NO_BANK], repeat=shared)
    )


@given(st.lists(st.builds(Companion, parts, parts, st.integers(1, 3), st.booleans()), max_size=4), amounts_of)
@example(rules=[Companion("b", "c", 1), Companion("b", "c", 2)], amounts={NO_BANK: {"b": 1}})
@example(rules=[Companion("a", "b", 2)], amounts={"LEFT": {"a": 1}, "RIGHT": {"a": 1}, NO_BANK: {"b": 3}})
def test_it_is_every_rule_that_a_reader_finds_broken(rules, amounts):
    found = alone(rules, amounts)
    assert {one.rule for one in found} == {rule for rule in rules if not could_be_served(rule, amounts)}
    assert found == alone(reversed(rules), amounts)
