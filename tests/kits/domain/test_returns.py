"""The returns table, every combination of it. Common practice of rebuild shops; the cases of one day are the demo shop's."""

from __future__ import annotations

from itertools import product

import pytest

from inventory.domain.errors import DomainError
from kits.domain.returns import KINDS, Decision, Returned, To, decide, overrule

STOCK, TUBES, QUARANTINE, SCRAP = To.STOCK, To.OPEN_TUBES, To.QUARANTINE, To.SCRAP

#: The sixteen combinations in order: bag sealed? lot readable? was fitted? opened? as y or n.
COMBINATIONS = ["".join(marks) for marks in product("yn", repeat=4)]

#: Answers by combination, then the kinds: S stock, T open-tube bin, Q quarantine, X scrap.
TABLE = """
yyyy yyyn yyny yynn ynyy ynyn ynny ynnn nyyy nyyn nyny nynn nnyy nnyn nnny nnnn
X    X    X    S    X    X    X    Q    X    X    X    X    X    X    X    X    | O-ring, seal, lip seal, stem seal, bearing
X    X    Q    S    X    X    Q    Q    X    X    Q    Q    X    X    Q    Q    | gasket
X    X    S    S    X    X    Q    Q    X    X    S    S    X    X    Q    Q    | fastener, washer
T    T    T    S    X    X    X    Q    T    T    T    S    X    X    X    Q    | sealant, lubricant, fluid
Q    Q    S    S    Q    Q    Q    Q    Q    Q    S    S    Q    Q    Q    Q    | matched set, hard part, shim, valve train
Q    Q    S    S    Q    Q    Q    Q    Q    Q    S    S    Q    Q    Q    Q    | service part, consumable, measuring
Q    Q    Q    S    Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    | kit, kit of sets
Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    Q    | core, unheard of
"""
LETTERS = {"S": STOCK, "T": TUBES, "Q": QUARANTINE, "X": SCRAP}
HEAD, *ROWS = TABLE.strip().splitlines()
CASES = [
    (kind.strip(), marks, LETTERS[letter])
    for letters, kinds in (row.split("|") for row in ROWS)
    for kind in kinds.split(",")
    for marks, letter in zip(COMBINATIONS, letters.split(), strict=True)
]


def back(kind: str, marks: str, *, expired: bool = False, stopped: bool = False) -> Returned:
    sealed, readable, fitted, opened = (mark == "y" for mark in marks)
    return Returned(kind, sealed, readable, fitted, opened, expired, stopped)


def test_the_table_has_every_kind_and_every_combination() -> None:
    assert HEAD.split() == COMBINATIONS
    told = {kind.lower() for kind, _, _ in CASES}
    assert told == {*KINDS, "core", "unheard of"}
    assert len(CASES) == 16 * (len(KINDS) + 2)


@pytest.mark.parametrize("kind", sorted({kind for kind, _, _ in CASES}))
def test_every_combination(kind: str) -> None:
    expected = {marks: to for name, marks, to in CASES if name == kind}
    assert {marks: decide(back(kind, marks)).to for marks in expected} == expected


def test_what_is_stopped_or_past_its_use_by_never_goes_back() -> None:
    for kind, marks, _ in CASES:
        assert decide(back(kind, marks, stopped=True)) == Decision(
            QUARANTINE, "Its lot is stopped: quarantine until the lot is freed.", firm=True
        )
        assert decide(back(kind, marks, stopped=True, expired=True)).to is QUARANTINE
        assert decide(back(kind, marks, expired=True)) == Decision(SCRAP, "It is past its use-by.", firm=True)


def test_only_what_is_unfitted_and_readable_reaches_the_shelf() -> None:
    for kind, marks, to in CASES:
        _, readable, fitted, _ = marks
        if to is STOCK:
            assert (readable, fitted) == ("y", "n"), (kind, marks)


def test_every_answer_has_a_sentence() -> None:
    reasons = {decide(back(kind, marks)).reason for kind, marks, _ in CASES}
    assert [reason for reason in reasons if not reason.endswith(".") and "a person decides" not in reason] == []
    assert len(reasons) >= 12


def test_one_day_at_the_demo_shop() -> None:
    # one unopened gasket, two rings of an opened bag, stem seals with a broken bag, a tube opened for one joint
    assert decide(back("gasket", "yynn")).to is STOCK
    assert decide(back("O-ring", "nynn")) == Decision(
        SCRAP, "The bag is open: rubber seal from an open bag does not go back."
    )
    assert decide(back("stem seal", "nynn")).to is SCRAP
    assert decide(back("sealant", "nyny")) == Decision(
        TUBES, "Open: weigh it, write the day of opening on it; the open life runs."
    )


def test_kinds_are_read_without_case_and_blanks() -> None:
    assert decide(back("  LIP   seal ", "yynn")).to is STOCK
    assert decide(back("matched_set", "yynn")).to is STOCK


def test_overruling_needs_the_permission_and_a_reason() -> None:
    table = decide(back("gasket", "nynn"))
    with pytest.raises(DomainError) as refused:
        overrule(table, STOCK, may_overrule=False, reason="looked at it")
    assert refused.value.code == "return-override-refused"
    with pytest.raises(DomainError) as refused:
        overrule(table, STOCK, may_overrule=True, reason="  ")
    assert refused.value.code == "reason-missing"
    assert overrule(table, STOCK, may_overrule=True, reason=" flat, no scratch ") == Decision(
        STOCK,
        "flat, no scratch (the table said quarantine: Out of its wrapping: somebody looks at it for kinks and scratches first.)",
    )


def test_nobody_overrules_what_was_fitted_expired_or_stopped_back_to_the_shelf() -> None:
    firm = [
        decide(back("fastener", "nyyn")),
        decide(back("O-ring", "nyyn")),
        decide(back("matched set", "nyyn")),
        decide(back("O-ring", "yynn", expired=True)),
        decide(back("O-ring", "yynn", stopped=True)),
    ]
    for decision in firm:
        assert decision.firm
        for to in (STOCK, TUBES):
            with pytest.raises(DomainError) as refused:
                overrule(decision, to, may_overrule=True, reason="needed")
            assert refused.value.code == "return-override-refused"
        assert overrule(decision, QUARANTINE, may_overrule=True, reason="kept for the claim").to is QUARANTINE
