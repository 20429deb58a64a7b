"""What makes a part record and a kit's contents usable."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.catalogue import KINDS, KitLine, PartFacts, around, check_kit, check_length, check_part
from inventory.domain.errors import DomainError
from inventory.domain.items import Base


def facts(**more):
    return PartFacts(**{"number": "A-201", "name": "head gasket", "unit": "EA", "kind": "gasket", **more})


def code_of(call, *given_values):
    with pytest.raises(DomainError) as refused:
        call(*given_values)
    return refused.value.code


def test_a_usable_part_has_a_key_a_unit_code_and_a_base_unit():
    checked = check_part(facts(unit="pcs"))
    assert (checked.compare_key, checked.unit, checked.base, checked.kind, checked.warnings) == (
        "A201",
        "H87",
        Base.PIECE,
        "gasket",
        (),
    )


@pytest.mark.parametrize(
    ("unit", "code", "base"),
    # codes: UN/CEFACT Recommendation 20 (LTR, MLT, KGM, MTR) and 21 (TU, here XTU)
    [
        ("L", "LTR", "microlitre"),
        ("mL", "MLT", "microlitre"),
        ("kg", "KGM", "milligram"),
        ("m", "MTR", "nanometre"),
        ("XTU", "XTU", "piece"),
    ],
)
def test_the_unit_gives_the_base_unit(unit, code, base):
    checked = check_part(facts(unit=unit))
    assert (checked.unit, checked.base) == (code, base)


def test_an_unknown_kind_is_to_be_sorted_and_says_so():
    for typed in ("gizmo", "", "Gasket"):
        checked = check_part(facts(kind=typed))
        assert checked.kind == ""
        assert "to be sorted" in checked.warnings[0]
    for kind in KINDS:
        assert check_part(facts(kind=kind)).kind == kind


def test_letters_among_digits_warn():
    assert len(check_part(facts(number="A-2O1")).warnings) == 1


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"number": ""}, "part-number-unreadable"),
        ({"number": "..."}, "part-number-unreadable"),
        ({"number": "A\n1"}, "part-number-unreadable"),
        ({"number": "9" * 61}, "part-number-unreadable"),
        ({"name": "  "}, "part-unusable"),
        ({"name": "x" * 201}, "text-too-long"),
        ({"shop_number": "x" * 61}, "text-too-long"),
        ({"unit": ""}, "unit-unknown"),
        ({"unit": "N·m"}, "unit-unknown"),
        ({"unit": "cm2"}, "unit-unknown"),
        ({"tracked_by": "colour"}, "part-unusable"),
        ({"tracked_by": "set", "unit": "L"}, "part-unusable"),
        ({"life": {"years": 3}}, "life-rule-unreadable"),
        ({"weight_mg": -1}, "part-unusable"),
        ({"price_coins": 2**53}, "part-unusable"),
        ({"density_mg_per_ml": 0}, "part-unusable"),
        ({"pack": 0}, "part-unusable"),
        ({"ring": {"colour": "black"}}, "part-unusable"),
        ({"ring": {"id_mm": 94.92}}, "part-unusable"),
        ({"ring": {"id_mm": "9" * 41}}, "part-unusable"),
        ({"ring": {"id_mm": "94.92"}}, "part-unusable"),
        ({"ring": {"id_mm": "94.92", "section_mm": "2.62", "shape": "oval"}}, "part-unusable"),
        ({"lubricant": "butter"}, "part-unusable"),
        ({"life": {"by": "compound"}, "compound": "green"}, "compound-unknown"),
        ({"life": {"by": "compound", "years": 7}, "compound": "FKM"}, "life-rule-unreadable"),
        ({"life": {"by": "colour"}, "compound": "FKM"}, "life-rule-unreadable"),
    ],
)
def test_an_unusable_record_is_refused_by_name(more, code):
    assert code_of(check_part, facts(**more)) == code


def test_a_ring_whose_size_has_other_measures_is_kept_with_a_warning():
    ring = {"size": "AS568-154", "id_mm": "94.92", "section_mm": "2.62", "shape": "round"}
    assert check_part(facts(ring=ring)).warnings == ()
    assert check_part(facts(ring=ring | {"size": "a maker's own"})).warnings == ()
    assert check_part(facts(ring=ring | {"section_mm": "3.53"})).warnings == (
        "The size AS568-154 is inch 94.92 x 2.62 (AS568-154), not 94.92 x 3.53",
    )


def test_lubricants_and_lives_by_compound_are_taken():
    assert check_part(facts(kind="lubricant", lubricant="water-based soap")).warnings == ()
    # NR stands in one of the two rule sets only: the shop may work by that one
    for compound in ("FKM", "NR", "PTFE"):
        assert check_part(facts(life={"by": "compound"}, compound=compound)).warnings == ()


def test_a_text_that_the_table_cannot_hold_is_refused():
    check_length("code", "x" * 40)
    assert code_of(check_length, "code", "x" * 41) == "text-too-long"


def test_a_kit_that_contains_itself_is_refused_and_the_circle_printed():
    contents = {"BIG": ["MID", "P"], "MID": ["K", "P"]}
    check_kit("K", "kit", [KitLine("P", 4), KitLine("Q", 1)], contents)
    check_kit("TOP", "kit of sets", [KitLine("BIG", 1)], contents)
    with pytest.raises(DomainError, match="K → BIG → MID → K") as refused:
        check_kit("K", "kit", [KitLine("BIG", 1)], contents)
    assert (refused.value.code, refused.value.values["circle"]) == ("kit-loop", ["K", "BIG", "MID", "K"])
    assert code_of(check_kit, "K", "kit", [KitLine("K", 1)], {}) == "kit-loop"


@pytest.mark.parametrize(
    ("lines", "code"),
    [
        ([], "nothing-given"),
        ([KitLine("P", 0)], "kit-unusable"),
        ([KitLine("P", -1)], "kit-unusable"),
        ([KitLine("P", 10**7)], "kit-unusable"),
        ([KitLine("P", 1), KitLine("P", 2)], "kit-unusable"),
    ],
)
def test_unusable_contents_are_refused(lines, code):
    assert code_of(check_kit, "K", "kit", lines, {}) == code


@pytest.mark.parametrize("kind", ["gasket", "matched set", ""])
def test_what_is_no_kit_holds_nothing(kind):
    """A parts line names leaf parts: a gasket that holds something would be a kit on a list."""
    assert code_of(check_kit, "K", kind, [KitLine("P", 1)], {}) == "kit-unusable"


KITS = st.sampled_from("ABCDEF")


def reaches(start, end, contents):
    """Brute force: every walk of at most as many steps as there are kits."""
    front = {start}
    for _ in range(len(contents) + 1):
        if end in front:
            return True
        front |= {inner for one in front for inner in contents.get(one, ())}
    return end in front


@given(contents=st.dictionaries(KITS, st.lists(KITS, max_size=3)), kit=KITS, inner=KITS)
@settings(max_examples=200)
def test_a_circle_is_found_exactly_when_there_is_one(contents, kit, inner):
    rest = {name: parts for name, parts in contents.items() if name != kit}
    try:
        check_kit(kit, "kit", [KitLine(inner, 1)], rest)
        refused = False
    except DomainError as error:
        assert error.code == "kit-loop"
        refused = True
    assert refused == reaches(inner, kit, rest)


def test_what_holds_a_kit_comes_inner_before_outer():
    contents = {"K1": ["P"], "K2": ["K1"], "K3": ["K1", "K2"], "K4": ["P"], "K0": ["K3", "K4"]}
    assert around("K1", contents) == ["K2", "K3", "K0"]
    assert around("K4", contents) == ["K0"]
    assert around("K0", contents) == []
    assert around("P", contents) == ["K1", "K4", "K2", "K3", "K0"]
