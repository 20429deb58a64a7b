"""A layout accepted: kept with its readings, its sets and shims held for the job, its bores marked; and taken back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, HoldEnd, Person, Serial
from inventory.queries.days import shop_day
from inventory.services import holding
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.proposal import CERTAIN, Chosen, Proposal, check
from kits.models import AcceptedLayout, Job, JobChoice, LayoutPlace, LayoutWithdrawal
from kits.queries.job_list import job_list
from kits.queries.layouts import KIND, SUBJECT, layouts_of
from kits.queries.liners import JobBench, bench_of
from kits.queries.proposals import document
from kits.queries.served import promises_of
from kits.services.doubtful import refuse_doubtful
from kits.services.hold_layout import hold_layout, lay_under
from kits.services.hold_rules import refuse_over_limit
from kits.services.layout_rules import already_accepted
from kits.services.maker_stops import refuse_stopped
from kits.services.results import record_result
from kits.services.shared import lock_engine, open_job, touch


@dataclass(frozen=True, slots=True)
class BoreIn:
    """A bore of the layout that is accepted; position: use position of its set, shim_nm: 0 for none."""

    position: str
    serial: str
    turn_deg: int = 0
    shim_nm: int = 0


def accept_layout(
    *, actor: Person, stamp: Stamp, job: str, bores: Sequence[BoreIn], ring_nm: int = 0, reason: str = ""
) -> Done:
    """Accept a layout as it was shown, or another one that keeps the limits. It is computed again from what counts now.

    bores    every bore that gets a set; one whose liner stays may be named with its shim, or as it is turned; where all of them stay, one
             of them is
    ring_nm  base ring under every liner, 0 for none
    reason   needed where the layout is doubtful; only those may accept one who have the right

    Its sets and shims are held for the job, other sets that were held for these bores are released, and measured choices of shim and
    base ring are settled by it. Fitting goes by it from then on. Two who accept at once: the second is told of the first.
    Outcome: {"layout", "outcome", "bores", "marks", "picture", "why", "held", "released", "shorts", "pick_list", "number"}.
    Raises "not-found", "job-ended", "position-unknown", "layout-accepted", "layout-unusable", "layout-not-kept" naming what breaks it,
    "doubtful", "reason-missing", "height-not-read", "heights-unusable", "stack-refused", "not-free", "not-on-list",
    "over-limit", "no-limit", "substitute-not-agreed".
    """

    def work(act: Act) -> Body:
        if not bores:
            raise DomainError("nothing-given", "No bore was named.")
        row = open_job(job)
        newest = next(iter(layouts_of(row)), None)
        if newest is not None and newest.stands:
            laid = [one.position for one in (*newest.places, *newest.kept)]
            raise already_accepted(row, newest.id, newest.by, laid)
        today = shop_day(act.occurred_at)
        lock_engine(row)
        locks.scarcer((part.pk, row.site_id) for part in job_list(row, today).parts.values())
        its = bench_of(job_list(row, today))
        found = check(its.bench, _chosen(its, bores), ring_nm)
        _refuse_unkept(found)
        if found.outcome != CERTAIN:
            refuse_doubtful(actor, "The layout", found.why, reason)
        return _write(act, its, found, reason)

    request = {"job": job, "bores": [asdict(one) for one in bores], "ring_nm": ring_nm, "reason": reason}
    return run("accept layout", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _chosen(its: JobBench, bores: Sequence[BoreIn]) -> list[Chosen]:
    """The bores by their numbers. A set that another job has is named as such; an old one stays in its own bore."""
    numbers = {position: number for number, position in its.places.items()}
    stay = {bore.position: bore.standing.name for bore in its.bench.bores if bore.standing is not None}
    found = []
    for one in bores:
        if one.position not in numbers:
            its.family.map.position(one.position)
            raise DomainError("layout-unusable", f"{one.position} is not laid out.", position=one.position)
        if one.serial in its.left_out and stay.get(one.position) != one.serial:
            code = "not-free" if "another job" in its.left_out[one.serial] else "layout-unusable"
            why = its.left_out[one.serial]
            raise DomainError(
                code, f"Set {one.serial}: {why}.", ways_out=("Ask for the layout again.",), serial=one.serial
            )
        found.append(Chosen(numbers[one.position], one.serial, one.turn_deg, one.shim_nm))
    return found


def _refuse_unkept(found: Proposal) -> None:
    if found.layout is not None:
        return
    miss = found.no_layout.miss if found.no_layout is not None else None
    breaks = [one.text for one in miss.breaks] if miss is not None else []
    raise DomainError(
        "layout-not-kept",
        f"The layout does not keep the limits: {'; '.join(breaks) or 'the search was ended early'}.",
        ways_out=found.try_next,
        breaks=breaks,
    )


def _write(act: Act, its: JobBench, found: Proposal, reason: str) -> Body:
    job, layout = its.job, found.layout
    if layout is None:
        raise ValueError("only a layout is written")
    free = {bore.number for bore in its.bench.bores if bore.standing is None}
    new = [one for one in layout.placed if one.bore in free]
    refuse_over_limit(its.listed, (((its.places[one.bore], 1), its.part.number) for one in new))
    body = document(its, found)
    kept = {key: value for key, value in body.items() if key not in ("not_considered", "try_next")}
    result = record_result(act, job, KIND, SUBJECT, kept, found.rests_on)
    accepted = AcceptedLayout.objects.create(result=result, act=act, doubtful=found.outcome != CERTAIN, reason=reason)
    serials = {row.number: row for row in Serial.objects.filter(part=its.part, number__in=[one.serial for one in new])}
    LayoutPlace.objects.bulk_create(
        [
            LayoutPlace(
                layout=accepted, position=its.places[one.bore], serial=serials[one.serial], turn_deg=one.turn_deg,
                shim_nm=one.shim_nm,
            )
            for one in new
        ]
    )  # fmt: skip
    JobChoice.objects.bulk_create(
        [
            JobChoice(
                job=job, act=act, choice=JobChoice.BORE, place=its.places[one.bore], alternative=one.serial,
                reason=reason or f"layout {result.pk}",
            )
            for one in new
        ]
    )  # fmt: skip
    under = lay_under(act, its, layout.placed, layout.ring_nm)
    released = _release_others(act, its, [one.serial for one in new])
    refuse_stopped(its.listed, [*((its.places[one.bore], 1) for one in new), *(one.key for one in under)])
    held = hold_layout(act, its, [(its.places[one.bore], one.serial) for one in new], under, result.pk)
    touch(job)
    shown = {key: body[key] for key in ("outcome", "why", "bores", "ring_nm", "marks", "picture")}
    return {"layout": result.pk, **shown, "released": released, **held}


def _release_others(act: Act, its: JobBench, serials: Sequence[str]) -> list[Body]:
    """End the open holds on sets that were held for these bores and are not in the layout."""
    wanted = set(its.places.values())
    others = [
        one.hold
        for one in promises_of(its.job)
        if one.open
        and one.hold.item.part_id == its.part.pk
        and any(share[0] in wanted for share in one.shares)
        and (one.hold.item.serial is None or one.hold.item.serial.number not in serials)
    ]
    holding.end(act, others, HoldEnd.How.RELEASED, "the layout takes other sets")
    return [{"hold": hold.pk, "serial": hold.item.serial_number} for hold in others]


def withdraw_layout(*, actor: Person, stamp: Stamp, job: str, layout: int, reason: str) -> Done:
    """Take an accepted layout back: it stays on record with the reason, and which set goes where is open again.

    The sets stay held for the job and keep their marks until another layout, or a person, says otherwise.
    Outcome: {"layout", "reason", "still_held": serials, "still_marked": serials}.
    Raises "not-found", "job-ended", "withdrawn-already", "reason-missing".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", f"Why is layout {layout} taken back?")
        row = open_job(job)
        found = AcceptedLayout.objects.filter(result__job=row, pk=layout).select_related("withdrawal").first()
        if found is None:
            raise DomainError("not-found", f"Job {job} has no accepted layout {layout}.", job=job, layout=layout)
        end = getattr(found, "withdrawal", None)
        if end is not None:
            raise DomainError("withdrawn-already", f"Layout {layout} was taken back: {end.reason}", layout=layout)
        LayoutWithdrawal.objects.create(layout=found, act=act, reason=reason)
        touch(row)
        return {"layout": layout, "reason": reason, **_left(row, found)}

    request = {"job": job, "layout": layout, "reason": reason}
    return run("withdraw layout", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _left(job: Job, layout: AcceptedLayout) -> Body:
    sets = sorted(layout.places.values_list("serial__number", flat=True))
    held = {
        one.hold.item.serial.number
        for one in promises_of(job)
        if one.open and one.hold.item.serial is not None and one.hold.item.serial.number in sets
    }
    return {"still_held": sorted(held), "still_marked": sets}
