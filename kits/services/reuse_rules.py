"""What old parts may be called good: the limits on record, how often they were used, whether anybody knows where they came from.

Private to services: an open transaction is there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Count

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.units import Dimension
from inventory.models import Item
from kits.domain.facts import Facts, ReuseLimit
from kits.domain.origins import Out
from kits.domain.renewals import ALWAYS_NEW, class_of_old
from kits.domain.reuse import found_nm, why_not
from kits.domain.used_again import used_again
from kits.models import Fitting, Found, Gauge, Job
from kits.queries.at_positions import came_out, outs_of
from kits.queries.documents import family_of
from kits.queries.gauges import no_such_gauge
from kits.services.fit_facts import Facts as FitFacts
from kits.services.fit_facts import FitIn


@dataclass(frozen=True, slots=True)
class InspectIn:
    """A part that may go back: where, which item, the limit it was held against, what was found, with which gauge."""

    position: str
    limit: str
    result: str
    good: bool
    item: int | None = None
    gauge: str = ""


def check_limits(
    job: Job, inspections: Sequence[InspectIn], gauges: Mapping[str, Gauge], states: Mapping[str, str]
) -> None:
    """Refuse a good word on what the limits on record do not let be used again; ManyErrors names every line."""
    facts = family_of(job.family_revision).facts
    limits, outs = facts.bolts, outs_of(job)
    items = {
        item.pk: item
        for item in Item.objects.filter(pk__in=[one.item for one in inspections if one.item]).select_related("part")
    }
    errors: list[tuple[int, DomainError]] = []
    for number, one in enumerate(inspections, 1):
        item = items.get(one.item) if one.item is not None else None
        if one.item is not None and item is None:
            errors.append((number, DomainError("not-found", f"There is no item {one.item}.", item=one.item)))
            continue
        if one.gauge and one.gauge not in gauges:
            errors.append((number, no_such_gauge(one.gauge)))
            continue
        lost = _lost(facts, one, outs.get(one.item or 0, ()))
        if lost is not None:
            errors.append((number, lost))
            continue
        here = [limit for limit in limits if one.good and one.position in limit.positions]
        mine = [limit for limit in here if item is not None and limit.part == item.part.number] or here[:1]
        for limit in mine:
            errors += [(number, error) for error in _judged(job, one, item, limit, gauges.get(one.gauge), states)]
    if errors:
        raise ManyErrors(tuple(errors))


def may_not_reuse(facts: FitFacts, item: Item, one: FitIn) -> DomainError | None:
    """Why an old part may not go in there, listed or not: its limit, a word that rejected it, its class, no word that passed it."""
    why = facts.rejected.get((item.pk, ""), facts.rejected.get((item.pk, one.position)))
    if why is not None:
        return DomainError(
            "not-reusable",
            f"{one.position}: {item.called} was rejected: {why}.",
            ways_out=("Fit a new one.",),
            position=one.position,
            item=item.pk,
        )
    scope = facts.listed.scope
    limits = [limit for limit in scope.family.facts.bolts if one.position in limit.positions]
    if any(limit.never for limit in limits if limit.part == item.part.number):
        return _always_new(item, one, "its maker gives no limit by which it might be used again")
    listed = one.key in facts.listed.explosion.requirements
    its_class = _class_at(facts, one, listed)
    again = used_again(its_class, item.part.kind) if its_class else None
    if again is not None and not again.yes:
        return _always_new(item, one, again.reason)
    passed = scope.reuse.get((one.position, 1))
    if passed is not None and passed.item == item.pk and (not listed or _taken_off(facts, one)):
        return None
    if not its_class and not limits and not listed:
        return None  # nothing on record speaks of it: it goes back where it came from
    said = dict(facts.listed.taken_off.refused).get(one.position) if listed else None
    if passed is not None and passed.item != item.pk:
        said = f"{one.position}: another part was inspected for it than {item.called}"
    return DomainError(
        "not-inspected",
        said or f"{item.called} was in use and no good inspection is recorded for {one.position}.",
        ways_out=("Inspect this very part, and record it with its item.", "Fit a new one."),
        position=one.position,
        item=item.pk,
    )


def _always_new(item: Item, one: FitIn, why: str) -> DomainError:
    return DomainError(
        "always-new",
        f"{item.called} was in use and does not go into {one.position} again: {why}.",
        ways_out=("Fit a new one: where no line asks for it, add the procedure that renews it.",),
        position=one.position,
        make=one.make,
        reason=why,
    )


def _class_at(facts: FitFacts, one: FitIn, listed: bool) -> str:
    """By what the list asks for there; where it asks for nothing, by every procedure of the family; empty where none speaks of it."""
    scope, explosion = facts.listed.scope, facts.listed.explosion
    if any(bought.position == one.position for bought in explosion.buy_ins):
        return ALWAYS_NEW
    if listed:
        lines = [line for line in (*facts.listed.settled.lines, *facts.listed.taken_off.taken) if line.key == one.key]
        return lines[0].candidate.line_class if lines else ""
    return class_of_old(facts.procedures, one.position, explosion.closure, scope.family.map, scope.engine_number)


def _taken_off(facts: FitFacts, one: FitIn) -> bool:
    return any(line.key == one.key for line in facts.listed.taken_off.taken)


def _judged(
    job: Job, one: InspectIn, item: Item | None, limit: ReuseLimit, gauge: Gauge | None, states: Mapping[str, str]
) -> list[DomainError]:
    """What one limit has against one good word."""
    if limit.limited and gauge is not None and gauge.measures != Dimension.LENGTH:
        said = f"{one.position}: gauge {gauge.number} measures {gauge.measures}, not length."
        return [DomainError("gauge-wrong", said, position=one.position, gauge=gauge.number)]
    uses = None if item is None else _uses(job, item, one.position)
    why = why_not(limit, found_nm(one.result), uses, states.get(one.gauge))
    if not why:
        return []
    return [
        DomainError(
            "not-reusable",
            f"{one.position}: {why}",
            ways_out=("Record it as rejected and fit a new one.",),
            position=one.position,
            part=limit.part,
            uses=uses,
            gauge=one.gauge,
        )
    ]


def _lost(facts: Facts, one: InspectIn, outs: Sequence[Out]) -> DomainError | None:
    """A good word on a part that is never used again once its place is lost."""
    rule = facts.origin(one.position)
    if not one.good or rule is None or not rule.lost_never or not outs or any(out.position for out in outs):
        return None
    return DomainError(
        "position-lost",
        f"{one.position}: nobody knows where the part came from: such a part is never used again.",
        ways_out=("Record it as rejected and fit a new one.",),
        position=one.position,
    )


def _uses(job: Job, item: Item, position: str) -> int | None:
    """How often our records have the item fitted at the position it came out of; None: it came with an engine."""
    if Found.objects.filter(item=item, act__corrected_by__isnull=True).exists():
        return None
    origins = came_out(job).get(item.pk, ())
    rows = Fitting.objects.filter(
        item=item, spot__place=job.engine.place_id, act__corrected_by__isnull=True, correction__isnull=True
    )
    at = rows.filter(spot__name__in=[position] if position in origins or not origins else origins)
    counts = at.values_list("spot").annotate(times=Count("pk")).order_by("spot").values_list("times", flat=True)
    return max(counts, default=None)
