"""Conditions without "not", and the rules run to rest: against a twin that knows no order, with the chains of reasons."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.families import parse_family
from kits.domain.findings import Finding, Leaf, check_finding, close_findings, codes_in, evaluate, parse_condition
from tests.factories.engines import family, family_document, findings

FAMILY = family()
ALL = [Finding(code.code, place) for code in FAMILY.findings.values() for place in FAMILY.map.places(code.scope)]
some_findings = st.lists(st.sampled_from(ALL), max_size=6)


def close(said, its=FAMILY, opened=()):
    return close_findings(its.map, its.findings, its.rules, said, opened)


def twin(said, its=FAMILY):
    """All findings that are true: apply every rule to everything, without any order, until nothing is new."""
    true = set(said)
    while True:
        new = {
            Finding(target, place)
            for rule in its.rules
            for target in rule.targets
            for source in true
            if source.code == rule.source
            for place in its.map.places(its.findings[target].scope) if its.findings[target].scope != "position" or place == source.place
            if its.map.contains(place, source.place) or its.map.contains(source.place, place)
        }  # fmt: skip
        if new <= true:
            return true
        true |= new


def test_a_chosen_cylinder_brings_what_a_lifted_liner_needs():
    closure = close(findings("chosen@CYL-3"))
    assert set(closure.origins) == set(
        findings(
            "chosen@CYL-3", "lifted@CYL-3", "head-off@BANK-RIGHT", "parted@CYL-3", "sump-off@ENGINE", "drained@ENGINE"
        )
    )
    assert closure.chain(Finding("drained", "ENGINE")) == (
        "cylinder chosen (CYL-3)",
        "liner lifted (CYL-3): a chosen set is lifted",
        "sump off: a liner comes out upwards",
        "oil drained: the sump comes off drained",
    )


def test_a_wider_finding_reaches_all_narrower_places():
    closure = close(findings("cam-worn@ENGINE"))
    assert closure.places("lifter-bad") == tuple(f"VALVE-{n}" for n in range(1, 9))


def test_what_an_operation_opens_is_said_in_the_chain_and_a_recorded_finding_goes_first():
    closure = close([], opened=[("sump-off", "T3")])
    assert closure.chain(Finding("sump-off", "ENGINE")) == ("T3 booked", "sump off")
    closure = close(findings("sump-off@ENGINE"), opened=[("sump-off", "T3")])
    assert closure.chain(Finding("sump-off", "ENGINE")) == ("sump off",)


@settings(max_examples=150, deadline=None)
@given(some_findings)
def test_the_fixed_point_is_what_the_twin_says(said):
    assert set(close(said).origins) == twin(said)


@settings(max_examples=60, deadline=None)
@given(some_findings, st.randoms(use_true_random=False))
def test_order_and_repetition_do_not_matter_not_even_for_the_reasons(said, random):
    shuffled = said + said[:1]
    random.shuffle(shuffled)
    assert close(said) == close(shuffled)


@settings(max_examples=60, deadline=None)
@given(some_findings, st.sampled_from(ALL))
def test_one_finding_more_never_takes_one_away(said, more):
    assert set(close(said).origins) <= set(close([*said, more]).origins)


@settings(max_examples=60, deadline=None)
@given(some_findings)
def test_every_chain_ends_in_its_finding_and_begins_with_something_recorded(said):
    closure = close(said)
    for finding, origin in closure.origins.items():
        chain = closure.chain(finding)
        assert len(chain) == origin.depth + 1
        assert FAMILY.findings[finding.code].text in chain[-1]
        if origin.depth:
            assert origin.source in closure


def test_rules_that_feed_each_other_come_to_rest():
    document = family_document()
    document["rules"] = [
        {"if": "chosen", "then": ["sump-off"], "text": "up"},
        {"if": "sump-off", "then": ["chosen"], "text": "down"},
    ]
    its = parse_family(document)
    assert set(close(findings("chosen@CYL-1"), its).origins) == set(
        findings("sump-off@ENGINE", "chosen@CYL-1", "chosen@CYL-2", "chosen@CYL-3", "chosen@CYL-4")
    )


def test_conditions_see_the_place_the_holder_or_the_whole_engine():
    closure = close(findings("low@CYL-2", "bolt-bad@SUMP/bolt-03"))

    def holds(condition, position):
        return evaluate(parse_condition(condition, FAMILY.findings), position, closure, FAMILY.map)

    low = Finding("low", "CYL-2")
    assert holds({"finding": "low"}, "CYL-2/shim") == (low,)
    assert holds({"finding": "low", "at": "same"}, "ROD-2/shells") == (low,)
    assert holds({"finding": "low", "at": "same"}, "CYL-1/shim") is None
    assert holds({"finding": "low", "at": "same"}, "SUMP/bead") is None
    assert holds({"finding": "low", "at": "any"}, "SUMP/bead") == (low,)
    assert holds({"finding": "bolt-bad", "at": "same"}, "SUMP/bolt-03") == tuple(findings("bolt-bad@SUMP/bolt-03"))
    assert holds({"finding": "bolt-bad", "at": "same"}, "SUMP/bolt-04") is None
    both = {"all": [{"finding": "low", "at": "any"}, {"finding": "bolt-bad", "at": "any"}]}
    assert holds(both, "OIL/fill") == tuple(findings("low@CYL-2", "bolt-bad@SUMP/bolt-03"))
    assert holds({"all": [both, {"finding": "chosen", "at": "any"}]}, "OIL/fill") is None
    assert holds({"any": [both, {"finding": "chosen", "at": "any"}]}, "OIL/fill") is not None
    assert evaluate(None, "OIL/fill", closure, FAMILY.map) == ()


conditions = st.recursive(
    st.builds(lambda code, at: {"finding": code, "at": at}, st.sampled_from(sorted(FAMILY.findings)), st.sampled_from(["same", "any"])),
    lambda inner: st.builds(lambda word, parts: {word: parts}, st.sampled_from(["all", "any"]), st.lists(inner, min_size=1, max_size=3)),
    max_leaves=6,
)  # fmt: skip


def shallow(condition, levels=6):
    parts = condition.get("all") or condition.get("any") or []
    return levels > 0 and all(shallow(part, levels - 1) for part in parts)


@settings(max_examples=80, deadline=None)
@given(
    conditions.filter(shallow),
    some_findings,
    st.sampled_from(ALL),
    st.sampled_from([p.name for p in FAMILY.map.positions]),
)
def test_a_condition_once_true_stays_true_whatever_is_found_besides(condition, said, more, position):
    parsed = parse_condition(condition, FAMILY.findings)
    before = evaluate(parsed, position, close(said), FAMILY.map)
    after = evaluate(parsed, position, close([*said, more]), FAMILY.map)
    assert before is None or (after is not None and set(before) <= set(after))


@pytest.mark.parametrize(
    "condition",
    [
        "lifted", None, [], {}, {"all": []}, {"any": []}, {"not": {"finding": "low"}}, {"finding": "low", "not": True},
        {"all": [{"none": [{"finding": "low"}]}]}, {"finding": "low", "at": "elsewhere"}, {"finding": 3}, {"at": "same"},
        {"all": [{"finding": "low"}], "any": [{"finding": "low"}]}, {"all": {"finding": "low"}}, {1: 2},
        {"any": [{"finding": "low"}] * 41},
    ],
)  # fmt: skip
def test_other_conditions_are_refused(condition):
    with pytest.raises(DomainError) as caught:
        parse_condition(condition, FAMILY.findings)
    assert caught.value.code == "condition-unreadable"


def test_a_condition_a_thousand_levels_deep_is_refused_and_not_followed():
    deep = {"finding": "low"}
    for _ in range(1000):
        deep = {"all": [deep]}
    with pytest.raises(DomainError) as caught:
        parse_condition(deep, FAMILY.findings)
    assert caught.value.code == "condition-unreadable"


def test_an_unknown_code_is_refused_at_entry():
    with pytest.raises(DomainError) as caught:
        parse_condition({"any": [{"finding": "low"}, {"finding": "lost"}]}, FAMILY.findings)
    assert (caught.value.code, caught.value.values) == ("finding-unknown", {"finding": "lost"})
    with pytest.raises(DomainError) as caught:
        parse_condition({"finding": "lifed"}, FAMILY.findings)
    assert caught.value.ways_out[0] == "Is it lifted?"
    with pytest.raises(DomainError) as caught:
        parse_condition({"finding": "zzz"}, FAMILY.findings)
    assert caught.value.ways_out == (f"The family knows {', '.join(sorted(FAMILY.findings))}.",)
    assert codes_in(parse_condition({"any": [{"finding": "low"}, {"finding": "lifted"}]}, FAMILY.findings)) == {
        "low",
        "lifted",
    }
    assert parse_condition({"finding": "low"}, FAMILY.findings) == Leaf("low", anywhere=False)


@pytest.mark.parametrize(
    ("finding", "code"),
    [("lost@CYL-1", "finding-unknown"), ("low@ENGINE", "finding-place-wrong"), ("low@CYL-9", "finding-place-wrong"),
     ("head-off@ENGINE", "finding-place-wrong"), ("bolt-bad@CYL-1", "finding-place-wrong")],
)  # fmt: skip
def test_a_finding_at_a_wrong_place_is_refused(finding, code):
    with pytest.raises(DomainError) as caught:
        check_finding(findings(finding)[0], FAMILY.findings, FAMILY.map)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("rule", "detail"),
    [
        ({"if": "lost", "then": ["low"]}, "unknown finding code 'lost'"),
        ({"if": "low", "then": ["lost"]}, "unknown finding code 'lost'"),
        ({"if": "low", "then": []}, "'then' must be a list with one entry at least"),
        ({"if": "low", "then": ["drained"], "unless": "ground"}, "unknown key 'unless'"),
        ({"if": "low", "removes": ["drained"], "then": ["parted"]}, "unknown key 'removes'"),
        (
            {"if": "cam-worn", "then": ["bolt-bad"]},
            "'bolt-bad' happens at a single position: a rule cannot say at which",
        ),
    ],
)
def test_a_rule_that_subtracts_or_does_not_know_its_codes_is_refused(rule, detail):
    document = family_document()
    document["rules"].append(rule)
    with pytest.raises(DomainError) as caught:
        parse_family(document)
    assert caught.value.values["problems"] == [{"where": "rule 7", "detail": detail}]


def test_a_rule_between_places_that_do_not_hold_one_another_is_refused():
    document = family_document()
    document["findings"].append({"code": "cap-off", "scope": "main", "text": "cap off"})
    document["rules"].append({"if": "cap-off", "then": ["parted"]})
    with pytest.raises(DomainError) as caught:
        parse_family(document)
    assert [one["where"] for one in caught.value.values["problems"]] == ["rule 7"]
    pairs = itertools.product(("engine", "bank", "cylinder", "valve", "main", "position"), repeat=2)
    apart = {pair for pair in pairs if not FAMILY.map.comparable(*pair)}
    assert apart == {
        (a, b) for a, b in itertools.permutations(("bank", "cylinder", "valve", "main"), 2) if "main" in (a, b)
    }
