"""Runs of positions drawn together: read back, they are the same positions."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.spans import in_brief, merged, spans

BOLTS = [f"HEAD-LEFT/bolt-{n:02}" for n in range(1, 11)]


@pytest.mark.parametrize(
    ("positions", "written"),
    [
        ([], []),
        (["SUMP/bead"], ["SUMP/bead"]),
        (BOLTS[:2], BOLTS[:2]),
        (BOLTS, ["HEAD-LEFT/bolt-01 to bolt-10"]),
        ([*BOLTS[:6], *BOLTS[7:]], ["HEAD-LEFT/bolt-01 to bolt-06", "HEAD-LEFT/bolt-08 to bolt-10"]),
        (["CYL-1/ring", "CYL-2/ring", "CYL-3/ring", "CYL-3/shim"], ["ring of CYL-1 to CYL-3", "CYL-3/shim"]),
        (["ROD-1/bolt-1", "ROD-1/bolt-2", "ROD-2/bolt-1", "ROD-2/bolt-2"],) * 2,
        (["A-1/b-1", "A-1/b-2", "A-2/b-2", "A-3/b-2"], ["A-1/b-1", "b-2 of A-1 to A-3"]),
        (BOLTS[2::-1], BOLTS[2::-1]),
        ([f"ROD-{r}/bolt-{b}" for r in (1, 2, 3, 4) for b in (1, 2)], ["bolt-1 and bolt-2 of each of ROD-1 to ROD-4"]),
        (
            [
                "SUMP/bead",
                *(f"ROD-{r}/{name}" for r in (2, 3, 4) for name in ("cap", "bolt-1", "bolt-2", "bolt-3")),
                "OIL/fill",
            ],
            ["SUMP/bead", "cap and bolt-1 to bolt-3 of each of ROD-2 to ROD-4", "OIL/fill"],
        ),
        (["CYL-1/a", "CYL-1/b", "CYL-2/a", "CYL-2/b", "CYL-3/a"],) * 2,
        (["CYL-1", "CYL-2", "CYL-3"], ["CYL-1 to CYL-3"]),
    ],
)
def test_runs_are_drawn_together(positions, written):
    assert spans(positions) == written


def read_back(text):
    """The positions that a span stands for, as a reader counts them out."""
    names, of_each, groups = text.partition(" of each of ")
    if of_each:
        members = [one for part in re.split(", | and ", names) for one in read_back(part)]
        return [f"{group}/{name}" for group in read_back(groups) for name in members]
    name, of_several, groups = text.partition(" of ")
    if of_several:
        return [f"{group}/{name}" for group in read_back(groups)]
    first, _, last = text.partition(" to ")
    if not last:
        return [first]
    last = last if "/" in last or "/" not in first else f"{first.partition('/')[0]}/{last}"
    (at,) = [
        index
        for index, (one, other) in enumerate(zip(re.findall(r"\d+", first), re.findall(r"\d+", last), strict=True))
        if one != other
    ]
    number = list(re.finditer(r"\d+", first))[at]
    run = range(int(number[0]), int(re.findall(r"\d+", last)[at]) + 1)
    return [f"{first[: number.start()]}{n:0{len(number[0])}}{first[number.end() :]}" for n in run]


@settings(max_examples=100)
@given(st.lists(st.builds("G-{}/b-{}".format, st.integers(1, 4), st.integers(1, 4)), max_size=12))
def test_what_is_written_stands_for_the_same_positions_in_the_same_order(positions):
    assert [one for text in spans(positions) for one in read_back(text)] == positions


@pytest.mark.parametrize(
    ("sentences", "written"),
    [
        ([], []),
        (["oil drained"], ["oil drained"]),
        (["chosen (CYL-2)", "chosen (CYL-3)"], ["chosen (CYL-2, CYL-3)"]),
        (["out (VALVE-1)", "drained", "out (VALVE-2)", "out (VALVE-3)"], ["out (VALVE-1 to VALVE-3)", "drained"]),
        (
            ["a (T-1): chosen (CYL-1) → off (BANK-LEFT)", "a (T-1): chosen (CYL-3) → off (BANK-RIGHT)"],
            ["a (T-1): chosen (CYL-1, CYL-3) → off (BANK-LEFT, BANK-RIGHT)"],
        ),
        (["off (CYL-1)", "off (CYL-1) too"], ["off (CYL-1)", "off (CYL-1) too"]),
        (["new, (or reused)", "bolt (SUMP/bolt-01)"], ["new, (or reused)", "bolt (SUMP/bolt-01)"]),
    ],
)
def test_sentences_that_differ_in_places_alone_become_one(sentences, written):
    assert merged(sentences) == written


CHAIN = "cylinder chosen: its set is renewed (CYL-2 to CYL-4) → liner lifted (CYL-2 to CYL-4): renewed whole: liner and piston"


@pytest.mark.parametrize(
    ("reasons", "written"),
    [
        ([], []),
        (
            [f"T1 step 10 (T1-10-2): {CHAIN}; liner lifted, new or reused"],
            ["cylinder chosen (CYL-2 to CYL-4) → liner lifted"],
        ),
        (
            ["T1 step 10 (a): T2 booked → sump off; sump off", "T2 step 30 (b): T2 booked → sump off: it is dropped"],
            ["T2 booked → sump off (also T2/30)"],
        ),
        (
            ["T3 step 5 (c): always when the operation is on the job; a line"],
            ["always when the operation is on the job (T3/5)"],
        ),
        (["T1 step 10 (d): leaks, (wet) (CYL-1/ring, CYL-3/ring); x"], ["leaks, (wet) (CYL-1/ring, CYL-3/ring)"]),
        (
            ["T1 step 10 (f): hot (ring of CYL-1 to CYL-3) → hard (ring of CYL-1 to CYL-3)"],
            ["hot (ring of CYL-1 to CYL-3) → hard"],
        ),
        (["T1 step 10 (e): off (CYL-1) → out (CYL-2)", "asked for"], ["off (CYL-1) → out (CYL-2)", "asked for"]),
    ],
)
def test_becauses_in_brief_keep_the_chain_its_places_and_who_asks(reasons, written):
    assert in_brief(reasons, "T1/10") == written
