"""One label in several spellings. The spellings are an invented example of what people write on a bag and type from it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import compare_key
from inventory.domain.spelling import label_key, spelled

WRITTEN = [
    "SB-2341",
    "sb-2341",
    "SB 2341",
    "SB2341",
    "sb/23.41",
    "ＳＢ２３４１",
    "SB-\N{ZERO WIDTH SPACE}2341",
    "\N{CYRILLIC CAPITAL LETTER DZE}B-2341",
]


@pytest.mark.parametrize("text", WRITTEN)
def test_spaces_dashes_and_case_are_no_part_of_a_label(text):
    assert label_key(text) == "SB2341"
    assert spelled(text, ["SB-2341"], what="lot") == "SB-2341"


def test_letters_and_digits_that_differ_are_another_label():
    assert label_key("SB-2341") != label_key("SB-2314")
    assert label_key("S-0441") != label_key("S-441")


@given(st.text(min_size=1, max_size=60))
def test_every_text_has_a_key_that_a_column_holds_and_its_key_is_its_own(text):
    key = label_key(text)
    assert 0 < len(key) <= 60
    assert label_key(text.lower()) == label_key(text.lower().upper()) or not text.isascii()


@given(st.text(min_size=1, max_size=60))
def test_where_a_number_can_be_read_its_key_is_the_same(text):
    try:
        read = compare_key(text)
    except DomainError:
        return
    assert label_key(text) == read[:60]


def test_marks_alone_are_their_own_key():
    assert label_key("--") == "--" != label_key(".")


def test_a_label_kept_apart_is_meant_by_its_own_spelling_only():
    both = ["A-1", "A 1"]
    assert spelled("A 1", both, what="lot") == "A 1"
    with pytest.raises(DomainError) as refused:
        spelled("a1", both, what="lot")
    assert (refused.value.code, refused.value.values["known"]) == ("spelling-ambiguous", ["A 1", "A-1"])
    assert spelled("a1", both, what="lot", another=True) is None
    assert spelled("A-1", ["A-1"], what="lot", another=True) == "A-1"
    assert spelled("A-1", [], what="lot") is None
