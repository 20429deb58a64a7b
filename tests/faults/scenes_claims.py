"""Stages for claims of owners: entered, added to, ended."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from kits.domain.owner_claims import ThingIn
from kits.models import ClaimThing, Job
from kits.services.claim_entries import answer_claim, close_claim, open_claim_again, state_cause, take_claim_back
from kits.services.owner_claims import MeterIn, enter_claim, name_things, withdraw_thing
from tests.factories.acts import done
from tests.factories.claims import ANSWER, CAUSE, claimed, decided
from tests.factories.stores import NOON
from tests.faults.scenes import scene
from tests.faults.scenes_jobs import job

RING = [ThingIn("CYL-1/set", what="water below it", photo_ref="photo 3")]


@scene(enter_claim)
def coolant_in_the_oil() -> dict[str, Any]:
    built = job()
    Job.objects.filter(pk=built.pk).update(state=Job.State.CLOSED)
    told = {"told_on": NOON.date(), "told_by": "owner", "what": "coolant in the oil"}
    meters = [MeterIn("hours", Decimal(900), "photo 1")]
    return {"engine": built.engine.number, "job": built.number, "things": RING, "meters": meters, **told}


@scene(name_things)
def a_cylinder_that_leaked() -> dict[str, Any]:
    return {"claim": claimed(job()), "things": RING}


@scene(withdraw_thing)
def a_cylinder_that_was_dry() -> dict[str, Any]:
    given = a_cylinder_that_leaked()
    done(name_things, **given)
    made = ClaimThing.objects.order_by("pk").last()
    assert made is not None
    return {"claim": given["claim"], "thing": made.pk, "reason": "it is dry"}


@scene(state_cause)
def a_ring_that_rolled() -> dict[str, Any]:
    return {"claim": claimed(job()), "oil_sample": "O-12", **CAUSE}


@scene(answer_claim)
def a_claim_that_is_ours() -> dict[str, Any]:
    return {"claim": claimed(job()), **ANSWER}


@scene(close_claim)
def one_that_was_answered() -> dict[str, Any]:
    return {"claim": decided(job())}


@scene(take_claim_back)
def one_that_is_none() -> dict[str, Any]:
    return {"claim": claimed(job()), "reason": "the hose leaked"}


@scene(open_claim_again)
def one_that_was_closed_too_soon() -> dict[str, Any]:
    claim = decided(job())
    done(close_claim, claim=claim)
    return {"claim": claim, "reason": "it leaks again"}
