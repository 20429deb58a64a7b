"""A claim of an owner: the engine went out, leaked inside its term, was looked at, answered and closed; told with its pack."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from api.demo.catalogue import Say, Staff
from api.demo.files import document, moment, once, stamp
from inventory.services.run import Stamp
from kits.domain.owner_claims import ThingIn
from kits.queries.claim_pack import claim_pack
from kits.queries.owner_claims import claim_by_number, rendered_claims
from kits.services.build import record_after_run, record_first_run
from kits.services.claim_entries import answer_claim, close_claim, state_cause
from kits.services.owner_claims import MeterIn, enter_claim, name_things
from kits.services.terms import hand_engine_over, read_meter


def tell_claims(staff: Staff, say: Say) -> None:
    """Each claim of the file under a heading of its own."""
    for its in document("claims")["claims"]:
        _went_out(staff, its)
        say("")
        say(f"{its['clerk']} has a claim on {its['engine']}, told on {its['told_on']}: {its['what']}")
        made = _told(staff, its)
        term = made["term"]
        say(f"  the work of job {made['job']}, handed over on {term['handed_over_on']}; inside the term: {_yes(term)}")
        for one in term["limits"]:
            say(f"    {one['limit']}: {one['why']}")
        _decided(staff, its, made["claim"])
        _tell(made["claim"], say)


def _went_out(staff: Staff, its: Mapping[str, Any]) -> None:
    """The first run, the hand-over with the meter read, and what fell due after it."""
    job, out = its["job"], its["handed_over_on"]
    once(record_first_run,
        actor=staff[its["fitter"]], stamp=_at(its, "first run", out, 16), job=job, run_on=date.fromisoformat(out),
        values=its["first_run"], released_by=staff[its["checker"]],
    )  # fmt: skip
    once(hand_engine_over,
        actor=staff[its["clerk"]], stamp=_at(its, "out", out, 17), job=job, handed_over_on=date.fromisoformat(out),
    )  # fmt: skip
    meter = its["meter"]
    once(read_meter,
        actor=staff[its["clerk"]], stamp=_at(its, "meter", out, 18), engine=its["engine"], meter=meter["meter"], moment="hand-over",
        read_on=date.fromisoformat(out), shows=Decimal(meter["at_hand_over"]), photo_ref=meter["photo"],
    )  # fmt: skip
    for what, day in its["done_after"].items():
        once(record_after_run,
            actor=staff[its["fitter"]], stamp=_at(its, what, day, 15), job=job, what=what, done_on=date.fromisoformat(day),
        )  # fmt: skip


def _told(staff: Staff, its: Mapping[str, Any]) -> dict[str, Any]:
    meter = its["meter"]
    return once(enter_claim,
        actor=staff[its["clerk"]], stamp=_at(its, "told", its["told_on"], 9), engine=its["engine"],
        told_on=date.fromisoformat(its["told_on"]), told_by=its["told_by"], what=its["what"],
        meters=[MeterIn(meter["meter"], Decimal(meter["at_claim"]), meter["photo"])],
    )  # fmt: skip


def _decided(staff: Staff, its: Mapping[str, Any], claim: int) -> None:
    """What the strip showed, the cause, the answer and the closing."""
    strip, answer, clerk = its["strip"], its["answer"], staff[its["clerk"]]
    thing = ThingIn(strip["position"], what=strip["what"], photo_ref=strip["photo"])
    once(name_things, actor=clerk, stamp=_at(its, "strip", strip["on"], 14), claim=claim, things=[thing])
    checker = staff[its["checker"]]
    once(state_cause, actor=checker, stamp=_at(its, "cause", strip["on"], 16), claim=claim, **its["cause"])
    words = {"answer": answer["answer"], "reason": answer["reason"]}
    once(answer_claim, actor=clerk, stamp=_at(its, "answer", answer["on"], 9), claim=claim, **words)
    once(close_claim, actor=clerk, stamp=_at(its, "close", answer["on"], 10), claim=claim)


def _tell(number: int, say: Say) -> None:
    """The claim as it is read, and what its pack has and lacks."""
    row = claim_by_number(number)
    told = rendered_claims([row])[0]
    for thing in told.things:
        say(f"  {thing.position}: {thing.part}, lot {thing.lot}: {thing.what}")
    for cause in told.causes:
        samples = f"oil sample {cause.oil_sample}, coolant sample {cause.coolant_sample}"
        say(f"  cause, found by {cause.found_by}: {cause.cause} ({samples})")
    for answer in told.answers:
        say(f"  answered: {answer.answer}, {answer.reason}; the claim is {told.state}")
    pack = claim_pack(row, row.told_on)
    gaps = sum(one.gaps for one in pack["contents"])
    say(f"  its pack, claims/{number}/pack?format=html: {len(pack['contents'])} sections, {gaps} places not recorded")
    for gap in pack["missing"]:
        count = f", {len(gap.rows)} times" if len(gap.rows) > 1 else ""
        say(f"    {gap.section}: {gap.what}{count}")


def _yes(term: Mapping[str, Any]) -> str:
    return {True: "yes", False: "no", None: "not decided"}[term["within"]]


def _at(its: Mapping[str, Any], name: str, day: str, hour: int) -> Stamp:
    return stamp(f"claim {its['engine']} {name}", moment(day, hour))
