"""Every house rule holds in the whole tree, passes its good samples and catches each of its bad ones."""

import pytest

from tests.tidy import days, layers, shape
from tests.tidy.rules import Rule, Source, sources

RULES = {rule.name: rule for rule in (*layers.RULES, *days.RULES, *shape.RULES)}
TREE = list(sources())
GOOD = [(rule.name, *sample) for rule in RULES.values() for sample in rule.good]
BAD = [(rule.name, *sample) for rule in RULES.values() for sample in rule.bad]


def faults(rule: Rule, source: Source) -> list[str]:
    """The faults of a file under a rule, as `path:line what`; none where the rule does not apply."""
    if not rule.applies(source.path):
        return []
    return [f"{source.path}:{fault.line} {fault.what}" for fault in rule.check(source)]


@pytest.mark.parametrize("name", RULES)
def test_the_tree_keeps_the_rule(name):
    rule = RULES[name]
    found = "\n".join(fault for source in TREE for fault in faults(rule, source))
    assert not found, f"{name}:\n{found}"
    assert any(rule.applies(source.path) for source in TREE), "the rule looks at no file at all"


@pytest.mark.parametrize(("name", "path", "text"), GOOD)
def test_a_good_sample_passes(name, path, text):
    assert faults(RULES[name], Source(path, text)) == []


@pytest.mark.parametrize(("name", "path", "text"), BAD)
def test_a_bad_sample_is_caught(name, path, text):
    assert faults(RULES[name], Source(path, text)) != []


def test_every_rule_has_samples_of_both_kinds():
    assert {name for name, rule in RULES.items() if rule.good and rule.bad} == set(RULES)
