"""Readings taken together: repeats, doubts, corrections."""

from __future__ import annotations

import pytest

from inventory.domain.errors import DomainError
from kits.domain.expansion import REFERENCE_MK
from kits.domain.taken import allowance_of, doubts_of, missing, of
from tests.factories.reads import read, taken

OLD = {"marks": ("gauge out of date",)}


def test_repeats_stand_for_one_value_and_other_points_for_others() -> None:
    # Mean of two within 2u = 4 µm; median of three: common practice of measuring rooms.
    found = taken(
        read("ring-gap", 350, point="top"),
        read("ring-gap", 400, point="second"),
        read("ring-gap", 354, point="top"),
        read("ring-gap", 350, "CYL-2", "top"),
    )
    assert [(one.place, one.point, one.value_nm, len(one.ids)) for one in found] == [
        ("CYL-1", "top", 352_000, 2),
        ("CYL-1", "second", 400_000, 1),
        ("CYL-2", "top", 350_000, 1),
    ]
    three = [read("ring-gap", size, point="top") for size in (350, 370, 354)]
    assert [one.value_nm for one in taken(*three)] == [354_000]
    assert [one.place for one in of(found, "ring-gap", ["CYL-2"])] == ["CYL-2"]
    assert of(found, "end-float") == ()


def test_two_that_disagree_ask_for_a_third() -> None:
    rows = [read("end-float", size, "ENGINE") for size in (100, 104.001)]
    with pytest.raises(DomainError) as caught:
        taken(*rows)
    assert (caught.value.code, caught.value.values["readings"], caught.value.ways_out) == (
        "readings-disagree",
        [row.id for row in rows],
        ("Read it once more.", "Withdraw what was read wrongly, or enter what was cut since."),
    )


def test_what_may_decide_goes_before_what_may_not() -> None:
    old, good = read("end-float", 300, "ENGINE", **OLD), read("end-float", 150, "ENGINE")
    (one,) = taken(old, good)
    assert (one.value_nm, one.ids, one.doubts) == (150_000, (good.id,), ())
    (other,) = taken(old)
    assert (other.value_nm, other.doubts) == (300_000, ("gauge out of date",))


def test_a_missing_temperature_is_a_doubt_of_light_alloy_and_a_correction_is_said() -> None:
    warm = {"part_mk": REFERENCE_MK + 11_000, "gauge_mk": REFERENCE_MK}
    cold, corrected = (
        read("housing-bore", 60_028, "MAIN-1", part_mk=None),
        read("housing-bore", 60_000, "MAIN-2", **warm),
    )
    found = taken(cold, corrected)
    assert found[0].doubts == ("block: the temperature of part or gauge is missing",)
    assert (found[1].value_nm, found[1].doubts) == (59_985_480, ())
    assert [(said["id"], said["correction_nm"], said["at_20_nm"]) for said in found[1].said] == [
        (corrected.id, -14_520, 59_985_480)
    ]
    assert doubts_of([*found, *found]) == ("block: the temperature of part or gauge is missing",)


def test_the_allowance_counts_each_kind_of_reading_once() -> None:
    # 2·√(3² + 2²) = 7.2111 µm, rounded up to the nanometre: by hand.
    rows = taken(
        read("housing-bore", 60_028, "MAIN-1"),
        read("journal-diameter", 56_000, "MAIN-1"),
        read("journal-diameter", 56_000, "MAIN-2", uncertainty_nm=1000),
    )
    assert allowance_of(rows) == 7212


def test_clamped_only_if_every_reading_was() -> None:
    rows = [read("piston-projection", 470, point="front", clamped=said) for said in (True, None)]
    assert [one.clamped for one in taken(*rows)] == [False]
    assert [one.clamped for one in taken(rows[0])] == [True]


def test_what_is_missing_is_named_in_words() -> None:
    error = missing(["bore-diameter"], "CYL-3")
    assert (error.code, error.message) == ("readings-missing", "CYL-3: not read yet: liner bore.")
