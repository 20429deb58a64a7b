"""The words by which a list takes the parts that a result chose: over the place of the choice, once, and only where one is asked for."""

from __future__ import annotations

from kits.domain.choices import settle
from kits.domain.explosion import explode
from kits.domain.judging import Chosen
from kits.domain.settled import Recorded
from kits.domain.words import words_for
from tests.factories.engines import family, findings, number, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
# Heads of both banks off, two liners low: shims of two bores and the gaskets of both banks are to be chosen.
LISTED = explode(
    FAMILY,
    [OPERATIONS["T1"]],
    findings("lifted@CYL-1", "lifted@CYL-3", "low@CYL-1", "low@CYL-3"),
    number("T4-00149"),
)


def test_a_choice_for_each_position_and_one_for_each_bank() -> None:
    shims = words_for(LISTED, [Chosen("SHIM-9", "CYL-1/shim"), Chosen("SHIM-5", "CYL-3/shim")])
    assert shims == (Recorded("shim", "CYL-1/shim", "thick"), Recorded("shim", "CYL-3/shim", "thin"))
    gaskets = words_for(LISTED, [Chosen("NEW-GASKET"), Chosen("NEW-GASKET", "HEAD-LEFT/gasket")])
    assert gaskets == (
        Recorded("head-joint", "BANK-LEFT", "new"),
        Recorded("head-joint", "BANK-RIGHT", "new"),
    )
    settled = settle(LISTED, {"OLD-GASKET": 9, "OLD-BOLT": 99}, [*shims, *gaskets])
    taken = {line.position: line.part for line in settled.lines}
    assert (taken["CYL-1/shim"], taken["CYL-3/shim"], taken["HEAD-LEFT/gasket"]) == ("SHIM-9", "SHIM-5", "NEW-GASKET")


def test_what_the_list_does_not_ask_for_needs_no_word() -> None:
    for one in (
        Chosen("SHIM-9", "CYL-2/shim"),
        Chosen("RING", "CYL-1/ring"),
        Chosen("X"),
        Chosen("SHIM-9", "CYL-1/set"),
    ):
        assert words_for(LISTED, [one]) == ()
