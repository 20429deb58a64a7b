"""Readings of a job are judged: what they come to is computed, kept with what it rests on, and shown. Nothing is chosen yet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType

from inventory.domain.errors import DomainError
from inventory.models import Act, Person, Serial
from inventory.queries.days import shop_day
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.engine_map import ENGINE
from kits.domain.facts import Bearing
from kits.domain.families import Family
from kits.domain.judging import CLEARANCE, GAPS, GASKET, HALVES, KINDS, WASHERS, Judged, judge_clearance, judge_gaps
from kits.domain.selecting import holder, judge_gasket, judge_halves, judge_washers
from kits.models import Job
from kits.queries.at_hand import pieces_for
from kits.queries.documents import family_of
from kits.queries.fitted_sets import set_changed_at
from kits.queries.marks import bores_of
from kits.queries.readings import ReadingRow, readings_of
from kits.services.results import record_result
from kits.services.shared import open_job, touch
from kits.services.taking import taken_of

#: Kind of a result -> what is read for it.
READ: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        CLEARANCE: ("bore-diameter", "piston-diameter"),
        GAPS: ("ring-gap",),
        HALVES: ("housing-bore", "journal-diameter"),
        WASHERS: ("end-float",),
        GASKET: ("piston-projection",),
    }
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be judged.

    place    cylinder of a clearance or of ring gaps; ENGINE or a bank of a head gasket
    set      serial of the matched set, where it lies in no bore yet or several were read at one
    bearing  its name, where the family has several
    fitted   part numbers of the thrust washers that were fitted when the end float was read
    used     rings that ran before
    """

    kind: str
    place: str = ""
    set: str = ""
    bearing: str = ""
    fitted: Sequence[str] = ()
    used: bool = False


def judge_readings(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    kind: str,
    place: str = "",
    set: str = "",
    bearing: str = "",
    fitted: Sequence[str] = (),
    used: bool = False,
) -> Done:
    """Judge the readings of a job; see `Asked`. The result takes the place of the earlier one of its kind and subject.

    Outcome: {"result", "kind", "subject", "verdict", "document"}. Raises "not-found", "job-ended", "position-unknown", "no-limit",
    "readings-missing", "readings-disagree", "reading-unusable", "bore-readings-short", "ring-other-bore", "bearing-impossible",
    "bearing-unreadable", "projection-not-accepted", "gasket-grade-none", "serial-ambiguous", "limits-unreadable".
    """
    asked = Asked(kind, place, set, bearing, tuple(fitted), used)

    def work(act: Act) -> Body:
        row = open_job(job)
        if kind not in KINDS:
            raise DomainError(
                "reading-unusable", f"{kind[:60]!r} is nothing that readings are judged for.", kind=kind[:60]
            )
        subject, found = _judge(row, family_of(row.family_revision), asked, shop_day(act.occurred_at))
        result = record_result(act, row, kind, subject, found.document, found.ids)
        touch(row)
        return {
            "result": result.pk,
            "kind": kind,
            "subject": subject,
            "verdict": found.verdict.value,
            "document": result.document,
        }

    request = {
        "job": job, "kind": kind, "place": place, "set": set, "bearing": bearing, "fitted": list(fitted), "used": used,
    }  # fmt: skip
    return run("judge readings", work, actor=actor, stamp=stamp, request=request, subject=job)


def _judge(job: Job, family: Family, asked: Asked, on: date) -> tuple[str, Judged]:
    """The subject of the result, and what it comes to."""
    rows = [row for row in readings_of(job=job, what=READ[asked.kind]) if row.computed_with]
    if asked.kind == CLEARANCE and asked.set and not any(row.set == asked.set for row in rows):
        rows += _read_before(asked)
    if asked.kind == CLEARANCE:
        where, serial, mine = _of_one(family, asked, rows)
        return where, _of_set(serial, judge_clearance(taken_of(family, mine), family.facts, where, _printed(serial)))
    if asked.kind == GAPS:
        where, serial, mine = _of_one(family, asked, rows)
        bore = _bore(job, asked, serial, where, mine)
        return where, _of_set(serial, judge_gaps(taken_of(family, mine), family.facts, bore, asked.used))
    if asked.kind == HALVES:
        bearing = _bearing(family, asked.bearing)
        stock = pieces_for(job, {half.part for half in bearing.halves}, on)
        return bearing.name, judge_halves(taken_of(family, rows), bearing, stock)
    if asked.kind == WASHERS:
        fact = family.facts.end_float
        stock = pieces_for(job, {washer.part for washer in fact.washers} if fact else (), on)
        return ENGINE, judge_washers(taken_of(family, rows), fact, asked.fitted, stock)
    where = asked.place or ENGINE
    pistons = family.map.project(where, "cylinder")
    return where, judge_gasket(taken_of(family, _since_fitted(job, pistons, rows)), family.facts, pistons)


def _read_before(asked: Asked) -> list[ReadingRow]:
    """What was read of a set on earlier jobs, where nothing was on this one: the newest job counts."""
    serials = Serial.objects.filter(number=asked.set, matched_set__isnull=False)
    rows = [row for row in readings_of(serials=serials, what=READ[asked.kind]) if row.computed_with]
    return [row for row in rows if row.job == rows[-1].job]


def _of_set(serial: str, found: Judged) -> Judged:
    """The result says which set was read, as far as that was said: fitting goes by it."""
    return replace(found, document={**found.document, "set": serial})


def _of_one(family: Family, asked: Asked, rows: Sequence[ReadingRow]) -> tuple[str, str, list[ReadingRow]]:
    """Of one cylinder or one set: the subject, the serial of the set as far as it was said, and the readings."""
    if not asked.place and not asked.set:
        raise DomainError("reading-unusable", f"Of which cylinder or which set is the {asked.kind}?", field="place")
    place = holder(asked.place)
    if asked.place and family.map.scope_of(place) != "cylinder":
        family.map.outward(asked.place)
        raise DomainError("reading-unusable", f"{asked.place} is no cylinder.", field="place", place=asked.place)
    if asked.set:
        return place or asked.set, asked.set, [row for row in rows if row.set == asked.set]
    mine = [row for row in rows if holder(row.place) == place]
    sets = sorted({row.set for row in mine if row.set})
    if len(sets) > 1:
        raise DomainError(
            "reading-unusable",
            f"At {place} several sets were read: {', '.join(sets)}.",
            ways_out=("Say which set.",),
            field="set",
            sets=sets,
        )
    return place, sets[0] if sets else "", mine


def _bore(job: Job, asked: Asked, serial: str, where: str, rows: Sequence[ReadingRow]) -> str:
    """The cylinder that rings go into: the one said, that of the set's mark, or the only one where they were read."""
    if asked.place:
        return where
    marked = next((position for position, given in bores_of(job).items() if given == serial), "")
    places = sorted({holder(row.place) for row in rows if row.place})
    if not marked and len(places) > 1:
        raise DomainError(
            "reading-unusable",
            f"The rings of {serial} were read in {', '.join(places)}: into which do they go?",
            field="place",
            places=places,
        )
    return holder(marked) or (places[0] if places else where)


def _printed(serial: str) -> tuple[int, int] | None:
    """Bore and piston by the label of a set, None where it says nothing."""
    if not serial:
        return None
    rows = Serial.objects.filter(number=serial, matched_set__isnull=False).select_related("matched_set")
    found = [row.matched_set for row in rows]
    if not found:
        raise DomainError("not-found", f"There is no matched set {serial}.", serial=serial)
    if len(found) > 1:
        raise DomainError("serial-ambiguous", f"{serial} is the serial of several sets.", serial=serial)
    bore, piston = found[0].bore_nm, found[0].piston_nm
    return None if bore is None or piston is None else (bore, piston)


def _bearing(family: Family, name: str) -> Bearing:
    known = {one.name: one for one in family.facts.bearings}
    if not known:
        raise DomainError("no-limit", "The engine family's document has no limit for bearings.", what="bearings")
    if name in known or (not name and len(known) == 1):
        return known[name or next(iter(known))]
    raise DomainError(
        "not-found",
        f"Which bearing: {', '.join(known)}? {name[:60]!r} is none of them.",
        bearing=name[:60],
        known=list(known),
    )


def _since_fitted(job: Job, pistons: Sequence[str], rows: Sequence[ReadingRow]) -> list[ReadingRow]:
    """Projections that were read since the set of their cylinder was fitted or taken out: those before are of another piston or height."""
    fitted = set_changed_at(job)
    late = [row for row in rows if row.at >= fitted.get(holder(row.place), row.at)]
    early = {holder(row.place) for row in rows} - {holder(row.place) for row in late}
    if early & {*pistons}:
        raise DomainError(
            "projection-not-accepted",
            f"Read before the set was changed: {', '.join(sorted(early & {*pistons}))}.",
            ways_out=("Read it again, with the liners clamped.",),
            pistons=sorted(early & {*pistons}),
        )
    return late
