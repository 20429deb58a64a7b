"""Headings of tables, and which column each is."""

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.import_kinds import KINDS, PARTS, PRICES, STOCK, match_headings


def test_headings_are_found_by_their_own_and_other_names():
    assert match_headings(STOCK, ["Part No.", "Location", "QTY", "colour", "Bin"]) == {
        0: "part",
        1: "place",
        2: "amount",
        4: "spot",
    }


def test_a_columns_own_name_comes_before_anothers_second():
    assert match_headings(PRICES, ["supplier", "part", "supplier number", "price"])[0] == "supplier"


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_every_kind_is_read_by_its_own_headings(kind):
    names = [column.name for column in kind.columns]
    assert list(match_headings(kind, names).values()) == names
    assert list(match_headings(kind, [name.upper().replace(" ", "_") for name in names]).values()) == names
    assert set(kind.key) <= set(names)


def test_what_is_missing_is_named():
    with pytest.raises(DomainError) as caught:
        match_headings(PARTS, ["number", "colour"])
    assert caught.value.code == "heading-missing"
    assert caught.value.values["missing"] == ["name", "unit"]


def test_two_headings_of_one_meaning_are_refused():
    with pytest.raises(DomainError) as caught:
        match_headings(PARTS, ["number", "Part-Number", "name", "unit"])
    assert (caught.value.code, caught.value.values["column"]) == ("heading-twice", "number")


def test_too_many_columns():
    with pytest.raises(DomainError) as caught:
        match_headings(PARTS, [str(at) for at in range(101)])
    assert caught.value.code == "too-many-columns"
