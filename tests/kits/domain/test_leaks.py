"""How a ring looked as it came out, its groove, and what is said of its lot."""

import pytest

from kits.domain.leaks import groove_of, lacking_test, leak_said, look_refused


def test_how_a_ring_looked_is_said_of_rings_only():
    ring, liner = frozenset({"O-ring"}), frozenset({"matched set"})
    assert [look_refused(one, ring, "CYL-1/ring") for one in ("", "whole", "rolled", "cut")] == [None] * 4
    assert look_refused("", liner, "CYL-1/set") is None
    for looked, kinds in (("squashed", ring), ("rolled", liner), ("cut", ring | liner)):
        assert look_refused(looked, kinds, "CYL-1/ring").code == "ring-look-unusable"


def test_a_lot_is_told_in_one_line():
    assert groove_of("CYL-3/lower-ring") == "lower-ring"
    assert leak_said("CYL-3", "J7", "rolled") == "leaked at CYL-3 on J7, rolled"
    assert leak_said("CYL-3", "J7", "") == "leaked at CYL-3 on J7, not said how the ring looked"


@pytest.mark.parametrize(
    ("good", "why", "since", "said"),
    [
        (None, [], [], "no leak test is on record"),
        (False, ["wet below CYL-1/set"], [], "the leak test was not passed: wet below CYL-1/set"),
        (True, [], ["CYL-2/set", "CYL-1/ring"], "the leak test is older than what went in or came out at CYL-1/ring, CYL-2/set"),
        (True, [], [], ""),
    ],
)  # fmt: skip
def test_only_a_passed_test_of_what_stands_there_now_lets_the_sump_go_on(good, why, since, said):
    assert lacking_test(good, why, since) == said
