"""A procedure document is read against its family, whole, or refused with every problem."""

from copy import deepcopy

import pytest

from inventory.domain.errors import DomainError
from kits.domain.procedures import parse_operation
from tests.factories.engines import family, found, line, operation_documents, operations

FAMILY = family()


def problems(document):
    with pytest.raises(DomainError) as caught:
        parse_operation(document, FAMILY)
    assert caught.value.code == "procedure-unusable"
    return [(problem["where"], problem["detail"]) for problem in caught.value.values["problems"]]


def with_lines(*lines):
    document = deepcopy(operation_documents()["T3"])
    document["lines"] = list(lines)
    return document


def test_what_an_operation_holds():
    its = operations(FAMILY)
    assert [len(its[code].lines) for code in ("T1", "T2", "T3")] == [17, 7, 4]
    assert its["T3"].opens == ("sump-off",)
    bead = its["T3"].lines[0]
    assert (bead.id, bead.positions, bead.line_class, bead.tools) == (
        "T3-bead",
        ("SUMP/bead",),
        "always-new",
        ("bead gun",),
    )
    # volume of a round bead: pi/4 · (3.0 mm)² · 1000 mm = 7068.6 µL (solid geometry)
    assert (bead.amount.amount, bead.amount.base) == (7069, "microlitre")
    old = its["T1"].lines[8]
    assert (old.part, old.choice, old.alternative, old.fits.words()) == (
        "OLD-GASKET",
        "head-joint",
        "old",
        "below T4-00150",
    )


def test_every_problem_is_named_not_the_first():
    document = operation_documents()["T2"]
    document["opens"] = ["lost", "head-off"]
    document["steps"][0]["after"] = [30]
    document["steps"][1]["after"] = [99]
    document["lines"][0] |= {"at": ["VALVE-9/stem-seal", "VALVE-1/stem-seal"], "amount": "0.5 EA", "class": "sometimes"}
    document["lines"][1] |= {"when": {"not": found("lifter-bad")}, "wehn": 1, "step": 25}
    document["lines"][2] |= {"choice": "lost", "alternative": "old", "fits": {"below": "T4-15O"}}
    assert problems(document) == [
        ("opens", "unknown finding code 'lost'"),
        ("opens", "'head-off' is found at a place of scope bank; only scope engine can be opened"),
        ("step 20", "comes after step 99, which is not there"),
        ("line T2-seal", "'class' is 'sometimes', must be one of always-new, measured, inspect"),
        ("line T2-seal", "'VALVE-9/stem-seal' is not a place of this engine family."),
        ("line T2-seal", '"0.5 EA" is not a whole number of pieces'),
        ("line T2-lift", "unknown key 'wehn'"),
        ("line T2-lift", "The condition cannot be read: a condition only adds: it cannot say 'not'."),
        ("line T2-lift", "step 25 is not a step of this procedure"),
        ("line T2-G-old", "unknown choice 'lost'"),
        ("line T2-G-old", '"T4-15O": letters stand among the digits'),
        (
            "line T2-G-new",
            "claims HEAD-LEFT/gasket beside line T2-G-old for the same engine numbers with another part or amount",
        ),
        (
            "line T2-G-new",
            "claims HEAD-RIGHT/gasket beside line T2-G-old for the same engine numbers with another part or amount",
        ),
    ]


@pytest.mark.parametrize(
    ("more", "detail"),
    [
        ({"class": None}, "'class' must be a text that is not empty"),
        ({"class": ["always-new", "inspect"]}, "'class' must be a text that is not empty"),
        ({"class": "by job"}, "'class' is 'by job', must be one of always-new, measured, inspect"),
        ({"amount": "1.5 EA"}, '"1.5 EA" is not a whole number of pieces'),
        ({"amount": "0 EA"}, "'0 EA' is nothing"),
        ({"amount": "3 mL"}, '"3 mL" is a volume; a count is wanted'),
        ({"amount": "3 mL", "how": "volume", "class": "inspect"}, "what is measured out by volume is always new by nature, not 'inspect'"),
        ({"how": "bead", "bead": {"dabs": 1, "dab": "1 mL"}}, "'bead' takes 'bead', not 'amount'"),
        ({"alternative": "old"}, "unknown choice ''"),
        ({"choice": "head-joint"}, "'' is not an alternative of 'head-joint': old, new"),
        ({"when": {"finding": "lost"}}, "'lost' is not a finding of this engine family."),
        ({"at": "SUMP/plug"}, "'SUMP/plug' is not a place of this engine family."),
        ({"at": []}, "'at' must be a use position, a pattern, or a list of them"),
        ({"make": 0}, "'make' must be a whole number from 1 to 99"),
        ({"tray": "1"}, "'tray' must be a whole number from 1 to 1000"),
        ({"tools": "bead gun"}, "'tools' must be a list"),
        ({"shop_rule": "yes"}, "'shop_rule' must be true or false"),
        ({"fits": {"from": "T4-00200", "below": "T4-00100"}}, "'fits': T4- from 200 to 99 is not a range"),
        ({"fits": {"from": 200}}, "'fits' takes engine numbers as texts"),
        ({"part": ""}, "'part' must be a text that is not empty"),
    ],
)  # fmt: skip
def test_a_wrong_line_is_named_with_what_is_wrong(more, detail):
    assert problems(with_lines({**line("a", 40, "WASHER", "SUMP/washer"), **more})) == [("line a", detail)]


def test_two_lines_for_one_place_and_one_engine_number_are_refused():
    one = line("a", 40, "WASHER", "SUMP/washer", fits={"below": "T4-00150"})
    assert problems(with_lines(one, line("b", 40, "RING", "SUMP/washer", fits={"from": "T4-00149"}))) == [
        ("line b", "claims SUMP/washer beside line a for the same engine numbers with another part or amount")
    ]
    assert len(problems(with_lines(one, line("b", 40, "RING", "SUMP/washer")))) == 1
    assert len(problems(with_lines(one, line("b", 40, "WASHER", "SUMP/washer", amount="2 EA")))) == 1
    assert (
        parse_operation(
            with_lines(one, line("b", 40, "RING", "SUMP/washer", fits={"from": "T4-00150"})), FAMILY
        ).warnings
        == ()
    )
    assert parse_operation(with_lines(one, line("b", 40, "RING", "SUMP/washer", make=2)), FAMILY).warnings == ()
    assert (
        parse_operation(with_lines(one, line("b", 40, "WASHER", "SUMP/washer", found("drained"))), FAMILY).warnings
        == ()
    )


def test_a_gap_between_ranges_warns():
    one = line("a", 40, "WASHER", "SUMP/washer", fits={"below": "T4-00150"})
    other = line("b", 40, "RING", "SUMP/washer", fits={"from": "T4-00160"})
    assert parse_operation(with_lines(one, other), FAMILY).warnings == (
        "SUMP/washer: no line fits T4-00150 to T4-00159",
    )


def test_steps_that_wait_for_one_another_are_named():
    document = operation_documents()["T1"]
    document["steps"][0]["after"] = [30]
    assert problems(document) == [("steps", "these wait for one another: 10, 20, 30, 40")]


def test_a_line_twice_and_another_family_are_refused():
    document = with_lines(line("a", 40, "WASHER", "SUMP/washer"), line("a", 40, "OIL", "OIL/fill"))
    document["family"] = "Elsewhere"
    assert problems(document) == [
        ("procedure", "is for family 'Elsewhere', not for 'Testbed-4'"),
        ("line a", "the line's id stands twice"),
    ]


@pytest.mark.parametrize("value", [None, 3, "x", [], {}, {"a": {}}])
@pytest.mark.parametrize("key", ["code", "opens", "steps", "lines", "revision", "name"])
def test_any_shape_is_read_or_refused_and_never_crashes(key, value):
    document = operation_documents()["T3"] | {key: value}
    try:
        parse_operation(document, FAMILY)
    except DomainError as error:
        assert error.code == "procedure-unusable"
    else:
        assert (key, value) in [("code", "x"), ("name", "x"), ("opens", None), ("opens", []), ("revision", 3)]
