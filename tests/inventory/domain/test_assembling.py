"""What may go into a closed kit. Kit of the demo shop (invented): A-801 holds A-203, A-204, A-205 once and A-210 eight times."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.assembling import DEEPEST, Limb, box_expiry, check_limbs
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import Tracked

HOLDS = {"A-203": 1, "A-204": 1, "A-205": 1, "A-210": 8}
DAY = date(2025, 1, 15)


def limb(part: str, each: int = 1, **more) -> Limb:
    return Limb(label=f"{part}, lot L1", part=part, each=each, **more)


def whole(**changed: Limb) -> list[Limb]:
    limbs = {"A-203": limb("A-203"), "A-204": limb("A-204"), "A-205": limb("A-205"), "A-210": limb("A-210", 8)}
    return list((limbs | changed).values())


def refused(limbs) -> DomainError:
    with pytest.raises(DomainError) as caught:
        check_limbs("A-801", HOLDS, limbs, DAY)
    return caught.value


def test_all_of_it_goes_in_from_one_lot_or_from_several():
    check_limbs("A-801", HOLDS, whole(), DAY)
    two_lots = [*whole(**{"A-210": limb("A-210", 5)}), limb("A-210", 3)]
    check_limbs("A-801", HOLDS, two_lots, DAY)


@pytest.mark.parametrize(("pieces", "said"), [(7, "A-210: 8 go in, 7 were given"), (9, "A-210: 8 go in, 9 were given")])
def test_one_piece_short_or_over_is_named(pieces, said):
    error = refused(whole(**{"A-210": limb("A-210", pieces)}))
    assert (error.code, error.message) == ("kit-incomplete", f"A-801 is not complete: {said}.")
    assert error.values["parts"] == [{"part": "A-210", "needs": 8, "given": pieces}]


def test_every_part_that_lacks_is_named():
    error = refused([limb("A-203")])
    assert [(one["part"], one["given"]) for one in error.values["parts"]] == [("A-204", 0), ("A-205", 0), ("A-210", 0)]


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        (limb("A-203", stopped=True), "stopped"),
        (limb("A-203", expires_on=date(2025, 1, 14)), "expired"),
        (limb("A-203", lot_known=False), "lot-unknown"),
        (limb("A-203", half=True), "not-for-kit"),
        (limb("A-203", opened=True), "not-for-kit"),
        (limb("A-203", tracked=Tracked.SERIAL), "not-for-kit"),
        (limb("A-203", tracked=Tracked.SET), "not-for-kit"),
        (limb("A-203", kits={"A-203", "A-801"}), "kit-loop"),
        (limb("A-203", kits={"A-203"}, depth=DEEPEST), "not-for-kit"),
        (limb("A-801"), "kit-loop"),
        (limb("A-209"), "not-in-kit"),
    ],
)
def test_what_does_not_go_in_is_named_by_line(wrong, code):
    error = refused([limb("A-204"), wrong])
    assert isinstance(error, ManyErrors)
    assert [(number, one.code) for number, one in error.errors] == [(2, code)]


def test_on_the_day_of_its_use_by_it_still_goes_in_and_so_does_what_needs_no_lot():
    last = limb("A-203", expires_on=DAY)
    check_limbs("A-801", HOLDS, whole(**{"A-203": last}), DAY)
    check_limbs("A-801", HOLDS, whole(**{"A-204": limb("A-204", tracked=Tracked.NOTHING, lot_known=False)}), DAY)
    check_limbs("A-801", HOLDS, whole(**{"A-205": limb("A-205", kits={"A-205"}, depth=DEEPEST - 1)}), DAY)


def test_a_box_is_good_as_long_as_its_shortest_lived_content():
    limbs = [limb("A-203"), limb("A-210", expires_on=date(2031, 9, 30)), limb("A-205", expires_on=date(2030, 6, 30))]
    assert box_expiry(limbs) == (date(2030, 6, 30), "earliest of its contents: A-205, lot L1")
    assert box_expiry([limb("A-203")]) == (None, "its contents have no limit")


@given(st.lists(st.tuples(st.sampled_from(sorted(HOLDS)), st.integers(1, 9)), max_size=6))
def test_it_goes_in_exactly_when_the_pieces_add_up(bags):
    sums = {part: sum(pieces for named, pieces in bags if named == part) for part in HOLDS}
    limbs = [limb(part, pieces) for part, pieces in bags]
    if sums == HOLDS:
        check_limbs("A-801", HOLDS, limbs, DAY)
    else:
        wrong = {one["part"] for one in refused(limbs).values["parts"]}
        assert wrong == {part for part in HOLDS if sums[part] != HOLDS[part]}
