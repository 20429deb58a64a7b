"""What a layout is proposed from: the bores under the opened heads, the sets at hand, and what was read of both."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from inventory.domain.errors import DomainError
from inventory.domain.items import Tracked
from inventory.models import Balance, MatchedSet, Part, Serial, SetBreak
from inventory.queries.stock import Standing as OnShelf
from inventory.queries.stock import in_place, on_shelves
from kits.domain.bench import (
    NO_LABEL,
    NOT_WEIGHED,
    Bench,
    BoreAt,
    LabelWeight,
    OnScales,
    SetAt,
    Standing,
    Weighing,
    unknown_liner,
    weighed,
)
from kits.domain.engine_map import ONE_BANK, EngineMap, Position
from kits.domain.families import Family
from kits.domain.liners import Gauged, Growth, Read, gauged, growth_of, limits_of, recut_most_nm
from kits.domain.readings import CLOCK, SEAT_CUPPING
from kits.domain.seat import SeatJudged, cupping_of, judge_seat
from kits.domain.sizes import may_be_cut_nm
from kits.domain.standing_verdicts import why_in_no_bore
from kits.domain.under_liner import Piece, ThicknessRead, piece_read
from kits.models import Job, JobHold
from kits.queries.at_positions import came_out, new_at, on_bench
from kits.queries.job_list import JobList
from kits.queries.readings import ReadingRow, readings_of
from kits.queries.standing_verdicts import cracked_ledges, verdicts_on

FLANGE, COUNTERBORE = "flange-thickness", "counterbore-depth"
HEIGHT, DEPTH = "liner-height", "block-depth"
OVER_DECK, WEIGHT = "protrusion", "weight"
SHIM, RING = "shim-thickness", "base-ring-thickness"
_READ = (FLANGE, COUNTERBORE, HEIGHT, DEPTH, SEAT_CUPPING, OVER_DECK, WEIGHT, SHIM, RING)


@dataclass(frozen=True, slots=True)
class AtHand:
    """A set that may be laid out: on a shelf of the site, free or held for the job (`held`), or with the job already (no spot)."""

    serial: str
    item_id: int
    spot_id: int | None
    place: str
    held: bool


@dataclass(frozen=True, slots=True)
class JobBench:
    """A job's bench. `left_out`: set → why it is not at hand; `places`: bore number → use position; part: of the sets."""

    job: Job
    family: Family
    listed: JobList
    part: Part
    bench: Bench
    at_hand: Mapping[str, AtHand]
    left_out: Mapping[str, str]
    places: Mapping[int, str]


class Readings:
    """Readings of liners, bores and weights that count on a job, by what they are of. Four queries at most for any number of sets."""

    def __init__(self, job: Job, family: Family) -> None:
        self.job, self.growth, self._seat = job, growth_of(family.facts), family.facts.seat
        height, depth = family.facts.liner_height, family.facts.block_depth
        flange = "flange thickness" in (height.what if height else "", depth.what if depth else "")
        self.height, self.depth = (FLANGE, COUNTERBORE) if flange else (HEIGHT, DEPTH)
        self.weighed = f"with {family.facts.weight_with}" if family.facts.weight_with else ""
        self._rows = [row for row in readings_of(job=job, what=_READ) if row.computed_with]

    def of_sets(self, part: Part | None, serials: Iterable[str]) -> None:
        """Read what was gauged of these sets on earlier jobs, where it was not gauged on this one: the newest job counts."""
        mine = {row.set for row in self._rows if row.what == self.height}
        wanted = set(serials) - mine
        if not wanted or part is None:
            return
        rows = readings_of(serials=Serial.objects.filter(part=part, number__in=wanted), what=(self.height, WEIGHT))
        newest = {row.set: row.job for row in rows if row.computed_with}
        self._rows += [row for row in rows if row.computed_with and newest[row.set] == row.job]

    def liner(self, serial: str) -> Gauged:
        """The liner of a set."""
        return self._gauged((row for row in self._rows if row.set == serial and row.what == self.height), True)

    def liner_at(self, names: Collection[str]) -> Gauged:
        """The liner of a bore that was read by its bore."""
        return self._gauged(self._at(names, self.height), True)

    def block(self, names: Collection[str]) -> Gauged:
        """The seat of a bore."""
        return self._gauged((row for row in self._rows if row.what == self.depth and row.place in names), False)

    def seat(self, names: Collection[str], depths: Gauged) -> SeatJudged:
        """The seat of a bore by itself. depths  as `block` reads them."""
        rows = (row for row in self._rows if row.what == SEAT_CUPPING and row.place in names)
        return judge_seat(self._seat, depths, cupping_of(map(_read, _round(rows))))

    def over_deck(self, names: Collection[str]) -> Gauged:
        """The liner that stands in a bore, gauged over the deck as it stands."""
        return self._gauged(self._at(names, OVER_DECK), True)

    def piece(self, what: str, holder: str, nominal_nm: int, sizes_nm: Sequence[int]) -> Piece | None:
        """A shim or a base ring that was read for a cylinder; None where none of this size was."""
        rows = (row for row in self._rows if row.what == what and row.place.partition("/")[0] == holder)
        return piece_read(
            [ThicknessRead(row.id, row.value, row.uncertainty, row.marks) for row in rows], nominal_nm, sizes_nm
        )

    def weights(self, serial: str, names: Collection[str] = ()) -> Weighing:
        """What a piston was weighed by, with what the family's limit is stated with."""
        return weighed(
            OnScales(row.id, row.value, row.uncertainty, row.marks)
            for row in self._rows
            if row.what == WEIGHT
            and row.point == self.weighed
            and ((serial and row.set == serial) or (row.place in names and not row.set))
        )

    def _at(self, names: Collection[str], what: str) -> Iterable[ReadingRow]:
        return (row for row in self._rows if row.what == what and row.place in names and not row.set)

    def _gauged(self, rows: Iterable[ReadingRow], is_liner: bool) -> Gauged:
        growth: Growth = self.growth
        return gauged(map(_read, _round(rows)), growth.liner_ppm if is_liner else growth.block_ppm, growth.needed)


def _round(rows: Iterable[ReadingRow]) -> Iterable[ReadingRow]:
    return (row for row in rows if row.point in CLOCK)


def _read(row: ReadingRow) -> Read:
    return Read(
        id=row.id,
        hour=int(row.point),
        value_nm=row.value,
        uncertainty_nm=row.uncertainty,
        part_mk=row.part_mk,
        gauge_mk=row.gauge_mk,
        gauge_ppm=Fraction(row.expansion_ppm) if row.expansion_ppm else None,
        marks=row.marks,
    )


def names_of(position: Position) -> tuple[str, str]:
    """A bore as readings name it: the cylinder, or the use position of its set."""
    return position.holder, position.name


def bores_like(engine_map: EngineMap, name: str) -> dict[int, Position]:
    """Number → use position of every set of the engine, from the position of one."""
    one = engine_map.position(name)
    return {
        other.number: other
        for other in engine_map.positions
        if (other.group, other.member, other.series) == (one.group, one.member, one.series) and other.number is not None
    }


def listed_sets(listed: JobList) -> dict[str, str]:
    """Use position → part of the set that the list asks for there."""
    return {
        key[0]: line.part
        for line in listed.lines
        for key in line.keys
        if listed.parts[line.part].tracked_by == Tracked.SET.value
    }


def _laid_out(job: Job, fill: Mapping[str, str], listed: JobList) -> tuple[Part, str]:
    """The part of the sets that are laid out, and the position of one of them: of those that the list asks for, else of an old one that was
    lifted and goes back. DomainError "not-on-list" for neither."""
    if fill:
        position, number = next(iter(fill.items()))
        return listed.parts[number], position
    out = [thing for thing in on_bench(job) if thing.position]
    sets = {
        part.number: part for part in Part.objects.filter(number__in={one.part for one in out}, tracked_by=Tracked.SET)
    }
    old = next((one for one in out if one.part in sets), None)
    if old is None:
        said = f"Job {job.number} lists no set, and no old one lies at its bench."
        raise DomainError("not-on-list", said, job=job.number)
    return sets[old.part], old.position


def bench_of(listed: JobList) -> JobBench:
    """The bench of a job as it stands now, for the sets that its list asks for.

    DomainError "not-on-list", "no-limit"; "layout-unusable" where the bores take sets of several parts.
    """
    job, family = listed.job, listed.scope.family
    fill = listed_sets(listed)
    if len(set(fill.values())) > 1:
        raise DomainError("layout-unusable", "The bores take sets of several parts.", parts=sorted(set(fill.values())))
    part, one_position = _laid_out(job, fill, listed)
    limits = limits_of(family.facts)
    at_hand, left_out = sets_at_hand(job, part)
    readings = Readings(job, family)
    every = bores_like(family.map, one_position)
    inside, lifted = sets_in(job, every, fill)
    readings.of_sets(part, [*at_hand, *inside.values()])
    labels = labels_of(part, [*at_hand, *inside.values()])
    bores, elsewhere, new_seat, cracked = [], [], recut_most_nm(family.facts), cracked_ledges(job)
    for bank, numbers in family.map.banks:
        opened = any(every[number].name in fill or every[number].name in lifted for number in numbers)
        for number in numbers:
            position = every[number]
            its = None if position.name in fill and position.name not in inside else inside.get(position.name, "")
            standing = None if its is None else standing_of(readings, position, its, labels)
            if standing is not None and position.name in lifted and (rule := family.facts.origin(position.name)):
                standing = replace(standing, turns_deg=rule.turns_deg)
            if opened:
                head = "" if bank == ONE_BANK else bank
                depths, seat_wrong = seated(readings, names_of(position))
                may_cut = may_be_cut_nm(family.sizes, listed.scope.sizes, position.name, family.map, new_seat)
                crack = position.holder in cracked
                bores.append(
                    BoreAt(number, position.name, position.holder, head, depths, standing, may_cut, crack, seat_wrong)
                )
            else:
                elsewhere.append(standing)
    sets = tuple(SetAt(serial, readings.liner(serial), *weight(readings, labels, serial)) for serial in sorted(at_hand))
    bench = Bench(
        tuple(bores),
        sets,
        limits,
        family.facts.weight_spread_mg,
        tuple(its.weight_mg if its else None for its in elsewhere),
        tuple(its.weighing for its in elsewhere if its),
    )
    places = {bore.number: bore.position for bore in bores}
    return JobBench(job, family, listed, part, bench, at_hand, left_out, places)


def weight(readings: Readings, labels: Mapping[str, LabelWeight], serial: str) -> tuple[int | None, Weighing]:
    """Of a set's piston, and what it was read by: as the scales say, else as its label says. Scales that contradict themselves are no
    reason to believe the label."""
    read = readings.weights(serial)
    if read.ids:
        return read.weight_mg, read
    label = labels.get(serial, NO_LABEL)
    other = label.other_than(readings.weighed)
    return (None, replace(read, doubts=(other,))) if other else (label.weight_mg, read)


def seated(readings: Readings, names: tuple[str, str]) -> tuple[Gauged, str]:
    """The depths of a bore with what is doubtful about its seat, and why no liner goes onto it, "" where one may."""
    depths = readings.block(names)
    seat = readings.seat(names, depths)
    if not depths.points or not (seat.why or seat.ids):
        return depths, ""
    doubts = () if seat.wrong else tuple(f"seat of {names[0]}: {why}" for why in seat.why)
    ids = tuple(sorted({*depths.ids, *seat.ids}))
    return replace(depths, doubts=(*depths.doubts, *doubts), ids=ids), seat.wrong


def standing_of(readings: Readings, position: Position, serial: str, labels: Mapping[str, LabelWeight]) -> Standing:
    """The liner that stays in a bore, or goes back there; serial: empty where our records do not know it."""
    names = names_of(position)
    liner = readings.liner(serial) if serial else readings.liner_at(names)
    if serial and not liner.points:
        liner = readings.liner_at(names)
    its_weight, weighing = weight(readings, labels, serial) if serial else (None, NOT_WEIGHED)
    if its_weight is None and not weighing.ids:
        weighing = readings.weights("", names)
        its_weight = weighing.weight_mg
    name = serial or unknown_liner(position.holder)
    return Standing(name, liner, readings.over_deck(names), its_weight, weighing)


def sets_in(job: Job, every: Mapping[int, Position], fill: Collection[str]) -> tuple[dict[str, str], set[str]]:
    """Use position → serial of what stays there: what is in the engine and not renewed (or went in on this job), and what was lifted
    and goes back; and the positions of what was lifted and is not back. Four queries."""
    names = [position.name for position in every.values()]
    rows = Balance.objects.filter(place=job.engine.place_id, spot__name__in=names, amount__gt=0)
    there = dict(rows.order_by("pk").values_list("spot__name", "item__serial__number"))
    new = new_at(job, names)
    found = {name: serial or "" for name, serial in there.items() if name not in fill or new.get(name)}
    out = [thing for thing in on_bench(job) if thing.position in names and thing.position not in fill]
    return {thing.position: thing.serial for thing in out} | found, {thing.position for thing in out} - found.keys()


def labels_of(part: Part, serials: Iterable[str]) -> dict[str, LabelWeight]:
    """Serial → weight of its piston as its label says. One query."""
    rows = MatchedSet.objects.filter(serial__part=part, serial__number__in=set(serials))
    found = rows.values_list("serial__number", "weight_mg", "weighed")
    return {serial: LabelWeight(weight_mg, weighed) for serial, weight_mg, weighed in found}


def sets_at_hand(job: Job, part: Part) -> tuple[dict[str, AtHand], dict[str, str]]:
    """Sets of a part that may be laid out for a job, and those of its site that may not, each with why. Seven queries, two
    more where anything was judged."""
    holds = JobHold.objects.filter(job=job, hold__item__part=part)
    held = set(holds.filter(hold__end__isnull=True).values_list("hold__item_id", flat=True))
    issued = set(holds.filter(hold__end__how="picked").values_list("hold__item_id", flat=True))
    old = set(came_out(job)) - issued
    broken = set(SetBreak.objects.filter(serial__part=part).values_list("serial__number", flat=True))
    found: dict[str, AtHand] = {}
    left_out: dict[str, str] = {}
    shelves = on_shelves([part.pk], job.site_id)
    with_job = [row for row in in_place([job.cart_id, job.bench_id]) if row.part_id == part.pk]
    said = verdicts_on(job, {row.serial_id for row in (*shelves, *with_job) if row.serial_id is not None})
    for row in (*shelves, *with_job):
        on_shelf = row in shelves
        why = "it is broken" if row.serial in broken else _not_at_hand(row, held, old, on_shelf)
        why = why or why_in_no_bore(said, row.serial)
        if why:
            left_out[row.serial] = why
        elif row.serial and (not on_shelf or row.free > 0 or row.item_id in held):
            spot = row.spot_id if on_shelf else None
            found[row.serial] = AtHand(row.serial, row.item_id, spot, row.place_code, row.item_id in held)
    return found, left_out


def _not_at_hand(row: OnShelf, held: Collection[int], old: Collection[int], on_shelf: bool) -> str:
    """Why a set that lies there may not be laid out."""
    if row.stopped:
        return "it is stopped"
    if on_shelf and row.free < 1 and row.item_id not in held:
        return "it is held for another job"
    return "it came out of this engine" if not on_shelf and row.item_id in old else ""
