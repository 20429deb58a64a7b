"""What may be a member of a set that is matched again."""

from dataclasses import replace

import pytest

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import Member, Tracked
from inventory.domain.matching import Candidate, check_core_value, check_members

LINER = Candidate(Member.LINER, "the liner", Member.LINER, True, Tracked.SET, "Q1", False, False)
PISTON = replace(LINER, wanted=Member.PISTON, label="the piston", is_member=Member.PISTON)
PIN = replace(LINER, wanted=Member.PIN, label="the pin", is_member=Member.PIN)
#: A new piston that is a part by itself, with its own pin.
SINGLE = replace(PISTON, is_member=Member.WHOLE, same_part=False, tracked=Tracked.SERIAL)


@pytest.mark.parametrize("them", [(LINER, PISTON, PIN), (LINER, SINGLE), (LINER, SINGLE, PIN)])
def test_orphans_and_single_parts_make_a_set(them):
    check_members(them)


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"is_member": Member.PISTON}, "match-member-wrong"),
        ({"same_part": False}, "match-member-wrong"),
        ({"is_member": Member.WHOLE}, "match-member-wrong"),
        ({"is_member": Member.WHOLE, "same_part": False, "tracked": Tracked.LOT}, "match-member-wrong"),
        ({"is_member": Member.WHOLE, "same_part": False, "tracked": Tracked.NOTHING}, "match-member-wrong"),
        ({"place": ""}, "not-there"),
        ({"was_in_engine": True}, "was-in-engine"),
        ({"stopped": True}, "stopped"),
    ],
)
def test_what_cannot_be_a_member_is_named_with_its_line(changed, code):
    with pytest.raises(ManyErrors) as caught:
        check_members((replace(LINER, **changed), PISTON, replace(PIN, **changed | {"is_member": Member.LINER})))
    assert [number for number, _ in caught.value.errors] == [1, 3]
    assert caught.value.errors[0][1].code == code


@pytest.mark.parametrize(
    ("them", "missing"),
    [((LINER,), ["piston"]), ((PISTON, PIN), ["liner"]), ((PIN,), ["liner", "piston"]), ((LINER, PISTON), ["pin"])],
)
def test_half_a_set_is_none(them, missing):
    with pytest.raises(DomainError) as caught:
        check_members(them)
    assert (caught.value.code, caught.value.values["missing"]) == ("half-a-set", missing)


def test_they_lie_together():
    with pytest.raises(DomainError) as caught:
        check_members((LINER, PISTON, replace(PIN, place="Q2")))
    assert (caught.value.code, caught.value.values["places"]) == ("wrong-place", ["Q1", "Q2"])


def test_a_core_is_worth_something_or_says_that_it_is_worth_nothing():
    check_core_value(None, 10)
    check_core_value(1, 10)
    check_core_value(10, 10)
    for value, code in ((0, "amount-not-positive"), (-1, "amount-not-positive"), (11, "amount-too-large")):
        with pytest.raises(DomainError) as caught:
            check_core_value(value, 10)
        assert caught.value.code == code
