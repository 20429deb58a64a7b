"""Grooves in a family's facts."""

from __future__ import annotations

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.groove import Groove
from kits.domain.grooves import grooves_of

ROW = {"part": "X-1", "groove_diameter": "108.6 mm", "bore": "114.5 mm", "width": "4.8 mm"}


def test_a_groove_with_and_without_tolerances() -> None:
    with_tolerance = {"groove_diameter_tolerance": "0.05 mm", "width_tolerance": "0.1 mm"}
    assert grooves_of({"grooves": [ROW, ROW | {"part": "X-2"} | with_tolerance]}) == (
        ("X-1", Groove(108_600_000, 114_500_000, 4_800_000)),
        ("X-2", Groove(108_600_000, 114_500_000, 4_800_000, 50_000, 0, 100_000)),
    )
    assert grooves_of({}) == ()


@pytest.mark.parametrize(
    "grooves",
    [
        {},
        ["X-1"],
        [{"part": "X-1"}],
        [ROW | {"bore": 114.5}],
        [ROW | {"bore": "114,5 mm"}],
        [ROW | {"bore": "114.5 g"}],
        [ROW | {"bore": "-1 mm"}],
        [ROW | {"width_tolerance": None}],
    ],
)
def test_what_is_no_groove_is_refused(grooves: object) -> None:
    with pytest.raises(DomainError) as refused:
        grooves_of({"grooves": grooves})
    assert refused.value.code == "groove-unreadable"
