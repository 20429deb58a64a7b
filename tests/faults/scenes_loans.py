"""Stages for what is held for one job and lent to another."""

from __future__ import annotations

from typing import Any

from inventory.models import Part, ShopSetting
from inventory.queries.stock import on_shelves
from kits.services.extras import ask_for_more
from kits.services.lending import answer_to_lend, ask_to_lend, lend
from kits.services.loan_ends import close_loan, give_back_loan
from tests.factories import workshop
from tests.factories.acts import done
from tests.factories.lending import Lending, lending
from tests.faults.scenes import fresh, scene


def _stage() -> Lending:
    """Rings that nobody else has: what other scenes left free would be held first, so a job has all of it; none is kept back."""
    ShopSetting.objects.filter(name="keep_from").delete()
    ring = Part.objects.get(number="RING")
    free = sum(one.free for one in on_shelves([ring.pk]))
    if free:
        job = workshop.job(fresh("ALL"), "RINGS")
        done(ask_for_more, job=job.number, part="RING", amount=free, reason="lost")
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


@scene(close_loan)
def it_does_not_come_back() -> dict[str, Any]:
    stage = _stage()
    request = stage.agreed(stage.borrowers[0], 1)
    done(lend, request=request)
    return {"loan": request, "paid_back": False, "reason": "it tore"}
