"""A liner and a piston that were not matched by their maker: only a plain pass makes a set."""

from dataclasses import replace

import pytest

from inventory.domain.errors import DomainError
from kits.domain.facts import Facts
from kits.domain.limits import Limits
from kits.domain.matching import Weighing, match
from kits.domain.taken import Taken

# Limits and sizes of the demo shop's worked example (invented): 86.015 - 85.905 = 0.110 mm; pistons within 4 g, weighed with the pin.
FACTS = Facts(
    piston_clearance=Limits(90_000, 120_000),
    piston_measured_at_nm=14_000_000,
    weight_spread_mg=4_000,
    weight_with="pin",
)
POINTS = ("top/along", "top/across", "bottom/along", "bottom/across")
SCALES = Weighing(9, "with pin", 416_000, 100, "416 g", "W-1", ())


def taken(what, value_nm, point, one, doubts=()):
    return Taken(what, "", point, value_nm, 1_000, (one,), doubts, ({"id": one},), True)


def both(bore=(86_015_000,) * 4, piston=85_905_000, height="14 mm", doubts=()):
    bores = [
        taken("bore-diameter", size, point, at) for at, (size, point) in enumerate(zip(bore, POINTS, strict=True), 1)
    ]
    return [*bores, taken("piston-diameter", piston, height, 5, doubts)]


def no(code, them=None, weighings=(SCALES,), facts=FACTS):
    with pytest.raises(DomainError) as caught:
        match(both() if them is None else them, weighings, facts, "S-9")
    assert caught.value.code == code
    return caught.value


def test_a_pass_is_a_set_with_what_the_readings_say_on_its_label():
    found = match(both(bore=(86_014_000, 86_015_000, 86_015_000, 86_017_000)), (SCALES,), FACTS, "S-9")
    # mean of 14, 15, 15 and 17 µm over 86 mm: 15.25 µm
    assert (found.bore_nm, found.piston_nm, found.weight_mg) == (86_015_250, 85_905_000, 416_000)
    assert found.ids == (1, 2, 3, 4, 5, 9)
    assert (found.document["verdict"], found.document["weight_mg"], found.document["weighed_with"]) == (
        "pass", 416_000, "pin",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("changed", "verdict"),
    [
        ({"piston": 85_930_000}, "fail"),
        ({"piston": 85_896_000}, "doubtful"),
        ({"height": "20 mm"}, "doubtful"),
        ({"doubts": ("gauge out of date",)}, "doubtful"),
    ],
)
def test_a_doubt_is_no_set(changed, verdict):
    assert no("match-refused", both(**changed)).values["verdict"] == verdict


def test_the_weight_is_asked_for_where_the_family_limits_it():
    bare = replace(SCALES, point="")
    assert no("readings-missing", weighings=()).values["what"] == ["weight"]
    no("readings-missing", weighings=(bare,))
    free = replace(FACTS, weight_spread_mg=None)
    assert match(both(), (), free, "S-9").weight_mg is None
    assert match(both(), (SCALES,), free, "S-9").weight_mg == 416_000
    plain = replace(FACTS, weight_with="")
    assert match(both(), (bare, SCALES), plain, "S-9").ids[-1] == 9


def test_weighings_agree_and_those_that_may_decide_go_before():
    # Scales of u = 0.1 g: two may differ by 2 times that; of three the median counts (common practice of measuring rooms).
    apart = replace(SCALES, id=10, weight_mg=417_000)
    assert no("readings-disagree", weighings=(SCALES, apart)).values["readings"] == [9, 10]
    assert match(both(), (SCALES, apart, replace(apart, id=11)), FACTS, "S-9").weight_mg == 417_000
    old = replace(SCALES, marks=("gauge out of date",))
    assert no("match-refused", weighings=(old,)).values["why"] == ["gauge out of date"]
    assert match(both(), (old, apart), FACTS, "S-9").weight_mg == 417_000


def test_what_is_missing_is_named():
    assert no("readings-missing", []).values["what"] == ["bore-diameter", "piston-diameter"]
    no("bore-readings-short", both()[1:])
    no("no-limit", facts=replace(FACTS, piston_clearance=None))
