"""What a part needs where it lies, what a place offers, what does not lie together, and what a count asks."""

from itertools import permutations

import pytest

from inventory.domain.catalogue import KINDS
from inventory.domain.errors import DomainError
from inventory.domain.storage import (
    RULES,
    SET_ASIDE,
    Checked,
    Needs,
    Offer,
    asked,
    check_looked_at,
    degrees,
    kept_apart,
    read_needs,
    read_range,
)

#: 25 °C above absolute zero, 273.15 K by the definition of the degree Celsius (SI Brochure, 9th edition).
WARM = 298_150
COOL = 278_150


def code_of(call):
    with pytest.raises(DomainError) as caught:
        call()
    return caught.value.code


def test_needs_are_read_in_the_shops_own_words():
    needs = read_needs(
        {"class": " Flammable ", "low": "5 °C", "high": "77 °F", "group": "Acid", "apart_from": ["BASE", "acids x"]}
    )
    assert needs == Needs("flammable", COOL, WARM, "acid", frozenset({"base", "acids x"}))
    assert read_needs({}) == Needs()
    assert read_range("-20 °C", "") == (253_150, None)
    assert [degrees(one) for one in (WARM, 253_150, 294_650, None)] == ["25 °C", "-20 °C", "21.5 °C", "not stated"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"colour": "red"},
        {"class": 3},
        {"class": "x" * 41},
        {"low": "5"},
        {"low": "5 mm"},
        {"low": 5},
        {"low": "26 °C", "high": "25 °C"},
        {"high": "-300 °C"},
        {"high": "NaN °C"},
        {"apart_from": "base"},
        {"apart_from": [3]},
        {"group": "acid", "apart_from": ["Acid"]},
    ],
)
def test_needs_that_cannot_be_used_are_refused(wrong):
    assert code_of(lambda: read_needs(wrong)) == "storage-unusable"


def test_a_place_that_suits_asks_nothing_and_one_kelvin_thousandth_more_does():
    needs = Needs("flammable", COOL, WARM)
    good = Offer(frozenset({"flammable", "dry"}), COOL, WARM)
    assert asked(needs, good, ()) == ()
    for offer, said in (
        (Offer(good.classes, COOL, WARM + 1), "not above 25 °C, the place reaches 25.001 °C"),
        (Offer(good.classes, COOL - 1, WARM), "not below 5 °C, the place reaches 4.999 °C"),
        (Offer(frozenset({"dry"}), COOL, WARM), "stored as flammable, the place is good for dry"),
        (Offer(good.classes, None, WARM), "not below 5 °C, and nobody said"),
        (Offer(frozenset(), COOL, WARM), "flammable, and nobody said"),
    ):
        (question,) = asked(needs, offer, ())
        assert said in question
    assert len(asked(needs, None, ())) == 3
    assert asked(Needs(), None, [("X", Needs(group="acid"))]) == ()


def test_either_sides_word_keeps_two_things_apart():
    acid, base = Needs(group="acid", apart_from=frozenset({"base"})), Needs(group="base")
    neither = Needs(group="oil")
    for one, other in permutations((acid, base, neither), 2):
        assert kept_apart(one, other) == ({one.group, other.group} == {"acid", "base"})
    assert asked(base, None, [("A-1", acid), ("A-2", neither)]) == ("A-1 lies there: base is kept apart from acid",)
    # What has no group is kept from nothing by its own lack of one.
    assert not kept_apart(Needs(apart_from=frozenset({"base"})), Needs())


def test_every_kind_with_a_rule_that_was_counted_is_looked_at():
    assert set(RULES) <= KINDS
    assert set(RULES) >= SET_ASIDE
    rows = [Checked("gasket", "G-1"), Checked("fastener", "B-1"), Checked("O-ring", "R-1", "hung on a nail")]
    check_looked_at(rows, ["gasket", "O-ring"])
    check_looked_at([Checked("fastener", "B-1")], [])
    with pytest.raises(DomainError) as caught:
        check_looked_at(rows, ["gasket", "sealant"])
    assert (caught.value.code, caught.value.values["kinds"]) == ("storage-unchecked", ["O-ring"])
    assert "under looked_at (O-ring)" in caught.value.ways_out[0]
    # ISO 2230 (from memory): below 25 °C, dark, no ozone, not stretched.
    for word in ("below 25 °C", "dark", "ozone", "unstretched"):
        assert word in caught.value.message
    assert code_of(lambda: check_looked_at([Checked("fastener", "B-1", "wet")], [])) == "storage-unusable"
