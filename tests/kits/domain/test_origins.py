"""Old parts go back where they came from, turned as they stood; a lost place is a state of its own."""

from __future__ import annotations

from itertools import permutations

import pytest

from inventory.domain.errors import DomainError
from kits.domain.facts import Origin
from kits.domain.origins import Back, Out, judge_return, parted, partner_of, same_text, tag_clash

PLACES = frozenset({"LIFTER-2/lifter", "LIFTER-5/lifter"})
TAPPET = Origin(PLACES, True, "CAMSHAFT/camshaft", "", (0,))
ROLLER = Origin(PLACES, False, "", "", (0,))
CAP = Origin(frozenset({"MAIN-2/cap"}), True, "", "side", (0,))
LINER = Origin(frozenset({"CYL-1/set"}), False, "", "clock", (0, 180))
TWO, FIVE = "LIFTER-2/lifter", "LIFTER-5/lifter"


def no(code, outs, back, rule, **more):
    more.setdefault("bound", True)
    with pytest.raises(DomainError) as caught:
        judge_return("T 1", outs, back, rule, **more)
    assert caught.value.code == code
    return caught.value


def test_what_went_in_is_what_came_out_place_by_place():
    """Of all ways to put four tappets back, only the one without an exchange passes (conservation: the identity)."""
    places = [f"LIFTER-{number}/lifter" for number in range(1, 5)]
    rule = Origin(frozenset(places), True, "", "", (0,))
    passed = []
    for order in permutations(places):
        try:
            for came, goes in zip(places, order, strict=True):
                assert judge_return("T", [Out(came)], Back(goes), rule, bound=True) == ()
        except DomainError as error:
            assert error.code == "wrong-place-of-origin"
        else:
            passed.append(list(order))
    assert passed == [places]


def test_the_wrong_place_names_where_it_came_from():
    error = no("wrong-place-of-origin", [Out(TWO), Out(TWO)], Back(FIVE), TAPPET)
    assert error.values == {"position": FIVE, "came_from": [TWO]}
    assert error.message == "T 1 came out of LIFTER-2/lifter; it goes back there, not into LIFTER-5/lifter."
    # A part that has no place of its own goes anywhere.
    assert judge_return("B 1", [Out(TWO)], Back(FIVE), None, bound=False) == ()


def test_parts_that_look_alike_are_told_apart_by_their_tags():
    outs = [Out(TWO, "V2"), Out(FIVE, "V5")]
    assert judge_return("T", outs, Back(FIVE, " v 5 "), TAPPET, bound=True) == ()
    assert no("wrong-place-of-origin", outs, Back(FIVE, "V2"), TAPPET).values["came_from"] == [TWO]
    assert no("wrong-place-of-origin", outs, Back(FIVE, "V9"), TAPPET).values["tag"] == "V9"
    # Without a tag nobody can show which is which.
    assert judge_return("T", outs, Back(FIVE), TAPPET, bound=True) == (
        "several came out that look alike, and no tag says which",
    )
    assert judge_return("T", [Out(TWO), Out(TWO)], Back(TWO), TAPPET, bound=True) == ()


def test_a_lost_place():
    assert no("position-lost", [Out("")], Back(TWO), TAPPET).ways_out == ("Scrap it and fit a new one.",)
    # No word helps a flat tappet or a cap; a roller goes by the maker's word, and that is kept as doubtful.
    no("position-lost", [Out("")], Back(TWO), TAPPET, word="letter")
    no("position-lost", [Out("")], Back("MAIN-2/cap"), CAP, word="letter")
    no("position-lost", [Out("")], Back(TWO), ROLLER)
    no("position-lost", [Out("")], Back(TWO), None)
    found = judge_return("T", [Out("")], Back(TWO), ROLLER, bound=True, word="letter")
    assert found == ("position lost; the maker's word: letter",)
    assert judge_return("B", [Out("")], Back(TWO), None, bound=False) == ()
    # Once it was fitted and came out again with its place, that place is known.
    assert judge_return("T", [Out(""), Out(TWO)], Back(TWO), ROLLER, bound=True) == ()


@pytest.mark.parametrize(
    ("came", "goes", "said"),
    [(0, 0, ()), (90, 270, ()), (180, 0, ()), (None, 0, ("clock mark missing",)), (0, None, ("clock mark missing",))],
)
def test_a_liner_goes_back_as_it_stood_or_turned_as_its_maker_allows(came, goes, said):
    outs = [Out("CYL-1/set", clock_deg=came)]
    assert judge_return("S", outs, Back("CYL-1/set", clock_deg=goes), LINER, bound=True) == said


@pytest.mark.parametrize(("came", "goes"), [(0, 90), (90, 0), (270, 180), (0, 1)])
def test_another_turn_is_refused(came, goes):
    error = no("mark-differs", [Out("CYL-1/set", clock_deg=came)], Back("CYL-1/set", clock_deg=goes), LINER)
    assert (error.values["came_out_deg"], error.values["goes_back_deg"]) == (came, goes)
    assert "a turn of 0° or 180°" in error.message


def test_a_cap_keeps_the_side_of_its_number():
    outs = [Out("MAIN-2/cap", side="camshaft side")]
    assert judge_return("C", outs, Back("MAIN-2/cap", side="Camshaft side"), CAP, bound=True) == ()
    assert judge_return("C", outs, Back("MAIN-2/cap"), CAP, bound=True) == ("number side missing",)
    assert judge_return("C", [Out("MAIN-2/cap")], Back("MAIN-2/cap", side="x"), CAP, bound=True) == (
        "number side missing",
    )
    no("mark-differs", outs, Back("MAIN-2/cap", side="pump side"), CAP)


def test_two_tags_with_one_text():
    assert tag_clash(["V2", "V5"], ["V1"]) is None
    assert tag_clash(["V2", "v 2"], []) == 1
    assert tag_clash(["V2"], ["V2"]) == 0
    assert tag_clash(["", " "], ["", ""]) is None
    assert same_text("V 2", "v2")
    assert not same_text("V2", "V5")


ROD = Origin(frozenset({"ROD-1/rod", "ROD-1/cap", "ROD-2/rod", "ROD-2/cap"}), True, "", "side", (0,), ("rod", "cap"))
ARROW = Origin(frozenset({"MAIN-2/cap"}), True, "", "arrow", (0,))


def test_the_two_halves_of_a_piece_are_each_others_partner():
    assert [partner_of(ROD, one) for one in ("ROD-1/rod", "ROD-1/cap", "ROD-2/cap")] == [
        "ROD-1/cap",
        "ROD-1/rod",
        "ROD-2/rod",
    ]
    assert (partner_of(TAPPET, TWO), partner_of(LINER, "CYL-1/set")) == ("CAMSHAFT/camshaft", "")


@pytest.mark.parametrize("rod", [True, False, None])
@pytest.mark.parametrize("cap", [True, False])
def test_old_half_with_old_and_new_with_new(rod, cap):
    """By brute force: a cap (old or new) goes in to no rod, an old one, a new one; only a mixed pair is refused."""
    standing = {"ROD-2/rod": not cap} | ({} if rod is None else {"ROD-1/rod": rod})
    mixed = rod is not None and rod is not cap
    clash = parted((ROD,), "ROD-1/cap", cap, standing)
    assert clash == ((ROD, ("ROD-1/cap" if cap else "ROD-1/rod",)) if mixed else None)


def test_the_arrow_of_a_cap_points_where_it_pointed():
    cap = "MAIN-2/cap"
    assert judge_return("C 2", [Out(cap, side="front")], Back(cap, side="Front"), ARROW, bound=True) == ()
    assert judge_return("C 2", [Out(cap)], Back(cap, side="front"), ARROW, bound=True) == ("arrow not said",)
    error = no("mark-differs", [Out(cap, side="front")], Back(cap, side="rear"), ARROW)
    assert error.message == "T 1 came out with its arrow towards front, not rear."
