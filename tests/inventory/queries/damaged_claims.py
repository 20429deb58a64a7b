"""Damages of claims of owners: each returns what the audit has to find. The claims themselves are made up; entries point at them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kits.models import ClaimAnswer, ClaimCause, ClaimEnd
from tests.factories.damage import lift_guards

Finding = tuple[str, str, int | str]
TABLES = ("kits_claimcause", "kits_claimanswer", "kits_claimend")
WORDS = {"cause": "it leaked", "found_by": "maren", "evidence": "ring on the table"}


def _claim(shop: Any, number: int = 7) -> tuple[ClaimCause, ClaimAnswer]:
    """A claim with one cause and one answer."""
    lift_guards(*TABLES)
    said = {"claim_id": number, "act": shop.correction}
    return (
        ClaimCause.objects.create(**said, **WORDS),
        ClaimAnswer.objects.create(**said, answer="accepted", reason="ours"),
    )


def _end(shop: Any, what: str = "closed", number: int = 7, **more: Any) -> ClaimEnd:
    return ClaimEnd.objects.create(claim_id=number, act=shop.correction, what=what, **more)


def _no_cause(shop: Any) -> list[Finding]:
    _, answer = _claim(shop)
    return [("claim-closed-with-its-cause", "claimend", _end(shop, answer=answer).pk)]


def _no_answer(shop: Any) -> list[Finding]:
    cause, _ = _claim(shop)
    return [("claim-closed-with-its-cause", "claimend", _end(shop, cause=cause).pk)]


def _cause_of_another(shop: Any) -> list[Finding]:
    cause, _ = _claim(shop, 8)
    _, answer = _claim(shop)
    return [("claim-closed-with-its-cause", "claimend", _end(shop, cause=cause, answer=answer).pk)]


def _closed_twice(shop: Any) -> list[Finding]:
    cause, answer = _claim(shop)
    whole = {"cause": cause, "answer": answer}
    _end(shop, **whole)
    return [("claim-ends-in-turn", "claimend", _end(shop, **whole).pk)]


def _opened_while_open(shop: Any) -> list[Finding]:
    _claim(shop)
    return [("claim-ends-in-turn", "claimend", _end(shop, "opened again", reason="by mistake").pk)]


def _two_causes(shop: Any) -> list[Finding]:
    _claim(shop)
    ClaimCause.objects.create(claim_id=7, act=shop.correction, **WORDS)
    return [("claim-has-one-cause-and-answer", "ownerclaim", 7)]


def _two_answers(shop: Any) -> list[Finding]:
    _claim(shop)
    ClaimAnswer.objects.create(claim_id=7, act=shop.correction, answer="refused", reason="not ours")
    return [("claim-has-one-cause-and-answer", "ownerclaim", 7)]


CLAIM_DAMAGES: list[tuple[str, Callable[[Any], list[Finding]]]] = [
    ("claim-closed-with-its-cause", _no_cause),
    ("claim-closed-with-its-cause", _no_answer),
    ("claim-closed-with-its-cause", _cause_of_another),
    ("claim-ends-in-turn", _closed_twice),
    ("claim-ends-in-turn", _opened_while_open),
    ("claim-has-one-cause-and-answer", _two_causes),
    ("claim-has-one-cause-and-answer", _two_answers),
]
