"""Which parts line is meant when a bench says that the list is wrong."""

import pytest

from kits.domain.choices import settle
from kits.domain.explosion import explode
from kits.domain.line_doubts import lines_meant
from tests.factories.engines import family, findings, number, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
PLENTY = {"OLD-GASKET": 9, "OLD-BOLT": 99}


def meant(parts, *positions, codes="T1", said=("chosen@CYL-1",)):
    its = [OPERATIONS[code] for code in codes.split()]
    explosion = explode(FAMILY, its, findings(*said), number("T4-00211"))
    return lines_meant({*parts.split()}, positions, its, explosion, settle(explosion, PLENTY, ()))


@pytest.mark.parametrize(
    ("parts", "positions", "lines"),
    [
        # The list brings it, and too little of it, wherever that is.
        ("RING", [], [("T1", "T1-ring")]),
        ("RING", ["CYL-1/ring"], [("T1", "T1-ring")]),
        # What is asked for replaces what the list has, or the other way round.
        ("RING-NEW RING", ["CYL-1/ring"], [("T1", "T1-ring")]),
        # Another part than the one that is listed there.
        ("LIFTER", ["CYL-1/ring"], [("T1", "T1-ring")]),
        ("LIFTER", ["CYL-1/ring", "ROD-1/bolt-1"], [("T1", "T1-ring"), ("T1", "T1-rod")]),
        # One of the alternatives was taken: it is that line which is wrong, and not the other; the one asked for comes first.
        ("LIFTER", ["HEAD-LEFT/gasket"], [("T1", "T1-G-new")]),
        ("OLD-BOLT", ["HEAD-LEFT/bolt-01"], [("T1", "T1-B-old")]),
        # A line asks for it, but nothing was found that calls for it: its condition is wrong.
        ("RING", ["CYL-2/ring"], [("T1", "T1-ring")]),
        ("MAIN-SHELL", [], [("T1", "T1-main")]),
        # No line at all.
        ("LIFTER", [], [("T1", "")]),
        ("RING", ["VALVE-1/stem-seal"], [("T1", "")]),
    ],
)
def test_the_line_that_is_meant(parts, positions, lines):
    assert list(meant(parts, *positions)) == lines


def test_a_joint_that_two_operations_close_is_doubted_in_both():
    assert meant("WASHER", codes="T1 T3") == (("T1", "T1-washer"), ("T3", "T3-washer"))
    assert meant("LIFTER", codes="T1 T3") == (("T1", ""), ("T3", ""))


def test_before_a_choice_is_made_every_line_of_the_position_is_meant():
    assert meant("LIFTER", "COVER-LEFT/gasket") == (("T1", "T1-C"),)
    low = ("chosen@CYL-1", "low@CYL-1")
    assert meant("LIFTER", "CYL-1/shim", said=low) == (("T1", "T1-thick"), ("T1", "T1-thin"))
    assert meant("SHIM-9", "CYL-1/shim", said=low) == (("T1", "T1-thick"),)
