"""The union by use position: its invariants, a twin that works cell by cell, conflicts, classes, buy-ins, empty operations."""

from copy import deepcopy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError, ManyErrors
from kits.domain.engine_numbers import EngineNumber
from kits.domain.explosion import could_serve, explode
from kits.domain.findings import Finding, Leaf, close_findings
from kits.domain.procedures import parse_operation
from tests.factories.engines import family, findings, found, line, number, operation_documents, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
NEW, OLD = number("T4-00150"), number("T4-00149")
ALL = [Finding(code.code, place) for code in FAMILY.findings.values() for place in FAMILY.map.places(code.scope)]
some_findings = st.lists(st.sampled_from(ALL), max_size=6)
some_operations = st.lists(st.sampled_from(list(OPERATIONS.values())), max_size=4)
either_number = st.sampled_from([NEW, OLD])


def listed(codes, *said, at=NEW):
    return explode(FAMILY, [OPERATIONS[code] for code in codes.split()], findings(*said), at)


def another(*lines, code="T9", revision=1):
    """An operation of our own with steps 10 and 40."""
    document = deepcopy(operation_documents()["T3"]) | {"code": code, "revision": revision, "opens": []}
    document["steps"] = [
        {"step": 10, "name": "first"},
        {"step": 40, "after": [10], "name": "last", "caution": "gloves"},
    ]
    return parse_operation(document | {"lines": list(lines)}, FAMILY)


def at(explosion, position, make=1):
    return explosion.requirements[position, make].candidates


def kinds(explosion):
    return [(conflict.kind, conflict.position, conflict.needs_person) for conflict in explosion.conflicts]


# What the list says


def test_a_joint_that_two_operations_open_is_closed_once():
    explosion = listed("T1 T3", "chosen@CYL-2")
    (washer,) = at(explosion, "SUMP/washer")
    assert (washer.part, washer.amount.amount, washer.line_class) == ("WASHER", 1, "always-new")
    assert [(because.operation, because.step, because.line) for because in washer.becauses] == [
        ("T1", 40, "T1-washer"),
        ("T3", 40, "T3-washer"),
    ]
    assert washer.work == (("T1", 40, 1), ("T3", 40, 1))
    (bead,) = at(explosion, "SUMP/bead")
    assert (bead.amount.amount, bead.tools) == (7069, ("bead gun",))  # 7068.6 µL once: pi/4 · (3.0 mm)² · 1000 mm
    assert explosion.conflicts == ()


def test_every_unit_says_because_with_its_findings_and_rules_and_the_engine_numbers_in_words():
    explosion = listed("T1", "chosen@CYL-2", at=OLD)
    (ring,) = at(explosion, "CYL-2/ring")
    assert ring.becauses[0].sentence() == (
        "T1 step 10 (T1-ring): cylinder chosen (CYL-2) → liner lifted (CYL-2): a chosen set is lifted"
    )
    assert ring.notes == ("soap, never oil",)
    new, old = sorted(at(explosion, "HEAD-LEFT/gasket"), key=lambda candidate: candidate.part)
    assert (new.part, new.becauses[0].numbers) == ("NEW-GASKET", "")
    assert (old.part, old.becauses[0].numbers) == ("OLD-GASKET", "below T4-00150")
    assert old.becauses[0].sentence().endswith("; fits below T4-00150")


def test_the_engine_number_rules_parts_out_and_says_so():
    assert [one.part for one in at(listed("T2", "head-off@BANK-LEFT", at=NEW), "HEAD-LEFT/gasket")] == ["NEW-GASKET"]
    out = listed("T2", "head-off@BANK-LEFT", at=NEW).ruled_out
    assert [(one.position, one.part, one.numbers, one.operation) for one in out] == [
        ("HEAD-LEFT/gasket", "OLD-GASKET", "below T4-00150", "T2")
    ]
    assert listed("T2", "head-off@BANK-LEFT", at=OLD).ruled_out == ()


def test_digits_are_compared_as_whole_numbers():
    # "999" > "1000" as text, 999 < 1000 as numbers
    its = another(line("a", 40, "WASHER", "SUMP/washer", fits={"below": "T4-01000"}))
    assert explode(FAMILY, [its], [], number("T4-00999")).requirements.keys() == {("SUMP/washer", 1)}
    assert explode(FAMILY, [its], [], number("T4-01000")).requirements == {}
    assert explode(FAMILY, [its], [], number("T4-10000")).requirements == {}


def test_only_the_bank_that_is_opened():
    explosion = listed("T2", "head-off@BANK-RIGHT")
    assert {position.partition("/")[0] for position, _ in explosion.requirements} == {"HEAD-RIGHT", "COVER-RIGHT"}
    assert len(explosion.requirements) == 12


def test_stem_seals_of_exactly_the_valves_removed():
    explosion = listed("T2", "valve-out@VALVE-2", "valve-out@VALVE-5")
    assert list(explosion.requirements) == [("VALVE-2/stem-seal", 1), ("VALVE-5/stem-seal", 1)]


def test_a_joint_made_twice_is_two_requirements():
    its = another(
        line("a", 10, "SOFT", "SUMP/washer", found("sump-off"), make=1),
        line("b", 40, "WASHER", "SUMP/washer", found("sump-off"), make=2),
    )
    explosion = explode(FAMILY, [its], findings("sump-off@ENGINE"), NEW)
    assert [(key, at(explosion, *key)[0].part) for key in explosion.requirements] == [
        (("SUMP/washer", 1), "SOFT"),
        (("SUMP/washer", 2), "WASHER"),
    ]
    assert at(explosion, "SUMP/washer", 2)[0].cautions == ("gloves",)


def test_an_operation_that_brings_nothing_says_so():
    explosion = listed("T1 T2", "valve-out@VALVE-1")
    assert explosion.empty_operations == (
        ("T1", "T1 brings nothing: no condition of its lines is met by what was chosen and found so far."),
    )
    its = another(line("a", 40, "WASHER", "SUMP/washer", fits={"below": "T4-00120"}))
    assert explode(FAMILY, [its], [], NEW).empty_operations == (
        ("T9", "T9 brings nothing: the engine number rules out every line whose condition is met."),
    )
    assert listed("T3").empty_operations == ()
    assert [key[0] for key in listed("T3").requirements] == ["SUMP/bead", "SUMP/washer", "OIL/fill"]


def test_a_finding_without_a_listed_part_is_bought_in():
    explosion = listed("T2", "cam-worn@ENGINE")
    (bought,) = explosion.buy_ins
    assert (bought.position, bought.amount.amount, bought.text) == ("CAMSHAFT/camshaft", 1, "camshaft")
    assert bought.chain == ("camshaft worn",)
    assert sum(1 for position, _ in explosion.requirements if position.startswith("LIFTER")) == 8
    assert kinds(explosion) == []


def test_a_listed_part_beside_a_buy_in_waits_for_a_person():
    its = another(line("a", 10, "CAMSHAFT", "CAMSHAFT/camshaft", found("cam-worn")))
    explosion = explode(FAMILY, [its], findings("cam-worn@ENGINE"), NEW)
    assert kinds(explosion) == [("buy-in", "CAMSHAFT/camshaft", True)]


def test_findings_that_nobody_serves_and_operations_that_a_rule_brings_are_named():
    explosion = listed("T2", "noise@ENGINE", "crank-out@ENGINE", "bolt-bad@SUMP/bolt-03")
    assert explosion.unserved == tuple(
        findings(
            "noise@ENGINE", "parted@CYL-1", "parted@CYL-2", "parted@CYL-3", "parted@CYL-4", "bolt-bad@SUMP/bolt-03"
        )
    )
    assert explosion.joins == (("T3", ("crank out", "the crank comes out of its rods")),)
    assert listed("T1 T3", "crank-out@ENGINE", "bolt-bad@SUMP/bolt-03").unserved == ()
    assert listed("T1 T3", "crank-out@ENGINE").joins == ()


def test_operations_that_could_serve_a_finding_are_named():
    explosion = listed("T2", "noise@ENGINE", "crank-out@ENGINE", "bolt-bad@SUMP/bolt-03", "valve-out@VALVE-1")
    rods = findings("parted@CYL-1", "parted@CYL-2", "parted@CYL-3", "parted@CYL-4")
    bolt = findings("bolt-bad@SUMP/bolt-03")
    assert could_serve(explosion, OPERATIONS.values()) == (("T1", (*rods, *bolt)), ("T3", tuple(bolt)))
    assert could_serve(listed("T1 T3", "noise@ENGINE"), OPERATIONS.values()) == ()


# Wishes that do not agree


def test_different_parts_at_one_place_need_a_person():
    its = another(line("a", 40, "RING", "SUMP/washer", found("sump-off")))
    explosion = explode(FAMILY, [OPERATIONS["T3"], its], [], NEW)
    assert kinds(explosion) == [("part", "SUMP/washer", True)]
    assert explosion.conflicts[0].parts == ("RING", "WASHER")
    assert [candidate.part for candidate in at(explosion, "SUMP/washer")] == ["RING", "WASHER"]


@pytest.mark.parametrize(
    ("one", "other", "wins"),
    [
        ("inspect", "always-new", "always-new"),
        ("inspect", "measured", "measured"),
        ("measured", "always-new", "always-new"),
    ],
)
def test_the_stricter_class_wins_and_the_conflict_is_shown(one, other, wins):
    first = another(line("a", 40, "WASHER", "SUMP/washer", **{"class": one}), code="T8")
    second = another(line("a", 40, "WASHER", "SUMP/washer", **{"class": other}), code="T9")
    explosion = explode(FAMILY, [first, second], [], NEW)
    assert at(explosion, "SUMP/washer")[0].line_class == wins
    assert kinds(explosion) == [("class", "SUMP/washer", False)]


def test_a_stricter_line_inside_one_operation_is_meant_and_is_no_conflict():
    its = another(
        line("a", 40, "WASHER", "SUMP/washer", found("sump-off"), **{"class": "inspect"}),
        line("b", 40, "WASHER", "SUMP/washer", found("noise")),
    )
    explosion = explode(FAMILY, [its], findings("sump-off@ENGINE", "noise@ENGINE"), NEW)
    assert (at(explosion, "SUMP/washer")[0].line_class, explosion.conflicts) == ("always-new", ())
    assert at(explode(FAMILY, [its], findings("sump-off@ENGINE"), NEW), "SUMP/washer")[0].line_class == "inspect"


def test_different_amounts_of_one_part_show_and_the_larger_is_listed():
    its = another(line("a", 40, "OIL", "OIL/fill", found("drained"), amount="4500 mL", how="fill"))
    explosion = explode(FAMILY, [OPERATIONS["T3"], its], [], NEW)
    assert at(explosion, "OIL/fill")[0].amount.amount == 4_500_000
    assert kinds(explosion) == [("amount", "OIL/fill", False)]


def test_a_part_outside_a_choice_meets_the_choice():
    same = another(line("a", 10, "COVER-RUBBER", "COVER-LEFT/gasket", found("head-off")))
    explosion = explode(FAMILY, [OPERATIONS["T2"], same], findings("head-off@BANK-LEFT"), NEW)
    (cover,) = at(explosion, "COVER-LEFT/gasket")
    assert (cover.choice, [because.operation for because in cover.becauses]) == ("cover-kind", ["T2", "T9"])
    assert explosion.conflicts == ()
    other = another(line("a", 10, "OTHER-GASKET", "HEAD-LEFT/gasket", found("head-off")))
    explosion = explode(FAMILY, [OPERATIONS["T2"], other], findings("head-off@BANK-LEFT"), NEW)
    assert kinds(explosion) == [("part", "HEAD-LEFT/gasket", True)]


# Invariants


@settings(max_examples=50, deadline=None)
@given(some_operations, some_findings, either_number, st.randoms(use_true_random=False))
def test_order_does_not_matter_and_twice_is_once(on_job, said, engine, random):
    once = explode(FAMILY, on_job, said, engine)
    shuffled, again = on_job * 2, said * 2
    random.shuffle(shuffled)
    random.shuffle(again)
    assert explode(FAMILY, shuffled, again, engine) == once


@settings(max_examples=50, deadline=None)
@given(some_operations, some_findings, either_number, st.sampled_from(list(OPERATIONS.values())), st.sampled_from(ALL))
def test_one_more_operation_or_finding_never_removes_a_position(on_job, said, engine, operation, finding):
    before = set(explode(FAMILY, on_job, said, engine).requirements)
    assert before <= set(explode(FAMILY, [*on_job, operation], said, engine).requirements)
    assert before <= set(explode(FAMILY, on_job, [*said, finding], engine).requirements)


def true_at(condition, position, true):
    """A condition by its meaning, leaf by leaf."""
    if condition is None:
        return True
    if isinstance(condition, Leaf):
        return any(
            finding.code == condition.code and (condition.anywhere or FAMILY.map.contains(finding.place, position))
            for finding in true
        )
    answers = [true_at(part, position, true) for part in condition.parts]
    return all(answers) if condition.every else any(answers)


@settings(max_examples=50, deadline=None)
@given(some_operations, some_findings, either_number)
def test_the_union_is_what_a_twin_says_cell_by_cell(on_job, said, engine):
    explosion = explode(FAMILY, on_job, said, engine)
    opened = [(code, operation.code) for operation in on_job for code in operation.opens]
    true = set(close_findings(FAMILY.map, FAMILY.findings, FAMILY.rules, said, opened).origins)
    cells = {}
    for position in FAMILY.map.positions:
        for make in (1, 2):
            parts = {
                (one.part, one.choice, one.alternative, operation.code)
                for operation in on_job
                for one in operation.lines
                if position.name in one.positions and one.make == make
                and (one.fits is None or one.fits.first is not None or engine.digits < 150)
                and true_at(one.condition, position.name, true)
            }  # fmt: skip
            if parts:
                cells[position.name, make] = parts
    assert {
        key: {
            (candidate.part, candidate.choice, candidate.alternative, because.operation)
            for candidate in requirement.candidates
            for because in candidate.becauses
        }
        for key, requirement in explosion.requirements.items()
    } == cells


@settings(max_examples=30, deadline=None)
@given(some_operations, some_findings, either_number)
def test_every_candidate_says_because_and_stands_in_map_order(on_job, said, engine):
    explosion = explode(FAMILY, on_job, said, engine)
    assert all(one.becauses and one.work for need in explosion.requirements.values() for one in need.candidates)
    keys = list(explosion.requirements)
    assert keys == sorted(keys, key=lambda key: (FAMILY.map.order(key[0]), key[1]))


# Refusals


def test_what_does_not_belong_on_the_job_is_refused():
    with pytest.raises(DomainError) as caught:
        explode(FAMILY, [], [], EngineNumber("X9-", 150, 5))
    assert caught.value.code == "engine-number-other-family"
    with pytest.raises(DomainError) as caught:
        explode(FAMILY, [another(line("a", 40, "WASHER", "SUMP/washer"), revision=n) for n in (2, 1)], [], NEW)
    assert (caught.value.code, caught.value.values["revisions"]) == ("operation-two-revisions", [1, 2])


def test_every_wrong_finding_is_named():
    with pytest.raises(DomainError) as caught:
        listed("T1", "lost@CYL-1")
    assert caught.value.code == "finding-unknown"
    with pytest.raises(ManyErrors) as many:
        listed("T1", "lost@CYL-1", "low@ENGINE", "low@CYL-1")
    assert [(at_line, error.code) for at_line, error in many.value.errors] == [
        (1, "finding-unknown"),
        (3, "finding-place-wrong"),
    ]
