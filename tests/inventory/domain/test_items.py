"""Base units, ways of telling apart, and the one text of an identity."""

from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inventory.domain.items import Base, Member, Tracked, identity, said, was_found
from inventory.domain.quantities import base_unit_name, read_amount
from inventory.domain.units import Dimension

#: What a person or a label may bring: the separator, the escape and the sign of a label among it.
texts = st.text(st.sampled_from("ab|\\=-lot serial"), max_size=8)
identities = st.fixed_dictionaries(
    {"lot": texts, "serial": texts, "member": st.sampled_from(list(Member)), "tube": texts, "found": texts}
    | {"kit_item": st.none() | st.integers(1, 99)}
)


@settings(max_examples=300, deadline=None)
@given(identities, identities)
@example({"lot": "a|serial=b"}, {"lot": "a", "serial": "b"})
@example({"lot": "a\\", "serial": "b"}, {"lot": "a\\|serial=b"})
@example({"lot": "a", "kit_item": 5}, {"lot": "a|kit=5"})
def test_two_things_have_one_text_only_if_they_are_one(one: dict[str, Any], other: dict[str, Any]) -> None:
    def filled(given_values: dict[str, Any]) -> dict[str, Any]:
        return {name: value for name, value in given_values.items() if value not in ("", None)}

    assert (identity(**one) == identity(**other)) == (filled(one) == filled(other))


def test_identities_as_they_stand_in_the_books() -> None:
    assert identity() == "-"
    assert identity(lot="SB-1") == "lot=SB-1"
    assert identity(serial="S-7", member=Member.LINER) == "serial=S-7|member=liner"
    assert identity(lot="a|b\\c", kit_item=12) == "lot=a\\|b\\\\c|kit=12"
    assert identity(tube="T-1") == "tube=T-1"
    assert identity(found="T4-00150 LIFTER-3/lifter") == "found=T4-00150 LIFTER-3/lifter"


def test_identities_as_a_person_is_told() -> None:
    assert said(identity()) == ""
    assert said(identity(lot="SB-1", tube="T-4")) == "lot SB-1, tube T-4"
    assert said(identity(serial="S-7", member=Member.LINER)) == "serial S-7, its liner"
    assert said(identity(lot="a|b\\c", kit_item=12)) == "lot a|b\\c, out of kit item 12"
    assert said(identity(found="T4-00150 LIFTER-3/lifter")) == "found at T4-00150 LIFTER-3/lifter"
    assert said("odd") == "odd"


@settings(max_examples=200, deadline=None)
@given(identities)
@example({"lot": "a\\", "serial": "|"})
def test_what_is_said_is_every_value_as_it_was_given(one: dict[str, Any]) -> None:
    words = {"lot": "lot {}", "serial": "serial {}", "member": "its {}", "tube": "tube {}", "found": "found at {}"}
    words["kit_item"] = "out of kit item {}"
    wanted = [words[name].format(one[name]) for name in words if one.get(name) not in ("", None)]
    assert said(identity(**one)) == ", ".join(wanted)


@pytest.mark.parametrize(
    ("base", "dimension", "one"),
    [
        (Base.PIECE, Dimension.COUNT, "1 EA"),
        (Base.MICROLITRE, Dimension.VOLUME, "0.001 mL"),
        (Base.MILLIGRAM, Dimension.MASS, "0.001 g"),
        (Base.NANOMETRE, Dimension.LENGTH, "0.000001 mm"),
    ],
)
def test_a_base_unit_is_what_a_typed_amount_becomes_one_of(base: Base, dimension: Dimension, one: str) -> None:
    """Source: the prefixes of the SI (SI brochure, 9th edition, table 7): milli 10⁻³, micro 10⁻⁶, nano 10⁻⁹."""
    read = read_amount(one, dimension)
    assert (read.amount, read.exact) == (1, True)
    assert base_unit_name(dimension) == base.value


def test_a_matched_set_has_three_members_with_identity_and_rings_and_clips_have_none() -> None:
    assert [member.value for member in Member if member is not Member.WHOLE] == ["liner", "piston", "pin"]
    assert Member.WHOLE.value == ""
    assert {tracked.value for tracked in Tracked} == {"nothing", "lot", "serial", "set"}


def test_what_was_found_with_nothing_to_read_on_it_is_told_by_its_identity():
    assert was_found(identity(found="J-1/7-1"))
    for other in (identity(), identity(lot="found=x"), identity(lot="a|found=b"), identity(serial="found=1")):
        assert not was_found(other)
