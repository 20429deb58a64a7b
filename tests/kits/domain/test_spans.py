"""Runs of positions drawn together: read back, they are the same positions."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.spans import spans

BOLTS = [f"HEAD-LEFT/bolt-{n:02}" for n in range(1, 11)]


@pytest.mark.parametrize(
    ("positions", "written"),
    [
        ([], []),
        (["SUMP/bead"], ["SUMP/bead"]),
        (BOLTS[:2], BOLTS[:2]),
        (BOLTS, ["HEAD-LEFT/bolt-01 to 10"]),
        ([*BOLTS[:6], *BOLTS[7:]], ["HEAD-LEFT/bolt-01 to 06", "HEAD-LEFT/bolt-08 to 10"]),
        (["CYL-1/ring", "CYL-2/ring", "CYL-3/ring", "CYL-3/shim"], ["CYL-1/ring to 3", "CYL-3/shim"]),
        (["ROD-1/bolt-1", "ROD-1/bolt-2", "ROD-2/bolt-1", "ROD-2/bolt-2"],) * 2,
        (["A-1/b-1", "A-1/b-2", "A-2/b-2", "A-3/b-2"], ["A-1/b-1", "A-1/b-2", "A-2/b-2", "A-3/b-2"]),
        (BOLTS[2::-1], BOLTS[2::-1]),
    ],
)
def test_runs_are_drawn_together(positions, written):
    assert spans(positions) == written


def read_back(text):
    """The positions that a span stands for; which number runs is found by trying each."""
    first, _, last = text.partition(" to ")
    if not last:
        return {(first,)}
    found = set()
    for number in re.finditer(r"\d+", first):
        run = range(int(number[0]), int(last) + 1)
        width = len(number[0])
        found.add(tuple(f"{first[: number.start()]}{n:0{width}}{first[number.end() :]}" for n in run))
    return found


@settings(max_examples=60)
@given(st.lists(st.builds("G-{}/b-{}".format, st.integers(1, 4), st.integers(1, 4)), max_size=12))
def test_what_is_written_stands_for_the_same_positions_in_the_same_order(positions):
    ways = [()]
    for text in spans(positions):
        ways = [before + after for before in ways for after in read_back(text)]
    assert tuple(positions) in ways
