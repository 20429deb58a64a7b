"""What becomes of a delivered line, what a label may say, what of a credit is awaited."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.receiving import (
    Claim,
    Delivered,
    accept,
    check_follows,
    check_settles,
    check_window,
    credit_late_from,
    gone_of,
    label_doubts,
    label_weighed,
    rejecting,
    totals,
)

WINDOW = {"weight_mg": [410_000, 420_000], "grades": ["A", "B"]}


def test_on_the_day_itself_is_not_before_it():
    check_follows("It came", date(2025, 1, 10), "it was ordered", date(2025, 1, 10))
    with pytest.raises(DomainError) as refused:
        check_follows("It came", date(2025, 1, 9), "it was ordered", date(2025, 1, 10))
    assert refused.value.code == "dates-turned"


def test_out_of_quarantine_what_is_in_inspection_is_rejected_first():
    line = Delivered(20, aside=True, accepted=12)
    assert (line.good, line.bad, line.in_inspection) == (12, 0, 8)
    how = rejecting(line, 10, from_quarantine=True)
    assert (how.before, how.after) == (8, 2)
    off_the_shelf = rejecting(line, 12, from_quarantine=False)
    assert (off_the_shelf.before, off_the_shelf.after) == (0, 12)
    for amount, quarantine in ((13, False), (21, True)):
        with pytest.raises(DomainError) as refused:
            rejecting(line, amount, quarantine)
        assert refused.value.code == "more-than-delivered"


@given(st.integers(1, 40), st.lists(st.integers(0, 9), max_size=6))
def test_a_release_accepts_the_oldest_lines_first_and_no_more_than_waits(amount, waits):
    shares = accept(amount, list(enumerate(waits)))
    assert sum(share for _, share in shares) == min(amount, sum(waits))
    full = [line for line, share in shares if share == waits[line]]
    # All but the last are accepted whole, and none with something waiting was passed over.
    assert [line for line, _ in shares[:-1]] == full[: len(shares) - 1]
    taken = dict(shares)
    first_left = next((line for line, there in enumerate(waits) if there > taken.get(line, 0)), len(waits))
    assert all(line <= first_left for line in taken)


def test_a_label_on_the_limit_is_believed_and_one_milligram_beyond_is_not():
    for weight in (410_000, 420_000):
        assert label_doubts(WINDOW, {"weight_mg": weight, "grade": "A"}) == ()
    for weight in (409_999, 420_001):
        assert len(label_doubts(WINDOW, {"weight_mg": weight, "grade": "A"})) == 1
    assert len(label_doubts(WINDOW, {"grade": "C"})) == 2
    assert label_doubts({}, {}) == ()


def test_a_weight_on_a_label_says_what_lay_on_the_scales():
    said = [label_weighed(1, "with pin"), label_weighed(1, " Without  PIN "), label_weighed(None, " ")]
    assert said == ["with pin", "without pin", ""]
    for weight, weighed in ((1, ""), (1, "pin"), (1, "with rings"), (None, "with pin")):
        with pytest.raises(DomainError) as refused:
            label_weighed(weight, weighed)
        assert refused.value.code == "weight-unsaid"


@pytest.mark.parametrize(
    "window",
    [
        {"weight": [1, 2]}, {"weight_mg": [2, 1]}, {"weight_mg": [1]}, {"weight_mg": [True, 2]}, {"weight_mg": "1"},
        {"weight_mg": [-1, 2]}, {"grades": []}, {"grades": "A"}, {"grades": [""]}, {"bore_nm": [1.0, 2]},
    ],
)  # fmt: skip
def test_a_window_that_makes_no_sense_is_refused(window):
    with pytest.raises(DomainError) as refused:
        check_window(window)
    assert refused.value.code == "label-window-unreadable"


def test_a_window_that_makes_sense_is_taken():
    check_window({})
    check_window(WINDOW | {"bore_nm": [1, 1], "piston_nm": [0, 5]})


def test_returned_is_credited_and_refused_and_awaited():
    claim = Claim(9_000, credited=4_000, refused=500)
    assert claim.coins == claim.credited + claim.refused + claim.awaited
    assert claim.awaited == 4_500
    check_settles(claim, 4_500)
    for coins, code in ((4_501, "more-than-outstanding"), (0, "amount-not-positive")):
        with pytest.raises(DomainError) as refused:
            check_settles(claim, coins)
        assert refused.value.code == code


def test_a_credit_is_late_from_the_sixty_first_day_on():
    # 1 January + 60 days is 2 March 2025 (31 + 28 days to 1 March); one day more is over 60 days
    assert credit_late_from(date(2025, 1, 1)) == date(2025, 3, 3)
    assert (date(2025, 3, 3) - date(2025, 1, 1)).days == 61


def test_the_totals_of_several_lines_add_up():
    found = totals([Delivered(20, aside=True, accepted=5, rejected=3, rejected_after=1), Delivered(4, rejected=4)])
    assert found == {"delivered": 24, "accepted": 4, "rejected": 8, "gone": 0, "in_inspection": 12}


@pytest.mark.parametrize(
    ("left", "there", "rejected", "waiting", "gone"),
    [
        (2, 3, 0, [(7, 5)], [(7, 2)]),
        # Four of ten were rejected: these are taken to be there still, or to have been scrapped first.
        (4, 6, 0, [(7, 6)], []),
        (5, 5, 0, [(7, 6)], [(7, 1)]),
        (3, 7, 4, [(7, 6)], [(7, 3)]),
        # Three came there by another way: they are taken to have left first.
        (2, 6, 0, [(7, 5)], []),
        (4, 4, 0, [(7, 5), (8, 3)], [(7, 4)]),
        (6, 2, 0, [(7, 5), (8, 3)], [(7, 5), (8, 1)]),
        # What was missing before this act is not told of it.
        (1, 2, 0, [(7, 5)], [(7, 1)]),
    ],
)
def test_what_left_for_good_waits_no_more_and_no_more_waits_than_can_be_there(left, there, rejected, waiting, gone):
    assert gone_of(left, there, rejected, waiting) == gone
