"""Which acts can be taken back, and that the reversed legs undo the act leg by leg."""

from collections import defaultdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.corrections import Leg, Written, check_correctable, reversal
from inventory.domain.errors import DomainError


@pytest.mark.parametrize(
    ("written", "code", "way_out"),
    [
        (Written(1, "receive", 2), "", ""),
        (Written(1, "pick", 2, hold_ends=1), "", ""),
        (Written(1, "receive", 2, corrected_by=7), "corrected-already", ""),
        (Written(1, "correct", 2, is_correction=True), "not-correctable", "Do the act again."),
        (Written(1, "hold", 0, holds=3), "not-correctable", "Release the holds."),
        (Written(1, "release", 0, hold_ends=3), "not-correctable", "Hold again."),
        (Written(1, "stop lot", 0, stops=1, hold_ends=2), "not-correctable", "Free it."),
        (Written(1, "free lot", 0, frees=1), "not-correctable", "Stop it again."),
        (
            Written(1, "break set", 4, set_breaks=1),
            "not-correctable",
            "Match what is left by measurement; that makes a new set.",
        ),
        (Written(1, "book job", 0, instead="Cancel the job."), "not-correctable", "Cancel the job."),
        (Written(1, "leak test", 0, by_word=True), "", ""),
        (Written(1, "leak test", 0, by_word=True, corrected_by=2), "corrected-already", ""),
        (Written(1, "book", 0), "not-correctable", "Say it anew: the newest word counts."),
    ],
)
def test_which_acts_are_taken_back_and_what_to_do_about_the_others(written, code, way_out):
    try:
        check_correctable(written)
    except DomainError as error:
        assert (error.code, "".join(error.ways_out)) == (code, way_out)
    else:
        assert code == ""


LEGS = st.lists(
    st.builds(Leg, st.integers(1, 3), st.integers(1, 5), st.integers(1, 3), st.integers(4, 6))
    | st.builds(Leg, st.integers(1, 3), st.integers(1, 5), st.integers(4, 6), st.integers(1, 3)),
    max_size=12,
)


@settings(max_examples=80)
@given(LEGS)
def test_reversed_legs_undo_every_leg_and_no_batch_takes_out_what_it_brings_in(legs):
    batches = reversal(legs)
    back = [leg for batch in batches for leg in batch]
    assert [Leg(one.item_id, one.amount, one.to_spot_id, one.from_spot_id) for one in reversed(back)] == legs
    level = defaultdict(int)
    for leg in legs + back:
        level[leg.item_id, leg.from_spot_id] -= leg.amount
        level[leg.item_id, leg.to_spot_id] += leg.amount
    assert set(level.values()) <= {0}
    for batch in batches:
        brought = set()
        for leg in batch:
            assert (leg.item_id, leg.from_spot_id) not in brought
            brought.add((leg.item_id, leg.to_spot_id))


def test_a_thing_carried_on_in_one_act_is_taken_back_in_two_batches():
    assert reversal([Leg(1, 1, 10, 20), Leg(1, 1, 20, 30)]) == [[Leg(1, 1, 30, 20)], [Leg(1, 1, 20, 10)]]
    assert reversal([]) == []
