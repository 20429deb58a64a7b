"""A set broken by damage, or found incomplete: what is good of it, and the photo that is asked for."""

from itertools import chain, combinations

import pytest

from inventory.domain.breaking import MEMBERS, ask_for_photo, good_members, how_broken
from inventory.domain.errors import DomainError


def code(call, *arguments):
    try:
        call(*arguments)
    except DomainError as error:
        return error.code
    return ""


def test_every_member_is_good_damaged_or_missing_and_never_two_of_them():
    subsets = list(chain.from_iterable(combinations(MEMBERS, number) for number in range(4)))
    for damaged in ("", *MEMBERS):
        for missing in subsets:
            refused = code(good_members, damaged, missing)
            if damaged in missing:
                assert refused == "member-unknown"
            elif not damaged and not missing:
                assert refused == "nothing-given"
            elif len(missing) == 3:
                assert refused == "not-there"
            else:
                named = {damaged, *missing} - {""}
                assert set(good_members(damaged, missing)) | named == set(MEMBERS)
                assert not set(good_members(damaged, missing)) & named


@pytest.mark.parametrize("word", ["ring", "LINER", " "])
def test_a_word_that_is_no_member_is_named(word):
    assert code(good_members, word, ()) == "member-unknown"
    assert code(good_members, "", (word,)) == "member-unknown"
    assert code(good_members, "", ("pin", "pin")) == "member-unknown"


def test_how_it_is_said():
    assert how_broken("liner", ()) == "liner damaged"
    assert how_broken("", ("piston", "pin")) == "piston and pin missing"
    assert how_broken("liner", ("pin",)) == "liner damaged; pin missing"


def test_a_photo_or_why_there_is_none():
    assert code(ask_for_photo, "it", "photo 1", "") == ""
    assert code(ask_for_photo, "it", "", "too dark") == ""
    for photo, why in (("", ""), (" ", "  "), ("photo 1", "too dark")):
        assert code(ask_for_photo, "it", photo, why) == "photo-asked"
