"""A bead that was laid: when, out of which tubes, by weight; and whether it was in time or has to be made again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.quantities import read_amount
from inventory.domain.stores import content_ul
from inventory.domain.units import Dimension
from inventory.models import Act, Item, Person
from inventory.queries.shop import shop
from inventory.services import lookup, things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.gates import over_time, poured, shares
from kits.models import Bead, Gate, Job
from kits.queries.sealing import bead_of, gates_of
from kits.services.shared import open_job, touch


@dataclass(frozen=True, slots=True)
class TubeUsed:
    """A tube and what it weighs after the bead; before: as weighed at the gate if left out. Text with a unit or whole milligrams."""

    tube: str
    after: str | int
    before: str | int | None = None


@dataclass(frozen=True, slots=True)
class _Drawn:
    item: Item
    before_mg: int
    after_mg: int
    before_ul: int
    after_ul: int

    @property
    def drawn_ul(self) -> int:
        return self.before_ul - self.after_ul


def lay_bead(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    joint: str,
    started_at: datetime,
    ended_at: datetime,
    tubes: Sequence[TubeUsed],
    helper: Person | None = None,
) -> Done:
    """Record the bead of the joint's open gate: first stroke to last bolt of the first pass, and the tubes in the order used.

    What the tubes lost beyond what stays in the joint is scrapped; where scale and books differ, the scale is right. Over its
    time: all of it is scrapped, the joint is cleaned off and made again.

    Outcome: {"bead": its gate, "joint", "make", "taken_ms", "allowed_ms", "over", "planned_ul", "drawn_ul", "difference_ul",
    "tubes", "fill_from", "run_from", "fit": what is to be fitted now, as fittings take it, "say"}.
    Raises DomainError "gate-missing", "dates-turned", "from-the-future", "nothing-given", "not-found", "not-there",
    "same-person", "sealant-two-products", "amount-not-positive", "tube-content-unknown", those of weights.
    """

    def work(act: Act) -> Body:
        if not tubes:
            raise DomainError("nothing-given", "Which tubes was it laid from?")
        if helper is not None and helper.pk == actor.pk:
            raise DomainError("same-person", "The helper is another person than who lays the bead.", person=str(actor))
        row = open_job(job)
        gate = _gate(row, joint, started_at)
        _check_times(act, gate, started_at, ended_at)
        over = over_time(started_at, ended_at, None if gate.allowed_ms is None else Fraction(gate.allowed_ms, 1000))
        drawn = [_weighed(gate, one) for one in tubes]
        total = sum(one.drawn_ul for one in drawn)
        if total <= 0:
            raise DomainError("amount-not-positive", "By their weights nothing left the tubes.", drawn_ul=total)
        given = shares(0 if over else gate.laid_ul, [one.drawn_ul for one in drawn])
        _book(act, row, drawn, given)
        waits = (None, None) if over else (_after(ended_at, gate.fill_after_s), _after(ended_at, gate.run_after_s))
        bead = Bead.objects.create(
            gate=gate, act=act, started_at=started_at, ended_at=ended_at, helper=helper or gate.helper, drawn_ul=total,
            tubes=[_tube(one) for one in drawn], over=over, fill_from=waits[0], run_from=waits[1],
        )  # fmt: skip
        touch(row)
        return _said(bead, drawn, given)

    request: dict[str, Any] = {
        "job": job, "joint": joint, "started_at": started_at, "ended_at": ended_at, "tubes": [asdict(one) for one in tubes],
        "helper": helper.pk if helper else None,
    }  # fmt: skip
    return run("lay bead", work, actor=actor, stamp=stamp, request=request, subject=job)


def _gate(job: Job, joint: str, started_at: datetime) -> Gate:
    """The newest gate of the joint, still without a bead and not lapsed. DomainError "gate-missing"."""
    mine = [gate for gate in gates_of(job) if gate.joint == joint]
    gate = mine[-1] if mine else None
    if gate is None or bead_of(gate) is not None or hasattr(gate, "bead"):
        raise DomainError(
            "gate-missing",
            f"No gate is open for {joint[:80]}: its questions come before the nozzle is cut.",
            ways_out=("Answer the questions of the gate.",),
            joint=joint[:80],
        )
    minutes = shop().gate_minutes
    if started_at > gate.act.occurred_at + timedelta(minutes=minutes):
        raise DomainError(
            "gate-missing",
            f"The gate of {joint} was answered more than {minutes} minutes before: bay and tubes may have changed.",
            ways_out=("Answer the questions again.",),
            joint=joint,
            minutes=minutes,
        )
    return gate


def _check_times(act: Act, gate: Gate, started_at: datetime, ended_at: datetime) -> None:
    if ended_at <= started_at or started_at < gate.act.occurred_at:
        raise DomainError(
            "dates-turned",
            "A bead is begun after its gate was answered, and ends after it was begun.",
            gate=gate.act.occurred_at.isoformat(),
            started_at=started_at.isoformat(),
            ended_at=ended_at.isoformat(),
        )
    if ended_at > act.occurred_at:
        raise DomainError(
            "from-the-future", f"The bead has not ended yet: {ended_at.isoformat()}.", ended_at=ended_at.isoformat()
        )


def _after(ended_at: datetime, seconds: int | None) -> datetime | None:
    return None if seconds is None else ended_at + timedelta(seconds=seconds)


def _weighed(gate: Gate, one: TubeUsed) -> _Drawn:
    """A tube's content before and after, by weight."""
    item = Item.objects.filter(tube__number=one.tube).select_related("part", "tube", "lot", "serial").first()
    if item is None:
        raise DomainError("not-found", f"There is no opened tube {one.tube}.", tube=one.tube)
    if item.part_id != gate.part_id:
        raise DomainError(
            "sealant-two-products",
            f"The gate was answered for {gate.part.number}, {one.tube} is {item.part.number}.",
            tube=one.tube,
            products=[gate.part.number, item.part.number],
        )
    at_gate = next((row["weight_mg"] for row in gate.tubes if row["tube"] == one.tube), None)
    before = one.before if one.before is not None else at_gate
    if before is None:
        raise DomainError("nothing-given", f"What did {one.tube} weigh before the bead?", tube=one.tube)
    before_mg, after_mg = _mg(before), _mg(one.after)
    part = item.part
    if part.empty_mg is None or not part.density_mg_per_ml or not part.net_ul:
        raise DomainError(
            "tube-content-unknown",
            f"Empty weight, density and content of {part.number} are needed to say what left {one.tube}.",
            ways_out=("Enter them with the part, from its product sheet.",),
            part=part.number,
            tube=one.tube,
        )
    held = [content_ul(mg, part.empty_mg, part.density_mg_per_ml, part.net_ul) for mg in (before_mg, after_mg)]
    if after_mg > before_mg:
        raise DomainError(
            "amount-negative",
            f"{one.tube} weighs more after the bead than before.",
            tube=one.tube,
            before_mg=before_mg,
            after_mg=after_mg,
        )
    return _Drawn(item, before_mg, after_mg, held[0], held[1])


def _mg(weight: str | int) -> int:
    return read_amount(weight, Dimension.MASS).amount if isinstance(weight, str) else weight


def _book(act: Act, job: Job, drawn: Sequence[_Drawn], given: Sequence[int]) -> None:
    """Tubes hold what the scale says and what is still to be fitted; the difference of the books first, then the waste."""
    bench = things.spot(job.bench)
    lookup.lock((one.item, job.bench) for one in drawn)
    rows = lookup.balances([(one.item.pk, bench.pk) for one in drawn])
    counted = things.books_only(PlaceKind.COUNT_DIFFERENCE)
    scrap = things.books_only(PlaceKind.SCRAP)
    differences, wastes = [], []
    for one, share in zip(drawn, given, strict=True):
        row = rows.get((one.item.pk, bench.pk))
        if row is None or row.amount <= 0:
            raise lookup.not_free(one.item, bench, one.drawn_ul, row)
        if row.amount < one.before_ul:
            differences.append(Move(one.item, one.before_ul - row.amount, counted, bench))
        elif row.amount > one.before_ul:
            differences.append(Move(one.item, row.amount - one.before_ul, bench, counted))
        if one.drawn_ul > share:
            wastes.append(Move(one.item, one.drawn_ul - share, bench, scrap))
    post(act, differences)
    post(act, wastes)


def _tube(one: _Drawn) -> Body:
    number = one.item.tube.number if one.item.tube else ""
    return {
        "tube": number, "item": one.item.pk, "before_mg": one.before_mg, "after_mg": one.after_mg, "drawn_ul": one.drawn_ul,
    }  # fmt: skip


def _said(bead: Bead, drawn: Sequence[_Drawn], given: Sequence[int]) -> Body:
    gate = bead.gate
    makes = {name: make for name, make, _ in gate.positions}
    to_fit = poured([(name, amount) for name, _, amount in gate.positions], given)
    taken = bead.ended_at - bead.started_at
    say = (
        f"over its time: clean {gate.joint} off and make it again, make {gate.make + 1}"
        if bead.over
        else "in time: fit it"
    )
    return {
        "bead": gate.pk,
        "joint": gate.joint,
        "make": gate.make,
        "taken_ms": round(taken / timedelta(milliseconds=1)),
        "allowed_ms": gate.allowed_ms,
        "over": bead.over,
        "planned_ul": gate.drawn_ul,
        "drawn_ul": bead.drawn_ul,
        "difference_ul": bead.drawn_ul - gate.drawn_ul,
        "tubes": bead.tubes,
        "fill_from": bead.fill_from,
        "run_from": bead.run_from,
        "fit": [
            {"position": name, "item": drawn[at].item.pk, "amount": amount, "make": makes[name]}
            for name, at, amount in to_fit
        ],
        "say": say,
    }
