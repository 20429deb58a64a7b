"""What a job's own tubes give beyond what they were brought for, part by part."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from kits.domain.rests import OwnTube, Pouring, ToPour, from_rests
from kits.domain.sealant import DEFAULT_RULES

DAY = date(2025, 1, 15)
HOW = {"RTV": Pouring(80_000, DEFAULT_RULES, DAY), "GREASE": Pouring(400_000, DEFAULT_RULES, DAY, 900)}


def joint(name: str, part: str = "RTV", amount: int = 4043, base: str = "microlitre") -> ToPour:
    return ToPour(((f"{name}/bead", 1), part), amount, base, name)


def test_each_part_by_itself_and_what_is_listed_by_weight_by_its_density() -> None:
    tubes = {"RTV": [OwnTube(7, None)], "GREASE": [OwnTube(8, None, hold=3)]}
    wanted = [joint("SUMP"), joint("PIN", "GREASE", 9000, "milligram"), joint("LID", "UNKNOWN")]
    found = from_rests(HOW, tubes, [], wanted)
    assert found.serves == ((("SUMP/bead", 1), "RTV"), (("PIN/bead", 1), "GREASE"))
    assert (found.items, found.holds, found.closed) == (frozenset(), {3}, {7: 1})
    # 80 000 less 4 800 that never come out, less 4 043 × 1.15 + 1 500; 9 000 mg are 10 000 µL
    left = {one.product: one.usable_ul for one in found.left}
    assert left == {"RTV": 75_200 - 6149, "GREASE": 376_000 - 13_000}
    unknown = HOW | {"GREASE": replace(HOW["GREASE"], density_mg_per_ml=None)}
    assert [part for _, part in from_rests(unknown, tubes, [], wanted).serves] == ["RTV"]


def test_what_is_too_old_on_the_day_of_the_work_closes_nothing() -> None:
    late, good = DAY - timedelta(days=1), DAY
    for one in (OwnTube(7, None), OwnTube(7, 80_000, opened_on=DAY)):
        for use_by, serves in ((late, 0), (good, 1), (None, 1)):
            found = from_rests(HOW, {"RTV": [replace(one, use_by=use_by)]}, [], [joint("SUMP")])
            assert len(found.serves) == serves


def test_the_tube_that_stays_anyway_is_begun_before_one_that_nothing_wants() -> None:
    tubes = [OwnTube(7, None), OwnTube(8, None, wanted=True)]
    found = from_rests(HOW, {"RTV": tubes}, [joint("SUMP")], [joint("COVER")])
    assert found.closed == {8: 1}


def test_what_closes_nothing_more_needs_nothing_that_was_not_needed_before() -> None:
    tubes = {"RTV": [OwnTube(7, 12_000, opened_on=DAY)]}
    found = from_rests(HOW, tubes, [joint("SUMP")], [joint("COVER", amount=60_000)])
    assert (found.serves, found.items, found.closed) == ((), frozenset(), {})
    assert [one.usable_ul for one in found.left] == [12_000 - 4800 - 6149]
    assert from_rests(HOW, {}, [], [joint("COVER")]).left == ()
