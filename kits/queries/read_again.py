"""Why a result is to be judged again: what it rests on was read again, or cut, or another set stands there now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from kits.domain.closed_readings import Cut, ReadAt, closed_by
from kits.domain.judging import GASKET
from kits.domain.readings import Conditions, never_used
from kits.domain.sizes import millimetres
from kits.models import Fitting, MeasuredResult, Reading, Removal
from kits.queries.documents import family_of
from kits.queries.sizes import counting_sizes

#: The kind of an accepted layout.
LAYOUT = "layout"
#: What is one thing of whatever point is read, but a weight: its point says what lay on the scales.
_ONE_POINT = "weight"

#: What is read where: (set, job where no set is named, place, item, what, point of a weight).
Subject = tuple[int | None, int | None, str, int | None, str, str]


@dataclass(frozen=True, slots=True)
class Again:
    """One reason. place, set: what it is about, "" where it is about no place or no set; `text` for a person."""

    place: str
    set: str
    text: str

    def about(self, position: str, serial: str) -> bool:
        """Whether it is about a bore, or about the set in it."""
        here = self.place.partition("/")[0] == position.partition("/")[0] if self.place else False
        return here or bool(serial and self.set == serial)


def closed_of(rows: Collection[Reading], upto_act: int | None = None) -> dict[int, str]:
    """Id of each of these readings that a cut has closed → by which entry. One query where anything of the kind was read, none else.

    rows  with their act, and the family of their job
    """
    asked = [row for row in rows if row.place and _changed_by_something(row)]
    if not asked:
        return {}
    cuts: dict[int, list[Cut]] = defaultdict(list)
    entries = counting_sizes(upto_act).filter(engine__in={row.job.engine_id for row in asked})
    columns = ("engine_id", "pk", "name", "place", "job__number", "act__occurred_at", "act_id", "value")
    lengths: dict[int, int | None] = {}
    for engine, pk, name, place, job, at, act, value in entries.order_by("pk").values_list(*columns):
        cuts[engine].append(Cut(pk, name, place, job, at, act))
        lengths[pk] = value
    found = {}
    for row in asked:
        family = family_of(row.job.family_revision)
        facts = {one.name: one for one in family.sizes}
        read = ReadAt(row.what, row.place, row.act.occurred_at, row.act_id)
        cut = closed_by(read, cuts[row.job.engine_id], facts, family.map)
        if cut is not None:
            length = lengths[cut.id]
            by = f", {millimetres(length)}" if length else ""
            found[row.pk] = f"{cut.name} at {cut.place} was entered since (entry {cut.id} of job {cut.job}{by})"
    return found


def _changed_by_something(row: Reading) -> bool:
    return any(row.what in one.changes for one in family_of(row.job.family_revision).sizes)


def again_of(
    rows: Sequence[MeasuredResult], rests: Mapping[int, Sequence[Reading]], also: str = "", upto_act: int | None = None
) -> dict[int, tuple[Again, ...]]:
    """Result → why it is to be judged again. Two queries where results rest on anything; two more where a gasket was chosen.

    rests  result → its readings, with act, set and job
    also   number of another job whose readings of the same sets count too
    """
    every = {row.pk: row for found in rests.values() for row in found}
    found: dict[int, list[Again]] = defaultdict(list)
    if not every:
        return {}
    newer = _newer(rows, every.values(), also, upto_act)
    closed = closed_of(list(every.values()), upto_act)
    for row in rows:
        mine = rests.get(row.pk, ())
        subjects = {_subject(one) for one in mine} | _weighed_since(row, mine)
        for one in newer:
            if one.act_id > row.act_id and _subject(one) in subjects:
                found[row.pk].append(
                    Again(one.place, _set(one), f"reading {one.pk} of {_of(one)} was taken since it was judged")
                )
        for one in mine:
            if one.pk in closed:
                text = f"reading {one.pk} of {_of(one)} is from before: {closed[one.pk]}"
                found[row.pk].append(Again(one.place, _set(one), text))
    for pk, reasons in _other_sets([row for row in rows if row.kind == GASKET], rests, upto_act).items():
        found[pk] += reasons
    return {pk: tuple(reasons) for pk, reasons in found.items()}


def _newer(
    rows: Iterable[MeasuredResult], rest_on: Iterable[Reading], also: str, upto_act: int | None
) -> list[Reading]:
    """Readings that count, recorded after the oldest of these results, of their jobs, or of their sets on the job that asks."""
    first, jobs = min(row.act_id for row in rows), {row.job_id for row in rows}
    whats = {one.what for one in rest_on} | ({_ONE_POINT} if any(row.kind == LAYOUT for row in rows) else set())
    serials = {one.serial_id for one in rest_on if one.serial_id is not None}
    where = Q(job__in=jobs)
    if also and serials:
        where |= Q(job__number=also, serial__in=serials)
    found = Reading.objects.filter(where, what__in=whats, act_id__gt=first, withdrawal__isnull=True)
    if upto_act is not None:
        found = found.filter(act_id__lte=upto_act)
    taken = found.select_related("serial").order_by("pk")
    return [one for one in taken if not never_used(one.what, Conditions(without_rubber=one.without_rubber))]


def _weighed_since(row: MeasuredResult, mine: Iterable[Reading]) -> set[Subject]:
    """What weighs the pistons of a layout's sets: one whose weight was on its label is weighed for the first time."""
    weight_with = family_of(row.family_revision).facts.weight_with
    if row.kind != LAYOUT or not weight_with:
        return set()
    serials = {one.serial_id for one in mine if one.serial_id is not None}
    return {(serial, None, "", None, _ONE_POINT, f"with {weight_with}") for serial in serials}


def about(one: Reading, text: str) -> Again:
    """A reason that a reading gives. No query, where it was read with its set."""
    return Again(one.place, _set(one), text)


def _subject(one: Reading) -> Subject:
    job = one.job_id if one.serial_id is None else None
    place = one.place if one.serial_id is None else ""
    return one.serial_id, job, place, one.item_id, one.what, one.point if one.what == _ONE_POINT else ""


def _set(one: Reading) -> str:
    return one.serial.number if one.serial is not None else ""


def _of(one: Reading) -> str:
    return _set(one) or one.place or f"item {one.item_id}"


def _other_sets(
    rows: Sequence[MeasuredResult], rests: Mapping[int, Sequence[Reading]], upto_act: int | None
) -> dict[int, list[Again]]:
    """Projections are of the pistons that stood there: a set that was fitted or taken out since makes them those of another."""
    if not rows:
        return {}
    moved = _sets_moved({row.job_id for row in rows}, upto_act)
    found: dict[int, list[Again]] = defaultdict(list)
    for row in rows:
        for one in rests.get(row.pk, ()):
            place = one.place.partition("/")[0]
            for at, act, how in moved.get((row.job_id, place), ()):
                if at > one.act.occurred_at or (at == one.act.occurred_at and act > row.act_id):
                    found[row.pk].append(Again(place, "", f"the set at {place} was {how} after reading {one.pk}"))
                    break
    return found


def _sets_moved(jobs: Collection[int], upto_act: int | None) -> dict[tuple[int, str], list[tuple[datetime, int, str]]]:
    found: dict[tuple[int, str], list[tuple[datetime, int, str]]] = defaultdict(list)
    for rows, how in ((Fitting.objects.all(), "fitted"), (Removal.objects.all(), "taken out")):
        mine = rows.filter(job__in=jobs, act__corrected_by__isnull=True, item__part__tracked_by="set")
        if upto_act is not None:
            mine = mine.filter(act_id__lte=upto_act)
        columns = ("job_id", "spot__name", "act__occurred_at", "act_id")
        for job, position, at, act in mine.order_by("pk").values_list(*columns):
            found[job, position.partition("/")[0]].append((at, act, how))
    return found
