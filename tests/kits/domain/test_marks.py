"""Paint marks on sets: the newest word counts, for a bore and for a set."""

from hypothesis import given
from hypothesis import strategies as st

from kits.domain.marks import CLEANED, bores, marked


def test_a_set_whose_bore_was_given_away_carries_its_mark_still():
    words = [("CYL-1/set", "S-1"), ("CYL-2/set", "S-2"), ("CYL-1/set", "S-3")]
    assert bores(words) == {"CYL-1/set": "S-3", "CYL-2/set": "S-2"}
    assert marked(words) == ("S-1", "S-2", "S-3")


def test_a_cleaned_set_is_given_to_no_bore_until_it_is_marked_again():
    words = [("CYL-1/set", "S-1"), ("CYL-2/set", "S-2"), (CLEANED, "S-1")]
    assert (bores(words), marked(words)) == ({"CYL-2/set": "S-2"}, ("S-2",))
    words.append(("CYL-3/set", "S-1"))
    assert (bores(words), marked(words)) == ({"CYL-2/set": "S-2", "CYL-3/set": "S-1"}, ("S-1", "S-2"))


words_of = st.lists(st.tuples(st.sampled_from(["CYL-1", "CYL-2", CLEANED]), st.sampled_from(["S-1", "S-2", "S-3"])))


@given(words_of)
def test_what_is_given_to_a_bore_is_marked_and_stands_in_one_bore(words):
    given_to = bores(words)
    assert set(given_to.values()) <= set(marked(words))
    assert len(set(given_to.values())) == len(given_to)
    for serial in {serial for _, serial in words}:
        last = [position for position, said in words if said == serial][-1]
        assert (serial in marked(words)) == (last != CLEANED)
