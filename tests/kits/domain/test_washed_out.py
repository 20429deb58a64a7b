"""Plugs, dowels and oil jets: out = in, else the job stays open and says which."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import ManyErrors
from kits.domain.reading import Reader
from kits.domain.washed_out import Count, Loose, check_counts, read_washed_out, still_open, tally

LISTED = (Loose("core plug", 8), Loose("oil jet", 6), Loose("dowel, head", 2))


def out(name, count, **more):
    return Count(name, count, False, **more)


def back(name, count, **more):
    return Count(name, count, True, **more)


def codes(before, *new):
    """Refused lines by number and code."""
    with pytest.raises(ManyErrors) as caught:
        check_counts(LISTED, before, new)
    return [(number, error.code) for number, error in caught.value.errors]


def test_partial_counts_add_up_and_the_missing_ones_are_named():
    before = [out("core plug", 5), out("core plug", 3), out("oil jet", 6), out("dowel, head", 0), back("core plug", 7)]
    stands = {one.name: (one.out, one.back, one.missing) for one in tally(LISTED, before)}
    assert stands == {"core plug": (8, 7, 1), "oil jet": (6, 0, 6), "dowel, head": (0, 0, 0)}
    assert [why for _, why in still_open(tally(LISTED, before))] == [
        "core plug: 8 out, 7 back, 1 missing",
        "oil jet: 6 out, 0 back, 6 missing",
    ]
    after = check_counts(LISTED, before, [back("core plug", 1), back("oil jet", 6)])
    assert still_open(after) == []


def test_a_block_that_was_never_washed_has_nothing_to_count_back():
    assert still_open(tally(LISTED, [])) == []


def test_a_washed_block_is_counted_whole_be_it_none():
    stands = check_counts(LISTED, [], [out("core plug", 0)])
    assert [(one.name, why) for one, why in still_open(stands)] == [
        ("oil jet", "oil jet: 6 on the family's list, not counted out"),
        ("dowel, head", "dowel, head: 2 on the family's list, not counted out"),
    ]


def test_what_cannot_be_is_named_line_by_line():
    before = [out("core plug", 8), out("oil jet", 2)]
    refused = codes(before, back("core plug", 9), out("oil jets", 1), out("dowel, head", 3), back("oil jet", -1))
    assert refused == [
        (1, "more-back-than-out"), (2, "washed-out-unknown"), (3, "more-out-than-listed"), (4, "amount-negative"),
    ]  # fmt: skip
    with pytest.raises(ManyErrors) as caught:
        check_counts(LISTED, [], [out("Oil jets", 1)])
    assert caught.value.errors[0][1].values["near"] == ["oil jet"]
    # On the limit it passes, one beyond it does not.
    assert check_counts(LISTED, before, [back("core plug", 8), out("oil jet", 4)])[1].out == 6
    assert codes(before, out("oil jet", 5)) == [(1, "more-out-than-listed")]


def test_a_recount_replaces_and_may_not_leave_more_back_than_out():
    before = [out("core plug", 8), back("core plug", 7)]
    assert [(one.out, one.back) for one in check_counts(LISTED, before, [out("core plug", 7, recount=True)])][0] == (
        7,
        7,
    )
    assert codes(before, out("core plug", 6, recount=True)) == [(1, "more-back-than-out")]


def test_the_list_of_a_family_is_read_and_every_fault_named():
    reader = Reader()
    document = {
        "washed_out": [
            {"name": "plug", "count": 4},
            {"name": "plug", "count": 0},
            {"name": "jet", "count": True},
            {"size": 1},
        ]
    }
    read_washed_out(document, reader)
    assert [(one.where, one.detail) for one in reader.problems] == [
        ("washed_out 2", "'plug' stands twice"),
        ("washed_out 2", "'count' must be a whole number from 1 to 1000"),
        ("washed_out 3", "'count' must be a whole number from 1 to 1000"),
        ("washed_out 4", "unknown key 'size'"),
        ("washed_out 4", "'name' must be a text that is not empty"),
        ("washed_out 4", "'count' must be a whole number from 1 to 1000"),
    ]
    assert read_washed_out({}, Reader()) == ()


counts = st.lists(st.builds(Count, st.sampled_from([one.name for one in LISTED]), st.integers(0, 3), st.booleans()))


@given(counts)
def test_out_is_in_or_it_stays_open(made):
    kept = []
    for one in made:
        try:
            check_counts(LISTED, kept, [one])
        except ManyErrors:
            continue
        kept.append(one)
    for stands in tally(LISTED, kept):
        mine = [one for one in kept if one.name == stands.name]
        went = sum(one.count for one in mine if not one.back)
        came = sum(one.count for one in mine if one.back)
        assert (stands.out, stands.back, stands.missing) == (went, came, went - came)
        assert 0 <= stands.back <= stands.out <= stands.listed
    counted = {one.name for one in kept if not one.back}
    whole = counted == {one.name for one in LISTED} and all(not one.missing for one in tally(LISTED, kept))
    assert (still_open(tally(LISTED, kept)) == []) == (whole or not counted)
