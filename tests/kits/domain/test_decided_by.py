"""Which facts decide which kind of result: all of them, and no fact that is not there."""

from dataclasses import fields, replace

import pytest

from kits.domain.decided_by import DECIDED_BY, limits_differ
from kits.domain.facts import EndFloat, Facts
from kits.domain.judging import CLEARANCE, KINDS
from kits.domain.limits import Limits
from kits.domain.standing_verdicts import HEIGHT

BEFORE = Facts(piston_clearance=Limits(90_000, 130_000))


def test_every_kind_that_is_judged_names_facts_that_are_there():
    assert set(DECIDED_BY) == {*KINDS, HEIGHT, "layout"}
    known = {one.name for one in fields(Facts)}
    assert {name for names in DECIDED_BY.values() for name in names} <= known


def test_a_layout_goes_by_all_that_a_height_goes_by():
    assert set(DECIDED_BY[HEIGHT]) < set(DECIDED_BY["layout"])


@pytest.mark.parametrize(
    ("now", "others"),
    [
        (BEFORE, False),
        (replace(BEFORE, piston_clearance=Limits(90_000, 130_001)), True),
        (replace(BEFORE, piston_measured_at_nm=14_000_000), True),
        (replace(BEFORE, end_float=EndFloat(Limits(50_000, 250_000), (), 2, True)), False),
    ],
)
def test_other_limits_are_those_of_its_own_kind(now, others):
    assert limits_differ(CLEARANCE, BEFORE, now) is others
    assert limits_differ(CLEARANCE, now, BEFORE) is others
    assert not limits_differ("by eye", BEFORE, now)
