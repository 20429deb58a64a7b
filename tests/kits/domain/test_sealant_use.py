"""Waste learned from records, and beads that run too fat."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.sealant_use import Use, learned, too_fat


def _use(job: str, actual: int, planned: int = 13_531, laid: int = 10_462) -> Use:
    return Use(job, "SUMP", laid, 1500, planned, actual)


def test_a_bead_as_planned_wasted_what_the_book_says() -> None:
    # the demo shop's sump: 10.462 mL laid, 15 % waste, 1.5 mL priming: 13.531 mL (worked example, to a microlitre)
    assert abs(_use("J1", 13_531).waste - Fraction(15, 100)) < Fraction(1, 10_000)
    assert _use("J1", 10_462 + 1500).waste == 0


def test_the_mean_and_its_range() -> None:
    found = learned([_use(f"J{at}", 1500 + 10_000 + more, laid=10_000) for at, more in enumerate((500, 1000, 3000))])
    assert (found.count, found.mean, found.low, found.high) == (3, Fraction(3, 20), Fraction(1, 20), Fraction(3, 10))
    assert found.thin
    assert not learned([_use(f"J{at}", 13_531) for at in range(5)]).thin
    none = learned([])
    assert (none.count, none.mean, none.low, none.high, none.thin) == (0, None, None, None, True)


def test_five_fat_jobs_running_are_told() -> None:
    fat = [_use(f"J{at}", 1501, planned=1000) for at in range(5)]
    assert too_fat(fat)
    assert not too_fat(fat[:4])
    # on the limit is not over it, and one good job among the last five ends it
    assert not too_fat([*fat[:4], _use("J9", 1500, planned=1000)])
    assert not too_fat([*fat, _use("J9", 900, planned=1000)])
    assert too_fat([_use("J9", 900, planned=1000), *fat])


def test_beads_of_one_job_are_one_job() -> None:
    # made again: twice the book, so twice the use is no fat bead
    assert not too_fat([_use("J1", 1501, planned=1000)] * 5)
    others = [_use(f"J{at}", 1501, planned=1000) for at in range(4)]
    assert not too_fat([*others, _use("J9", 1900, planned=1000), _use("J9", 1000, planned=1000)])
    assert too_fat([*others, _use("J9", 2001, planned=1000), _use("J9", 1000, planned=1000)])


@given(st.lists(st.integers(1500, 40_000), min_size=1, max_size=12))
@settings(max_examples=40, deadline=None)
def test_the_mean_lies_in_its_range(actual: list[int]) -> None:
    found = learned([_use(f"J{at}", one) for at, one in enumerate(actual)])
    assert found.low is not None and found.mean is not None and found.high is not None
    assert found.low <= found.mean <= found.high
    assert found.count == len(actual)
