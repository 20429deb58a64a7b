"""Readings on a job: entered in batches, asked about when they cannot be, withdrawn with a reason; never changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.quantities import Quantity, format_amount, parse_quantity, read_amount, to_base
from inventory.domain.units import BY_CODE, Dimension
from inventory.models import Act, Item, Person, Serial
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.bands import band_of
from kits.domain.expansion import WARM_FOR, light_pieces, still_warm
from kits.domain.families import Family
from kits.domain.readings import CLAMPED_READINGS, WHAT, Band, check_point, likely_meant
from kits.models import Gauge, Job, Reading, ReadingWithdrawal, ResultReading
from kits.queries.documents import family_of
from kits.queries.gauges import gauges_by_number, no_such_gauge
from kits.queries.readings import ReadingRow, readings_of, repeated
from kits.queries.scope import job_by_number
from kits.queries.washed_out import washed_at
from kits.services.shared import open_job, touch

#: Lines of one request.
MOST_LINES = 500
#: How the point of a weight begins: what lay on the scales with it.
WEIGHED = ("with ", "without ")
#: A part or a gauge on a bench is not colder or hotter than that, in millikelvin: -20 °C to 120 °C.
TEMPERATURES = Band(253_150, 393_150, "a bench")
Subject = tuple[str, str, int | None, int | None, str]


@dataclass(frozen=True, slots=True)
class ReadingIn:
    """One reading as a person says it.

    what       code of the closed list `kits.domain.readings.WHAT`
    value      number and unit as typed; `meant`: what it was meant to be, where a slip was asked about
    gauge      its number
    place      place of the engine (CYL-2, MAIN-3, HEAD/bolt-07); set: serial of a matched set (part: where several parts have it);
               item: id of any other thing. One of the three is there.
    point      clock hour, or plane and direction such as "top/across"; of a weight what lay on the scales with it: "with pin"
    part_temperature, gauge_temperature   as typed ("31 °C"); empty: not said
    clean, clamped, without_rubber        how it was measured; None: not said
    confirmed, reason   the value is right although it lies outside what is plausible
    """

    what: str
    value: str
    gauge: str
    place: str = ""
    set: str = ""
    part: str = ""
    item: int | None = None
    point: str = ""
    meant: str = ""
    part_temperature: str = ""
    gauge_temperature: str = ""
    clean: bool | None = None
    clamped: bool | None = None
    clamp_load: str = ""
    without_rubber: bool | None = None
    confirmed: bool = False
    reason: str = ""


@dataclass(frozen=True, slots=True)
class _Known:
    """What the lines of one request are read against."""

    job: Job
    family: Family
    gauges: Mapping[str, Gauge]
    serials: Mapping[str, Sequence[Serial]]
    items: frozenset[int]
    light: frozenset[str]
    washed: Mapping[str, Sequence[datetime]]


def record_readings(*, actor: Person, stamp: Stamp, job: str, readings: Sequence[ReadingIn]) -> Done:
    """Record readings of a job; all lines or none.

    Outcome: {"readings": [{id, what, place, set, item, point, repeat, value, shown, gauge, gauge_state, uncertainty, marks,
    computed_with}], "repeats": [{what, place, set, item, point, count, value, spread, allowance, how}]}: of everything that was read
    more than once, what its repeats come to; "measure again" asks for a third.
    Raises "not-found", "job-ended", "nothing-given", "too-many-lines", and ManyErrors naming every refused line: "reading-unusable",
    "reading-implausible" with what was likely meant, "temperature-missing" of light alloy soon after a hot wash, "reason-missing", "position-unknown", "gauge-wrong", "serial-ambiguous",
    "not-found", and those of amounts.
    """

    def work(act: Act) -> Body:
        if not readings:
            raise DomainError("nothing-given", "No reading was given.")
        if len(readings) > MOST_LINES:
            raise DomainError(
                "too-many-lines", f"{len(readings)} readings; {MOST_LINES} are the most.", most=MOST_LINES
            )
        row = open_job(job)
        known = _known(row, readings)
        made, errors = [], []
        for number, one in enumerate(readings, 1):
            try:
                made.append(_read(act, known, one))
            except DomainError as error:
                errors.append((number, error))
        if errors:
            raise ManyErrors(tuple(errors))
        _count_repeats(row, made)
        Reading.objects.bulk_create(made)
        touch(row)
        return _outcome(row, [one.pk for one in made])

    request = {"job": job, "readings": [asdict(one) for one in readings]}
    return run("record readings", work, actor=actor, stamp=stamp, request=request, subject=job)


def _known(job: Job, readings: Sequence[ReadingIn]) -> _Known:
    serials: dict[str, list[Serial]] = {}
    named = {one.set for one in readings if one.set}
    if named:
        for row in Serial.objects.filter(number__in=named, matched_set__isnull=False).select_related("part"):
            serials.setdefault(row.number, []).append(row)
    ids = {one.item for one in readings if one.item is not None}
    family = family_of(job.family_revision)
    return _Known(
        job=job,
        family=family,
        light=light_pieces(family.facts.expansion_ppm, family.facts.texts.get("block", "")),
        washed=washed_at(job),
        gauges=gauges_by_number(one.gauge for one in readings),
        serials=serials,
        items=frozenset(Item.objects.filter(pk__in=ids).values_list("pk", flat=True)) if ids else frozenset(),
    )


def _read(act: Act, known: _Known, one: ReadingIn) -> Reading:
    """One line as a row that is not written yet; DomainError says what is wrong with it."""
    what = WHAT.get(one.what)
    if what is None:
        raise DomainError("reading-unusable", f"{one.what[:60]!r} is nothing that is read.", what=one.what[:60])
    gauge = known.gauges.get(one.gauge)
    if gauge is None:
        raise no_such_gauge(one.gauge)
    if gauge.measures != what.dimension:
        raise DomainError(
            "gauge-wrong", f"Gauge {gauge.number} measures {gauge.measures}, not {what.dimension}.", gauge=gauge.number
        )
    serial = _subject(known, one)
    quantity = parse_quantity(one.meant or one.value)
    read = to_base(quantity, what.dimension, allow_negative=what.below_zero)
    band = band_of(known.family, one.what, one.place)
    _check_meant(one, what.dimension, band)
    why = _implausible(what.below_zero, read.amount, band, gauge)
    part_mk = _temperature(one, one.part_temperature, "part")
    gauge_mk = _temperature(one, one.gauge_temperature, "gauge")
    warm = still_warm(one.what, (part_mk, gauge_mk), known.light, known.washed, act.occurred_at)
    if warm and not one.confirmed:
        raise _ask_warm(one, warm)
    if why and not one.confirmed:
        raise _ask(one, quantity, why, band)
    if one.confirmed and not one.reason.strip():
        raise DomainError("reason-missing", f'Why is "{one.value}" right?', value=one.value)
    return Reading(
        job=known.job,
        act=act,
        what=one.what,
        place=one.place,
        serial=serial,
        item_id=one.item,
        point=one.point,
        typed=one.value,
        meant=one.meant,
        value=read.amount,
        unit=quantity.unit.code,
        exact=read.exact,
        gauge=gauge,
        part_mk=part_mk,
        part_typed=one.part_temperature,
        gauge_mk=gauge_mk,
        gauge_typed=one.gauge_temperature,
        is_clean=one.clean,
        clamped=one.clamped,
        clamp_load=one.clamp_load,
        without_rubber=one.without_rubber,
        confirmed=bool(why or warm) and one.confirmed,
        reason=one.reason,
    )


def _subject(known: _Known, one: ReadingIn) -> Serial | None:
    """The matched set that a line names; the place, the thing and the point are checked with it."""
    if not (one.place or one.set or one.item is not None):
        raise DomainError(
            "reading-unusable", "A reading names a place of the engine, a set, or a thing.", field="place"
        )
    if one.place:
        known.family.map.outward(one.place)
    if one.item is not None and one.item not in known.items:
        raise DomainError("not-found", f"There is no item {one.item}.", item=one.item)
    check_point(one.what, one.point, [ring.ring for ring in known.family.facts.ring_gaps])
    if one.clamp_load and one.what not in CLAMPED_READINGS:
        said = f"{WHAT[one.what].text} is read by itself, with nothing clamped: it has no clamping load."
        raise DomainError("reading-unusable", said, field="clamp_load")
    if one.what == "weight" and not one.point.startswith(WEIGHED):
        raise DomainError(
            "reading-unusable",
            'What lay on the scales with the piston? A weight says so, as in "with pin".',
            field="point",
            given=one.point[:40],
        )
    if one.clamp_load and not one.clamped:
        raise DomainError("reading-unusable", "A clamping load is given of what was not clamped.", field="clamp_load")
    if not one.set:
        return None
    found = [row for row in known.serials.get(one.set, ()) if not one.part or row.part.number == one.part]
    if not found:
        raise DomainError("not-found", f"There is no matched set {one.set}.", serial=one.set)
    if len(found) > 1:
        raise DomainError(
            "serial-ambiguous",
            f"{one.set} is the serial of several sets.",
            ways_out=("Name the part too.",),
            serial=one.set,
            parts=sorted(row.part.number for row in found),
        )
    return found[0]


def _check_meant(one: ReadingIn, dimension: Dimension, band: Band | None) -> None:
    """What a typed value was meant to be is one of the slips that are offered, or has its reason."""
    if not one.meant or one.reason.strip():
        return
    value = read_amount(one.meant, dimension, allow_negative=True).amount
    try:
        offered = likely_meant(parse_quantity(one.value), band) if band is not None else ()
    except DomainError:
        offered = ()
    if value not in [offer.value for offer in offered]:
        raise DomainError(
            "reason-missing",
            f'Why does "{one.value}" mean "{one.meant}"?',
            value=one.value,
            meant=one.meant,
        )


def _implausible(below_zero: bool, value: int, band: Band | None, gauge: Gauge) -> str:
    """Why a value asks back, empty where it does not."""
    if band is not None and not band.holds(value):
        return f"by {band.source}"
    reach = abs(value) <= gauge.high - gauge.low if below_zero else gauge.low <= value <= gauge.high
    return "" if reach else f"by the range of gauge {gauge.number}"


def _temperature(one: ReadingIn, text: str, of: str) -> int | None:
    if not text:
        return None
    found = read_amount(text, Dimension.TEMPERATURE).amount
    if not TEMPERATURES.holds(found) and not one.confirmed:
        raise DomainError(
            "reading-implausible",
            f'"{text}" is no temperature that a {of} on a bench has.',
            ways_out=("Send it with its right unit, or confirmed with a reason.",),
            field=f"{of}_temperature",
            typed=text,
        )
    return found


def _ask_warm(one: ReadingIn, piece: str) -> DomainError:
    """The question back for what was read of light alloy soon after its hot wash without a temperature."""
    return DomainError(
        "temperature-missing",
        f"{one.place or one.set}: the {piece} came out of the hot wash at most {WARM_FOR // timedelta(hours=1)} hours before.",
        ways_out=("Read the temperatures of part and gauge.", "If it is cold, send it confirmed with a reason."),
        what=one.what,
        place=one.place,
        piece=piece,
    )


def _ask(one: ReadingIn, quantity: Quantity, why: str, band: Band | None) -> DomainError:
    """The question back, with what was likely meant."""
    offers = likely_meant(quantity, band) if band is not None else ()
    unit = quantity.unit
    expected: dict[str, Any] = {}
    if band is not None:
        expected = {
            "low": format_amount(band.low, unit.dimension, unit),
            "high": format_amount(band.high, unit.dimension, unit),
        }
    between = f"; {expected['low']} to {expected['high']} is expected" if expected else ""
    return DomainError(
        "reading-implausible",
        f'"{quantity.typed}" is no likely {WHAT[one.what].text} {why}{between}.',
        ways_out=(
            *(f'If "{offer.text}" was meant ({offer.slip}), send it as "meant".' for offer in offers),
            "If it is right, send it confirmed with a reason.",
        ),
        what=one.what,
        place=one.place,
        typed=quantity.typed,
        **expected,
        likely=[
            {
                "meant": offer.text,
                "value": offer.value,
                "slip": offer.slip,
                "mm": _millimetres(offer.value, unit.dimension),
            }
            for offer in offers
        ],
    )


def _millimetres(value: int, dimension: Dimension) -> str:
    """A length in mm as text; other dimensions in their usual unit."""
    return format_amount(value, dimension, BY_CODE["MMT" if dimension is Dimension.LENGTH else "GRM"])


def _count_repeats(job: Job, made: Sequence[Reading]) -> None:
    """Number the repeats of each subject on, behind those that are there, withdrawn ones too."""
    columns = ("what", "place", "serial_id", "item_id", "point")
    there: Counter[Subject] = Counter(Reading.objects.filter(job=job).values_list(*columns))
    for row in made:
        key = (row.what, row.place, row.serial.pk if row.serial else None, row.item_id, row.point)
        there[key] += 1
        row.repeat = there[key]


def _outcome(job: Job, made: Sequence[int]) -> Body:
    """What was recorded, and what the repeats of everything in it come to."""
    rows = readings_of(job=job)
    mine = [row for row in rows if row.id in set(made)]
    subjects = dict.fromkeys(row.subject() for row in mine)
    repeats = [[row for row in rows if row.subject() == subject and row.computed_with] for subject in subjects]
    return {
        "readings": [_said(row) for row in mine],
        "repeats": [repeated(found) for found in repeats if len(found) > 1],
    }


def _said(row: ReadingRow) -> Body:
    names = (
        "id", "what", "place", "set", "item", "point", "repeat", "value", "base", "shown", "gauge", "gauge_state",
        "uncertainty", "marks", "computed_with",
    )  # fmt: skip
    return {name: getattr(row, name) for name in names}


def withdraw_reading(*, actor: Person, stamp: Stamp, job: str, reading_id: int, reason: str) -> Done:
    """A reading turned out wrong: it stays, with the reason, and every result that rests on it is stale. Also on a job that ended.

    Outcome: {"reading", "reason", "stale": [{"result", "kind", "subject"}]}.
    Raises DomainError "not-found", "withdrawn-already", "reason-missing".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", f"Why does reading {reading_id} not count?")
        row = job_by_number(job)
        locks.row("kits_job", [row.pk])
        found = Reading.objects.filter(job=row, pk=reading_id).select_related("withdrawal").first()
        if found is None:
            raise DomainError("not-found", f"Job {job} has no reading {reading_id}.", job=job, reading=reading_id)
        end = getattr(found, "withdrawal", None)
        if end is not None:
            raise DomainError(
                "withdrawn-already", f"Reading {reading_id} was withdrawn: {end.reason}", reading=reading_id
            )
        ReadingWithdrawal.objects.create(reading=found, act=act, reason=reason)
        row.refresh_from_db(fields=["version"])
        touch(row)
        rests = ResultReading.objects.filter(reading=found).order_by("result_id")
        stale = rests.values_list("result_id", "result__kind", "result__subject")
        return {
            "reading": reading_id,
            "reason": reason,
            "stale": [{"result": pk, "kind": kind, "subject": subject} for pk, kind, subject in stale],
        }

    request = {"job": job, "reading": reading_id, "reason": reason}
    return run("withdraw reading", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)
