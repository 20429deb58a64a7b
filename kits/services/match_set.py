"""A new set is matched by measurement from what broken ones left, and signed by a second person; the broken ones stay broken."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.domain.items import Member
from inventory.domain.receiving import WEIGHED
from inventory.models import Act, Part, Person
from inventory.queries.days import shop_day
from inventory.services.matching import make_set, members, set_part
from inventory.services.receive import SetLabel
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.matching import Weighing, match
from kits.models import Job, PartsLine
from kits.queries.documents import family_of
from kits.queries.readings import ReadingRow, readings_of
from kits.services.checking import must_be_checker
from kits.services.results import record_result
from kits.services.shared import open_job, touch
from kits.services.taking import taken_of

#: Kind of the result that is kept with the readings.
MATCHED = "matched set"
BORE, PISTON, WEIGHT = "bore-diameter", "piston-diameter", "weight"


def match_set(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    part: str,
    serial: str,
    liner: int,
    piston: int,
    signed_by: Person,
    pin: int | None = None,
) -> Done:
    """Make a new set of a liner, a piston and its pin that lie in one quarantine place.

    job        on which they were measured: its family's limits count, and its readings of these items (bore and piston diameter, weight)
    part, serial   of the new set; the serial is a new one
    liner, piston, pin   ids of items: orphans of broken sets of the part, or single parts with a serial; pin: None only where a single
               piston brings its own
    signed_by  the second person: neither who proposes it nor who took one of the readings, with the right to check

    The new set lies where its members lay until it is released. What was in an engine is refused, also for the job it came from: the
    set would be stock. Outcome: {"item", "part", "serial", "place", "spot", "members", "result", "measured": {weight_mg, bore_nm,
    piston_nm}, "document", "signed_by"}.
    Raises "not-found", "job-ended", "not-a-set", "wrong-part", "same-person", "may-not-check", "not-on-duty", "serial-known",
    ManyErrors of `check_members`, "half-a-set", "wrong-place", "match-refused", and those of the readings.
    """
    ids = {Member.LINER: liner, Member.PISTON: piston} | ({} if pin is None else {Member.PIN: pin})
    request = {
        "job": job, "part": part, "serial": serial, "signed_by": signed_by.pk,
        "members": {member.value: item for member, item in ids.items()},
    }  # fmt: skip

    def work(act: Act) -> Body:
        if signed_by.pk == actor.pk:
            raise DomainError("same-person", "Who matches a set and who signs it are two people.", person=str(actor))
        row = open_job(job)
        must_be_checker(row.site, signed_by, shop_day(act.occurred_at))
        whole = set_part(part)
        _of_family(row, whole)
        lie = members(whole, ids)
        readings = _readings(row, liner, piston)
        _not_measured_by(signed_by, readings)
        family = family_of(row.family_revision)
        lengths = [one for one in readings if one.what != WEIGHT]
        weighings = [_weighing(one) for one in readings if one.what == WEIGHT]
        found = match(taken_of(family, lengths), weighings, family.facts, serial)
        weighed = f"with {family.facts.weight_with}"
        weight_mg = found.weight_mg if weighed in WEIGHED else None  # a label says no other weight
        label = SetLabel(weight_mg, weighed if weight_mg is not None else "", found.bore_nm, found.piston_nm)
        body = make_set(act, whole, serial, lie, label, signed_by)
        result = record_result(act, row, MATCHED, serial, found.document, found.ids)
        touch(row)
        return body | {
            "result": result.pk,
            "measured": {"weight_mg": found.weight_mg, "bore_nm": found.bore_nm, "piston_nm": found.piston_nm},
            "document": result.document,
            "signed_by": signed_by.username,
        }

    return run("match set", work, actor=actor, stamp=stamp, request=request, subject=job)


def _of_family(job: Job, part: Part) -> None:
    """The limits are the family's: a set of another family's part is not judged by them."""
    if not PartsLine.objects.filter(part=part, revision__procedure__family=job.engine.family).exists():
        raise DomainError(
            "wrong-part",
            f"No procedure of {job.engine.family.code} asks for {part.number}: its limits say nothing of it.",
            ways_out=("Measure it on a job of its own engine family.",),
            part=part.number,
            family=job.engine.family.code,
        )


def _readings(job: Job, liner: int, piston: int) -> list[ReadingRow]:
    """What counts of these two things on the job."""
    wanted = {(BORE, liner), (PISTON, piston), (WEIGHT, piston)}
    rows = readings_of(job=job, what=(BORE, PISTON, WEIGHT))
    return [row for row in rows if row.computed_with and (row.what, row.item) in wanted]


def _not_measured_by(signed_by: Person, readings: list[ReadingRow]) -> None:
    mine = [row.id for row in readings if row.by == signed_by.username]
    if mine:
        raise DomainError(
            "same-person",
            f"{signed_by} took readings of it: somebody else signs.",
            person=str(signed_by),
            readings=mine,
        )


def _weighing(row: ReadingRow) -> Weighing:
    return Weighing(row.id, row.point, row.value, row.uncertainty, row.shown, row.gauge, row.marks)
