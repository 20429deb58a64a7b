"""A bead against its joint's perimeter: centimetres typed as millimetres are asked about, the ends of the band are in it."""

import pytest

from inventory.domain.errors import DomainError
from kits.domain.bead_lengths import bead_question, bead_questions, refuse_odd_beads
from kits.domain.families import parse_family
from kits.domain.procedures import parse_operation
from tests.factories.engines import JOINT, family_document, line, operation_documents

MM = 1_000_000


def family(**more):
    """The small engine, its sump 1000 mm round."""
    document = family_document()
    document["facts"] = document["facts"] | {"joints": [JOINT | {"perimeter": "1000 mm"} | more]}
    return parse_family(document)


def questions(its, *beads):
    """What is asked of a procedure whose sump bead has each of these lengths, for one engine number after the other."""
    document = operation_documents()["T3"]
    rest = [one for one in document["lines"] if one["how"] != "bead"]
    laid = [
        line(f"bead-{at}", 40, "SEALANT", "SUMP/bead", amount=None, how="bead", bead={"length": length, "diameter": "3 mm"},
             fits={"from": f"T4-{at:05}", "to": f"T4-{at:05}"})
        for at, length in enumerate(beads, 1)
    ]  # fmt: skip
    return bead_questions(parse_operation(document | {"lines": [*rest, *laid]}, its).lines, its.joints)


@pytest.mark.parametrize(
    ("length_nm", "asked"),
    # half to twice a joint of 1000 mm: common practice, the shop's default
    [(500 * MM, False), (500 * MM - 1, True), (2000 * MM, False), (2000 * MM + 1, True), (1000 * MM, False)],
)
def test_the_ends_of_the_band_are_in_it(length_nm, asked):
    assert bool(bead_question(family().joints["SUMP"], length_nm)) is asked


def test_a_band_of_the_family_goes_before_the_default():
    joint = family(bead_percent={"low": 100, "high": 110}).joints["SUMP"]
    assert [bool(bead_question(joint, length * MM)) for length in (999, 1000, 1100, 1101)] == [True, False, False, True]


def test_centimetres_typed_as_millimetres_are_asked_about_with_what_was_likely_meant():
    assert questions(family(), "1000 mm") == ()
    assert questions(family(), "100 cm") == ()
    assert questions(family(), "100 mm") == (
        "SUMP: a bead of 100.0 mm on a joint of 1000.0 mm round: 50 to 200 % are expected; were centimetres meant: 1000.0 mm?",
    )
    assert questions(family(), "1000 cm") == (
        "SUMP: a bead of 10000.0 mm on a joint of 1000.0 mm round: 50 to 200 % are expected; "
        "were millimetres meant: 1000.0 mm?",
    )
    assert questions(family(), "30 mm")[0].endswith("50 to 200 % are expected")


def test_a_wrong_line_does_not_hide_behind_a_right_one_of_other_engines():
    assert [one[:28] for one in questions(family(), "1000 mm", "100 mm", "1100 mm")] == ["SUMP: a bead of 100.0 mm on "]


def test_without_a_perimeter_nothing_is_asked():
    assert questions(family(perimeter=None), "1 mm") == ()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"perimeter": "0 mm"}, "is nothing"),
        ({"perimeter": "1000"}, "there is no unit"),
        ({"bead_percent": {"low": 200, "high": 50}}, "is turned"),
        ({"bead_percent": {"low": 50}}, "'high' must be a whole number"),
        ({"bead_percent": 50}, "bead_percent"),
        ({"sensor_safe": "yes"}, "'sensor_safe' must be true or false"),
    ],
)
def test_what_cannot_be_read_stops_the_family(wrong, said):
    with pytest.raises(DomainError) as refused:
        family(**wrong)
    assert refused.value.code == "family-unusable"
    assert said in refused.value.message


def test_a_reason_lets_an_odd_length_stand():
    refuse_odd_beads((), "")
    refuse_odd_beads(("odd",), "two beads side by side")
    with pytest.raises(DomainError) as refused:
        refuse_odd_beads(("odd",), " ")
    assert (refused.value.code, refused.value.values["questions"]) == ("bead-implausible", ["odd"])


@pytest.mark.parametrize(
    "bead", [{"length": "1000 mm"}, {"diameter": "3 mm"}, {}, {"length": "1000 mm", "diameter": "0 mm"}]
)
def test_a_bead_without_its_size_has_no_default(bead):
    document = operation_documents()["T3"]
    lines = [one | ({"bead": bead} if one["how"] == "bead" else {}) for one in document["lines"]]
    with pytest.raises(DomainError) as refused:
        parse_operation(document | {"lines": lines}, family())
    assert refused.value.code == "procedure-unusable"
