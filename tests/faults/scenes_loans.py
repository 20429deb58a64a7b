"""Stages for what is held for one job and lent to another."""

from __future__ import annotations

from typing import Any

from kits.services.lending import answer_to_lend, ask_to_lend, give_back_loan, lend
from tests.factories.acts import done
from tests.factories.lending import Lending, lending
from tests.faults.scenes import fresh, scene


def _stage() -> Lending:
    return lending(name=fresh("L"), lot=fresh("LOT"))


@scene(ask_to_lend)
def two_rings_of_another_job() -> dict[str, Any]:
    stage = _stage()
    return {
        "job": stage.borrowers[0], "hold": stage.hold, "amount": 2, "asked_of": stage.technician, "reason": "two are torn",
    }  # fmt: skip


@scene(answer_to_lend)
def it_may_have_them() -> dict[str, Any]:
    stage = _stage()
    return {"actor": stage.technician, "request": stage.asked(stage.borrowers[0]), "agreed": True}


@scene(lend)
def one_of_the_two_goes() -> dict[str, Any]:
    stage = _stage()
    return {"request": stage.agreed(stage.borrowers[0], 1)}


@scene(give_back_loan)
def others_came() -> dict[str, Any]:
    stage = _stage()
    request = stage.agreed(stage.borrowers[0], 1)
    done(lend, request=request)
    return {"loan": request, "reason": "others came"}
