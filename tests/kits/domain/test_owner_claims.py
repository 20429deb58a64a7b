"""Which job's work is claimed, how a claim stands, what replaces what, and what failed before."""

from datetime import date

import pytest

from inventory.domain.errors import DomainError
from kits.domain.owner_claims import (
    CLOSED,
    OPEN,
    OPENED_AGAIN,
    TAKEN_BACK,
    JobDone,
    check_closing,
    check_end,
    check_instead,
    check_open,
    job_claimed,
    lacking,
    repeats,
    state_of,
)

DAY = date(2025, 6, 1)
FIRST = JobDone("J1", date(2023, 8, 30), date(2023, 8, 31))
SECOND = JobDone("J2", date(2025, 1, 30), date(2025, 1, 31))


def unclear(*jobs, on=DAY):
    with pytest.raises(DomainError) as caught:
        job_claimed("R6-1", jobs, on)
    assert caught.value.code == "claim-job-unclear"
    assert caught.value.values == {"engine": "R6-1", "jobs": [one.number for one in jobs]}
    assert caught.value.ways_out == tuple(f"Name job {one.number}." for one in jobs)
    return caught.value.message


def test_it_is_the_job_that_was_handed_over_last_before_the_day():
    assert job_claimed("R6-1", [FIRST, SECOND], DAY) == "J2"
    assert job_claimed("R6-1", [FIRST, SECOND], date(2025, 1, 31)) == "J2"
    assert job_claimed("R6-1", [FIRST, SECOND], date(2025, 1, 30)) == "J1"
    # One that was closed later than the day, or before the last hand-over, is not the work that ran at the owner's.
    assert job_claimed("R6-1", [FIRST, JobDone("J3", date(2025, 6, 2))], DAY) == "J1"
    assert job_claimed("R6-1", [JobDone("J0", date(2023, 8, 30)), FIRST], DAY) == "J1"


def test_where_it_is_not_clear_it_is_asked():
    assert unclear() == "Which job's work is claimed? No job on engine R6-1 is closed."
    late = "After none of its jobs was engine R6-1 handed over by 2023-08-30."
    assert unclear(FIRST, JobDone("J3", DAY), on=date(2023, 8, 30)) == f"Which job's work is claimed? {late}"
    rework = JobDone("J2", date(2025, 1, 30), date(2025, 1, 31), new_term=False)
    assert unclear(FIRST, rework).endswith("Job J2, handed over last, was a rework inside an earlier term.")
    same = JobDone("J3", date(2025, 1, 30), date(2025, 1, 31))
    assert unclear(FIRST, SECOND, same).endswith("Engine R6-1 was handed over after J2 and J3 on the same day.")
    since = "After job J1 was handed over, J3 was closed, with no hand-over on record."
    assert unclear(FIRST, JobDone("J3", DAY)).endswith(since)


def test_how_it_stands_is_its_newest_end():
    assert [state_of(ends) for ends in ([], [CLOSED], [TAKEN_BACK], [CLOSED, OPENED_AGAIN])] == [
        OPEN, CLOSED, TAKEN_BACK, OPEN,
    ]  # fmt: skip
    assert state_of([CLOSED, OPENED_AGAIN, TAKEN_BACK]) == TAKEN_BACK


@pytest.mark.parametrize(
    ("now", "what", "code"),
    [
        (OPEN, CLOSED, ""),
        (OPEN, TAKEN_BACK, ""),
        (OPEN, OPENED_AGAIN, "claim-open"),
        (CLOSED, CLOSED, "claim-ended"),
        (CLOSED, TAKEN_BACK, "claim-ended"),
        (CLOSED, OPENED_AGAIN, ""),
        (TAKEN_BACK, CLOSED, "claim-ended"),
        (TAKEN_BACK, OPENED_AGAIN, ""),
    ],
)
def test_an_end_comes_after_the_opening_and_the_other_way_round(now, what, code):
    if not code:
        check_end(7, now, what)
        return
    with pytest.raises(DomainError) as caught:
        check_end(7, now, what)
    assert (caught.value.code, caught.value.values["claim"]) == (code, 7)


def test_nothing_is_added_to_one_that_ended():
    check_open(7, OPEN)
    with pytest.raises(DomainError) as caught:
        check_open(7, TAKEN_BACK)
    assert (caught.value.code, caught.value.message) == ("claim-ended", "Claim 7 is taken back.")


@pytest.mark.parametrize(
    ("causes", "answers", "code", "open_for"),
    [
        (0, 0, "claim-cause-missing", ("no cause is stated", "no answer is given")),
        (0, 1, "claim-cause-missing", ("no cause is stated",)),
        (2, 0, "claim-answer-missing", ("no answer is given",)),
        (1, 3, "", ()),
    ],
)
def test_it_is_closed_with_a_cause_and_an_answer(causes, answers, code, open_for):
    assert lacking(causes, answers) == open_for
    if not code:
        check_closing(7, causes, answers)
        return
    with pytest.raises(DomainError) as caught:
        check_closing(7, causes, answers)
    assert caught.value.code == code


def test_who_replaces_names_what_they_have_read():
    check_instead(7, "cause", None, None)
    check_instead(7, "cause", 4, 4)
    for standing, named, said in (
        (4, None, "On claim 7 cause 4 stands; none was named to be replaced."),
        (4, 3, "On claim 7 cause 4 stands; 3 was named to be replaced."),
        (None, 3, "On claim 7 no cause is on record; 3 was named to be replaced."),
    ):
        with pytest.raises(DomainError) as caught:
            check_instead(7, "cause", standing, named)
        assert (caught.value.code, caught.value.message) == ("claim-entry-stands", said)
        assert bool(caught.value.ways_out) == (standing is not None)


def test_a_position_that_was_claimed_before_is_a_repeat():
    earlier = {5: {"CYL-1/set", "CYL-2/base-ring"}, 3: {"CYL-2/base-ring"}, 4: {"HEAD/gasket"}}
    assert repeats(["CYL-2/base-ring", "CYL-3/set"], earlier) == ((3, "CYL-2/base-ring"), (5, "CYL-2/base-ring"))
    assert repeats([], earlier) == ()
