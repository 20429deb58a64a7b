"""Hours of extra work against the owner's word: limit - used >= 0, to the second."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.extra_hours import DAY_S, HoursWord, Purse, Worked, hours, purses, read_limit, read_time, refuse_entry

WORD, OTHER, FREE, NO = (
    HoursWord(1, True, 3600),
    HoursWord(2, True, 600),
    HoursWord(3, True, None),
    HoursWord(4, False, 900),
)
WORDS = {11: WORD, 12: WORD, 13: OTHER, 14: FREE, 15: NO}


def worked(finding, time_s, person=1, day=1):
    return Worked(finding, person, day, time_s)


def refused(new, words=WORDS, before=()):
    with pytest.raises(DomainError) as caught:
        refuse_entry(new, words, before)
    return caught.value


def test_a_time_is_read_to_the_second():
    assert [read_time(text) for text in ("1.5 h", "45 min", "20 s", "24 h")] == [5400, 2700, 20, DAY_S]
    assert [read_limit(text) for text in ("", "  ", "0 h", "10 h")] == [None, None, 0, 36_000]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("0 h", "amount-not-positive"),
        ("86401 s", "amount-too-large"),
        ("-1 h", "quantity-negative"),
        ("2", "quantity-unreadable"),
        ("2 L", "quantity-wrong-dimension"),
    ],
)
def test_what_is_no_time_is_refused(text, code):
    with pytest.raises(DomainError) as caught:
        read_time(text)
    assert caught.value.code == code


def test_a_limit_that_no_rebuild_takes_is_refused():
    assert read_limit("100000 h") == 360_000_000
    with pytest.raises(DomainError) as caught:
        read_limit("100001 h")
    assert caught.value.code == "amount-too-large"


def test_each_word_is_a_purse_of_its_own():
    before = [worked(11, 1000), worked(12, 600), worked(13, 600), worked(14, 9000), worked(15, 50)]
    assert purses(WORDS, before) == (Purse(1, 3600, 1600), Purse(2, 600, 600), Purse(3, None, 9000))
    assert [one.left_s for one in purses(WORDS, before)] == [2000, 0, None]
    assert purses({}, before) == ()


def test_on_the_limit_passes_and_a_second_beyond_does_not():
    before = [worked(11, 3000)]
    refuse_entry(worked(12, 600), WORDS, before)
    error = refused(worked(12, 601), before=before)
    assert (error.code, error.values) == (
        "hours-over-limit",
        {"approval": 1, "limit_s": 3600, "used_s": 3000, "asked_s": 601},
    )
    # What another word left over does not serve.
    assert refused(worked(13, 601)).code == "hours-over-limit"
    refuse_entry(worked(14, DAY_S), WORDS, [])


def test_silence_and_a_no_are_no_word():
    assert refused(worked(16, 60)).message == "The owner has not answered yet: nothing is worked on finding 16."
    assert refused(worked(15, 60)).message == "The owner refused it: nothing is worked on finding 15."
    assert refused(worked(15, 60)).code == "owner-not-asked"


def test_nobody_works_more_than_a_day_in_a_day():
    before = [worked(14, DAY_S - 60)]
    refuse_entry(worked(14, 60), WORDS, before)
    assert refused(worked(14, 61), before=before).code == "amount-too-large"
    refuse_entry(worked(14, 61, person=2), WORDS, before)
    refuse_entry(worked(14, 61, day=2), WORDS, before)


def test_a_time_is_told_in_hours_and_minutes():
    assert [hours(time) for time in (0, 60, 3600, 5400, 3661, -90)] == ["0 h", "1 min", "1 h", "1 h 30 min", "1 h 1 min 1 s", "-1 min 30 s"]  # fmt: skip


ENTRIES = st.lists(
    st.tuples(st.sampled_from([11, 12, 13, 14, 15, 16]), st.integers(1, 2000), st.integers(1, 9)), max_size=30
)


@given(ENTRIES, st.sets(st.integers(0, 29)))
def test_whatever_is_entered_and_reversed_no_limit_is_passed(entries, taken_back):
    """Every entry that is let in leaves limit - used >= 0; what is refused would not have fitted, counted one by one."""
    kept: list[Worked] = []
    for at, (finding, time_s, day) in enumerate(entries):
        new = worked(finding, time_s, day=day)
        word = WORDS.get(finding)
        used = sum(one.time_s for one in kept if WORDS[one.finding] is word)
        that_day = sum(one.time_s for one in kept if one.day == day)
        fits = word is not None and word.approved and that_day + time_s <= DAY_S
        fits = fits and (word.limit_s is None or used + time_s <= word.limit_s)
        try:
            refuse_entry(new, WORDS, kept)
        except DomainError:
            assert not fits
        else:
            assert fits
            kept.append(new)
        if at in taken_back and kept:
            kept.pop(0)
        assert all(one.left_s is None or one.left_s >= 0 for one in purses(WORDS, kept))
