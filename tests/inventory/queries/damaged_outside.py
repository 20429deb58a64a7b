"""Damages of losses at outside machinists: each returns what the audit has to find. What was sent is made up; a loss points at it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from inventory.services.count import CountLine, count
from kits.models import OutsideLoss, OutsideWork
from tests.factories.damage import lift_guards
from tests.factories.stores import PersonFactory, stamp

Finding = tuple[str, str, int | str]


def _lost(shop: Any, act: int, amount: int, sent: int = 5) -> OutsideLoss:
    """So many of the rings that were sent from R1's spot are lost by an act."""
    lift_guards("kits_outsidework", "kits_outsideloss")
    work = OutsideWork.objects.create(
        job_id=7, act=shop.correction, item=shop.ring, amount=sent, spot=shop.r1, sent_on=date(2025, 1, 15),
        due_on=date(2025, 1, 20),
    )  # fmt: skip
    return OutsideLoss.objects.create(outside_work=work, act_id=act, amount=amount, said_by="foreman", reason="pit")


def _two_gone(shop: Any) -> int:
    """The act by which two rings leave R1 for the count difference, as a loss moves them."""
    words = {"place": "R1", "lines": [CountLine(6, item_id=shop.ring.pk)], "reason": "two are gone"}
    return int(count(actor=PersonFactory(), stamp=stamp(), **words).act_id)


def _nothing_left(shop: Any) -> list[Finding]:
    return [("outside-loss-left-the-machinist", "outsideloss", _lost(shop, shop.correction.pk, 2).pk)]


def _less_left(shop: Any) -> list[Finding]:
    return [("outside-loss-left-the-machinist", "outsideloss", _lost(shop, _two_gone(shop), 3).pk)]


def _left_to_elsewhere(shop: Any) -> list[Finding]:
    """The act that took as many from there took them to a cart."""
    return [("outside-loss-left-the-machinist", "outsideloss", _lost(shop, shop.picked.end.act_id, 2).pk)]


def _more_than_sent(shop: Any) -> list[Finding]:
    loss = _lost(shop, _two_gone(shop), 2, sent=1)
    return [("outside-lost-no-more-than-sent", "outsidework", loss.outside_work_id)]


OUTSIDE_DAMAGES: list[tuple[str, Callable[[Any], list[Finding]]]] = [
    ("outside-loss-left-the-machinist", _nothing_left),
    ("outside-loss-left-the-machinist", _less_left),
    ("outside-loss-left-the-machinist", _left_to_elsewhere),
    ("outside-lost-no-more-than-sent", _more_than_sent),
]
