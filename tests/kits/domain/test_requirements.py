"""The reason behind every unit, in words, and what two wishes for one place have in common."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.explosion import explode
from kits.domain.findings import Finding
from kits.domain.requirements import Because, Requirement
from tests.factories.engines import family, findings, number, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
ALL = [Finding(code.code, place) for code in FAMILY.findings.values() for place in FAMILY.map.places(code.scope)]
RING = Because("T1", 2, 10, "T1-ring", "soap, never oil", (("chosen", "lifted"),), "T4-00100 to T4-00149")


def test_a_reason_says_operation_step_line_the_chain_of_findings_and_the_engine_numbers() -> None:
    assert RING.sentence() == ("T1 step 10 (T1-ring): chosen → lifted; soap, never oil; fits T4-00100 to T4-00149")


def test_what_is_not_there_is_not_said() -> None:
    bare = replace(RING, text="", numbers="", chains=())
    assert bare.sentence() == "T1 step 10 (T1-ring): always when the operation is on the job"


def test_two_chains_that_lead_to_one_unit_are_both_said() -> None:
    both = replace(RING, text="", numbers="", chains=(("chosen", "lifted"), ("low",)))
    assert both.sentence() == "T1 step 10 (T1-ring): chosen → lifted; low"


def test_a_requirement_is_known_by_its_position_and_its_make() -> None:
    assert Requirement("SUMP/bead", 2, ()).key == ("SUMP/bead", 2)


def test_a_consequence_is_told_from_the_finding_that_began_it() -> None:
    listed = explode(FAMILY, [OPERATIONS["T1"]], findings("chosen@CYL-2"), number("T4-00150"))
    (ring,) = listed.requirements["CYL-2/ring", 1].candidates
    assert [one.sentence() for one in ring.becauses] == [
        "T1 step 10 (T1-ring): cylinder chosen (CYL-2) → liner lifted (CYL-2): a chosen set is lifted"
    ]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from(list(OPERATIONS.values())), max_size=3), st.lists(st.sampled_from(ALL), max_size=6))
def test_every_candidate_says_why_and_where_in_the_work_it_is_needed(on_job: list, said: list) -> None:
    listed = explode(FAMILY, on_job, said, number("T4-00150"))
    booked = {operation.code for operation in on_job}
    for key, requirement in listed.requirements.items():
        assert requirement.key == key
        for candidate in requirement.candidates:
            assert candidate.becauses == tuple(sorted(candidate.becauses))
            assert {one.operation for one in candidate.becauses} <= booked
            assert {(one.operation, one.step) for one in candidate.becauses} == {work[:2] for work in candidate.work}
            assert candidate.work == tuple(sorted(candidate.work)) != ()
