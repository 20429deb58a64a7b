"""A family document is read whole or refused with every problem."""

from copy import deepcopy

import pytest

from inventory.domain.errors import DomainError
from kits.domain.families import parse_family
from tests.factories.engines import family, family_document


def test_what_a_family_holds():
    its = family()
    assert (its.code, its.revision, its.numbering.prefix, its.numbering.width) == ("Testbed-4", 1, "T4-", 5)
    assert list(its.choices) == ["head-joint", "pin-shells", "shim", "cover-kind"]
    assert its.choices["head-joint"].alternatives == ("old", "new")
    assert [rule.joins for rule in its.rules] == [(), (), (), (), ("T3",), ()]
    bought = its.buy_ins[0]
    assert (bought.finding, bought.positions, bought.amount.amount, bought.amount.base, bought.text) == (
        "cam-worn", ("CAMSHAFT/camshaft",), 1, "piece", "camshaft",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        (("code",), "", "family"),
        (("revision",), 0, "family"),
        (("colour",), "red", "family"),
        (("engine_numbers",), None, "engine_numbers"),
        (("engine_numbers", "prefix"), "t4_", "engine_numbers"),
        (("findings",), [], "findings"),
        (("findings", 1, "code"), "chosen", "finding 2"),
        (("findings", 0, "scope"), "piston", "finding 1"),
        (("findings", 0, "text"), 7, "finding 1"),
        (("choices", 0, "by"), "dice", "choice 1"),
        (("choices", 0, "alternatives"), ["old", "old"], "choice 1"),
        (("choices", 0, "alternatives"), ["old", "none"], "choice 1"),
        (("choices", 1, "code"), "head-joint", "choice 2"),
        (("buy_in", 0, "finding"), "lost", "buy_in 1"),
        (("buy_in", 0, "at"), "CAMSHAFT/key", "buy_in 1"),
        (("buy_in", 0, "amount"), "half", "buy_in 1"),
        (("washed_out",), [{"name": "core plug"}], "washed_out 1"),
        (("facts",), [], "facts"),
        (("front",), "\x00", "front"),
    ],
)
def test_a_wrong_value_is_a_named_problem_and_never_a_crash(path, value, where):
    document = deepcopy(family_document())
    at = document
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    with pytest.raises(DomainError) as caught:
        parse_family(document)
    assert caught.value.code == "family-unusable"
    assert where in [problem["where"] for problem in caught.value.values["problems"]]


def test_with_one_bank_only_bank_places_are_not_used():
    document = family_document()
    document["banks"] = [{"name": "-", "cylinders": [1, 2, 3, 4]}]
    with pytest.raises(DomainError) as caught:
        parse_family(document)
    said = [(problem["where"], problem["detail"]) for problem in caught.value.values["problems"]]
    assert ("finding head-off", "the engine has no places of scope bank") in said
    assert ("choice 1", "the engine has one bank only: say scope engine") in said


@pytest.mark.parametrize("document", [None, [], "x", 3])
def test_what_is_no_document_is_refused(document):
    with pytest.raises(DomainError) as caught:
        parse_family(document)
    assert caught.value.code == "family-unusable"
