"""Whose a sealed piece is first."""

import pytest

from inventory.domain.keeping import left_to_job


@pytest.mark.parametrize(
    ("said", "whose"),
    [((True, "J1", False), "J1"), ((True, "", True), "a job"), ((True, "", False), ""), ((False, "J1", True), "")],
)
def test_a_kit_that_was_opened_for_a_job_is_that_jobs_first(said, whose):
    why = left_to_job(*said)
    assert whose in why
    assert bool(why) is bool(whose)
