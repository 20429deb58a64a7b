"""Companions: part and companion together or neither, on the finished list."""

from hypothesis import example, given
from hypothesis import strategies as st

from inventory.domain.companions import Companion, alone, differing

#: Ten bolts of one kind go with the gasket of that kind, both ways round (worked example of the demo shop, other names).
RULES = (
    Companion("new gasket", "new bolt", 10),
    Companion("new bolt", "new gasket", 1),
    Companion("old gasket", "old bolt", 10),
    Companion("old bolt", "old gasket", 1),
)


def broken(amounts):
    return [(one.rule.part, one.rule.needs, one.there) for one in alone(RULES, amounts)]


def test_pairs_that_belong_together_pass():
    assert broken({"new gasket": 1, "new bolt": 10, "washer": 3}) == []
    assert broken({"old gasket": 1, "old bolt": 10}) == []
    assert broken({}) == []


def test_a_wrong_pair_is_named_with_the_right_ones():
    found = alone(RULES, {"new gasket": 1, "old bolt": 10})
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
        "head-joint new": {"new gasket": 1, "new bolt": 8},
        "head-joint old": {"old gasket": 1, "old bolt": 10},
    }
    assert differing(RULES, groups) == (
        "head-joint new: new gasket goes only with 10 of new bolt; 8 are there, by the notice of its replacement",
    )


parts = st.sampled_from(["a", "b", "c", "d"])
rules_of = st.lists(st.builds(Companion, parts, parts, st.integers(1, 3)))


@given(rules_of, st.dictionaries(parts, st.integers(0, 4)))
@example(rules=[Companion("b", "c", 1), Companion("b", "c", 2)], amounts={"b": 1})
def test_it_is_every_rule_that_a_reader_finds_broken(rules, amounts):
    expected = set()
    for rule in rules:
        pieces = [part for part, count in amounts.items() for _ in range(count)]
        if rule.part in pieces and pieces.count(rule.needs) < rule.pieces:
            expected.add(rule)
    assert {one.rule for one in alone(rules, amounts)} == expected
    assert [one.rule for one in alone(rules, amounts)] == [one.rule for one in alone(reversed(rules), amounts)]
