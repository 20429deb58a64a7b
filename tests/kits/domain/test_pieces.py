"""Which steps cannot begin without a piece that is outside."""

import pytest

from inventory.domain.errors import DomainError
from kits.domain.families import parse_family
from kits.domain.pieces import steps_needing
from tests.factories.engines import family_document

#: Steps of two operations with the use positions that their parts lines name.
LINES = {
    ("L", 10): ("CYL-1/set", "CYL-2/set"),
    ("L", 20): ("ROD-1/shells", "MAIN-1/shells"),
    ("L", 30): (),
    ("S", 40): ("SUMP/bead", "CRANK/seal"),
}


def test_the_steps_that_name_a_position_of_its_group_need_it():
    assert steps_needing(["CYL-2/liner"], LINES, {}) == {("L", 10)}
    assert steps_needing(["CRANK/crankshaft"], LINES, {}) == {("S", 40)}
    assert steps_needing(["CYL-1/liner", "SUMP/pan"], LINES, {}) == {("L", 10), ("S", 40)}
    # CYL-1 is another group than CYL-12.
    assert steps_needing(["CYL-1/liner"], {("L", 1): ("CYL-12/set",), ("L", 2): ("CYL-1/set",)}, {}) == {("L", 2)}


def test_what_the_family_states_is_needed_beside_its_group():
    beside = {"CRANK/crankshaft": frozenset({"MAIN-1/shells"})}
    assert steps_needing(["CRANK/crankshaft"], LINES, beside) == {("L", 20), ("S", 40)}
    assert steps_needing(["CRANK/pulley"], LINES, beside) == {("S", 40)}


def test_where_nothing_says_which_step_needs_it_every_step_does():
    assert steps_needing([], LINES, {}) == set(LINES)
    assert steps_needing(["BLOCK/block"], LINES, {}) == set(LINES)


def with_pieces(*pieces):
    document = family_document()
    document["facts"]["pieces"] = list(pieces)
    return document


def test_a_family_states_them_by_patterns_of_its_map():
    family = parse_family(with_pieces({"at": "CAMSHAFT/camshaft", "needed_at": ["LIFTER-*/lifter", "SUMP/bead"]}))
    lifters = {f"LIFTER-{number}/lifter" for number in range(1, 9)}
    assert family.pieces == {"CAMSHAFT/camshaft": lifters | {"SUMP/bead"}}
    assert parse_family(family_document()).pieces == {}


@pytest.mark.parametrize(
    "wrong",
    [
        {"at": "CAMSHAFT/camshaft"},
        {"at": "CAMSHAFT/nothing", "needed_at": "SUMP/bead"},
        {"at": "CAMSHAFT/camshaft", "needed_at": [7]},
        {"at": [], "needed_at": "SUMP/bead"},
        {"at": "CAMSHAFT/camshaft", "needed_at": "SUMP/bead", "colour": "red"},
        "crank",
    ],
)
def test_what_cannot_be_read_is_a_named_problem(wrong):
    with pytest.raises(DomainError) as caught:
        parse_family(with_pieces(wrong))
    assert caught.value.code == "family-unusable"
    assert {problem["where"] for problem in caught.value.values["problems"]} <= {"piece 1"}


def test_a_position_is_stated_once():
    one = {"at": "CAMSHAFT/camshaft", "needed_at": "SUMP/bead"}
    with pytest.raises(DomainError) as caught:
        parse_family(with_pieces(one, one))
    assert "stated twice" in str(caught.value.values["problems"])
