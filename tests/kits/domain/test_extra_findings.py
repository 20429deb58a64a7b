"""One more that was found after strip counts as the finding that its parts line names."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kits.domain.extra_findings import findings_meant, needed, once_a_job
from kits.domain.findings import Group, Leaf
from tests.factories.engines import family, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
A, B, C = (Leaf(code, anywhere=False) for code in "abc")


def true(condition, codes):
    if isinstance(condition, Leaf):
        return condition.code in codes
    return (all if condition.every else any)(true(part, codes) for part in condition.parts)


conditions = st.recursive(
    st.sampled_from([A, B, C]),
    lambda inner: st.builds(Group, st.booleans(), st.lists(inner, min_size=1, max_size=3).map(tuple)),
    max_leaves=6,
)


@given(conditions)
def test_what_is_needed_is_true_whenever_the_condition_is(condition):
    """Beside all eight ways to find three things. Conditions only add, so what no way can do without is what is needed."""
    ways = [{code for code, is_true in zip("abc", each, strict=True) if is_true} for each in product([0, 1], repeat=3)]
    met = [codes for codes in ways if true(condition, codes)]
    assert needed(condition) <= set.intersection(*met)


def test_all_any_and_always():
    assert needed(None) == frozenset()
    assert needed(Group(True, (A, Group(False, (B, C))))) == {"a"}
    assert needed(Group(False, (A, Group(True, (A, B))))) == {"a"}
    assert needed(Group(False, (A, B))) == frozenset()


@pytest.mark.parametrize(
    ("part", "positions", "codes"),
    [
        ("NOBODY", [], ()),
        ("RING", ["VALVE-1/stem-seal"], ()),
        # Always asked for: it says of no finding that it was there.
        ("WASHER", [], ()),
    ],
)
def test_what_no_line_names_counts_as_nothing(part, positions, codes):
    assert findings_meant({part}, positions, list(OPERATIONS.values())) == codes


def test_every_line_of_the_test_family_counts_as_what_it_needs_where_it_alone_asks():
    for operation in OPERATIONS.values():
        for line in operation.lines:
            alone = [
                one for one in operation.lines if one.part == line.part and set(one.positions) & set(line.positions)
            ]
            if len(alone) == 1:
                said = findings_meant({line.part}, line.positions, [operation])
                assert set(said) == needed(line.condition) - set(operation.opens)


def test_two_lines_that_name_different_findings_say_neither():
    named = findings_meant({"RING"}, ["CYL-1/ring"], [OPERATIONS["T1"]])
    other = next(
        line.part for line in OPERATIONS["T1"].lines if not set(named) & needed(line.condition) and line.part != "RING"
    )
    assert named != ()
    assert findings_meant({"RING", other}, [], [OPERATIONS["T1"]]) == ()


def test_a_finding_counts_once_a_job():
    assert once_a_job([(1, "low"), (1, "low"), (2, "low"), (2, "cracked")]) == {"low": 2, "cracked": 1}
    assert once_a_job([]) == {}
