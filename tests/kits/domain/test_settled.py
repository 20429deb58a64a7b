"""Totals by part, and reused positions taken off the list."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.choices import settle
from kits.domain.explosion import explode
from kits.domain.findings import Finding
from kits.domain.settled import PartTotal, Reuse, take_off, totals
from tests.factories.engines import family, findings, number, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
ALL = [Finding(code.code, place) for code in FAMILY.findings.values() for place in FAMILY.map.places(code.scope)]
CAM = settle(
    explode(FAMILY, [OPERATIONS["T2"]], findings("cam-worn@ENGINE", "valve-out@VALVE-1"), number("T4-00150")), {}
)


def test_totals_by_part():
    settled = settle(
        explode(FAMILY, [OPERATIONS["T3"], OPERATIONS["T1"]], findings("lifted@CYL-1"), number("T4-00150")), {}
    )
    assert totals(settled) == (
        PartTotal("COVER-RUBBER", "piece", 1, (("COVER-LEFT/gasket", 1),)),
        PartTotal("NEW-BOLT", "piece", 10, tuple((f"HEAD-LEFT/bolt-{n:02d}", 1) for n in range(1, 11))),
        PartTotal("NEW-GASKET", "piece", 1, (("HEAD-LEFT/gasket", 1),)),
        PartTotal("OIL", "microlitre", 4_000_000, (("OIL/fill", 1),)),
        PartTotal("RING", "piece", 1, (("CYL-1/ring", 1),)),
        PartTotal("ROD-BOLT", "piece", 2, (("ROD-1/bolt-1", 1), ("ROD-1/bolt-2", 1))),
        PartTotal("SEALANT", "microlitre", 7069, (("SUMP/bead", 1),)),
        PartTotal("SHELL-STD", "piece", 1, (("ROD-1/shells", 1),)),
        PartTotal("WASHER", "piece", 1, (("SUMP/washer", 1),)),
    )


@settings(max_examples=50, deadline=None)
@given(st.lists(st.sampled_from(list(OPERATIONS.values())), max_size=4), st.lists(st.sampled_from(ALL), max_size=6))
def test_total_units_are_the_number_of_counted_positions(on_job, said):
    settled = settle(explode(FAMILY, on_job, said, number("T4-00150")), {})
    counted = [one for one in settled.lines if one.candidate.amount.how == "count"]
    by_part = totals(settled)
    assert sum(one.amount for one in by_part if one.base == "piece") == len(counted)
    assert sorted(key for one in by_part for key in one.keys) == sorted(one.key for one in settled.lines)


def reuse(position="LIFTER-3/lifter", came_from="LIFTER-3/lifter", inspection="I-17", passed=True):
    return Reuse(position, came_from, inspection, passed)


def test_a_reused_position_is_taken_off():
    off = take_off(CAM, (reuse(),))
    assert [one.position for one in off.taken] == ["LIFTER-3/lifter"]
    assert off.refused == ()
    assert set(off.settled.lines) | set(off.taken) == set(CAM.lines)
    assert len(off.settled.lines) == len(CAM.lines) - 1 == 8
    assert take_off(CAM, {("LIFTER-3/lifter", 1): reuse()}) == off


@pytest.mark.parametrize(
    ("wish", "sentence"),
    [
        (
            reuse("VALVE-1/stem-seal", "VALVE-1/stem-seal"),
            "STEM-SEAL at VALVE-1/stem-seal is always new: it is never reused.",
        ),
        (reuse(inspection=" "), "LIFTER-3/lifter: no inspection is recorded, so its part cannot be reused."),
        (reuse(passed=False), "LIFTER-3/lifter: the inspection I-17 was not passed."),
        (
            reuse(came_from="LIFTER-4/lifter"),
            "LIFTER-3/lifter: a reused part goes back to its own place, this one came from LIFTER-4/lifter.",
        ),
        (
            reuse(came_from=""),
            "LIFTER-3/lifter: a reused part goes back to its own place, this one came from an unknown place.",
        ),
        (reuse("OIL/fill", "OIL/fill"), "OIL/fill is not on the list, so there is nothing to take off."),
    ],
)
def test_what_may_not_be_reused_stays_on_the_list_with_its_reason(wish, sentence):
    off = take_off(CAM, (wish,))
    assert (off.refused, off.taken, off.settled.lines) == (((wish.position, sentence),), (), CAM.lines)
