"""Rows of tables of jobs, booked and past: what they must be beside the families, engines, procedures and owners on record.

An owner is told by number alone: personal data stands with owners, and a table that names one is not kept.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Reads
from inventory.domain.import_kinds import Column, Kind
from inventory.domain.import_known import Row
from inventory.domain.part_numbers import compare_key
from kits.domain.engine_numbers import near_engines, parse_engine_number
from kits.domain.terms import ARRIVAL, HOURS, KILOMETRES, Reading, in_base, questions

_BETWEEN = re.compile(r"[+,;]")
_HOURS = re.compile(r"[0-9]{1,7}(?:\.[0-9])?")
#: Booking is one act, job by job by the rules of booking: so many keep others from writing for a second or two.
MOST_JOBS = 250

JOBS = Kind(
    "jobs",
    (
        Column("job", Reads.IDENTIFIER, True, ("job number", "job no", "number")),
        Column("engine", Reads.IDENTIFIER, True, ("engine number", "engine no")),
        Column("family", Reads.TEXT, False, ("engine family",)),
        Column("procedures", Reads.TEXT, True, ("operations", "procedure", "work")),
        Column("site", Reads.IDENTIFIER),
        Column("strip on", Reads.DAY, True, ("strip", "strip day", "opened")),
        Column("fit on", Reads.DAY, False, ("planned", "planned on", "fitting", "fit day")),
        Column("closed on", Reads.DAY, False, ("closed", "done", "done on")),
        Column("owner", Reads.WHOLE, False, ("owner number",)),
        Column("hours", Reads.TEXT, False, ("run hours", "hours at arrival")),
        Column("kilometres", Reads.WHOLE, False, ("kilometers", "km")),
        Column("complaint", Reads.TEXT),
        Column("remark", Reads.TEXT, False, ("note",)),
    ),
    ("job",),
    numbered=("owner",),
    most=MOST_JOBS,
)


@dataclass(frozen=True, slots=True)
class KnownJobs:
    """What is on record beside a table of jobs.

    jobs        compare-key -> number
    families    prefix -> (code, digits of its numbers)
    engines     number -> its owner's number, None for nobody
    procedures  code -> code of its family
    sites       codes; owners: numbers
    readings    engine -> meter -> what was read, in the order of the days
    """

    jobs: Mapping[str, str] = field(default_factory=dict)
    families: Mapping[str, tuple[str, int]] = field(default_factory=dict)
    engines: Mapping[str, int | None] = field(default_factory=dict)
    procedures: Mapping[str, str] = field(default_factory=dict)
    sites: tuple[str, ...] = ()
    owners: frozenset[int] = frozenset()
    readings: Mapping[str, Mapping[str, Sequence[Reading]]] = field(default_factory=dict)


def check_job_row(row: Row) -> None:
    """A job as it would be booked by hand; one with a day on which it was closed is of the past."""
    known: KnownJobs = row.known.more
    if row.text("remark"):
        row.refuse("import-remark", f"{row.text('remark')}: that is more than a table can bring in.", column="remark")
    _check_number(row, known)
    family = _check_engine(row, known)
    _check_procedures(row, known, family)
    _check_site(row, known)
    _check_days(row)
    _check_owner(row, known)
    _check_meters(row, known)


def _check_number(row: Row, known: KnownJobs) -> None:
    number = row.text("job")
    try:
        same = known.jobs.get(compare_key(number))
    except DomainError as error:
        row.errors.append(error)
        return
    if len(number) > 40:
        row.refuse("text-too-long", "job: at most 40 characters.", column="job")
    if same is not None and same != number:
        row.ask("number-known", "job", number, same, f"job: {number} is on record as {same}; is it that one?")


def _check_engine(row: Row, known: KnownJobs) -> str:
    """The code of the family that the number says; "" where it says none."""
    typed = row.text("engine")
    try:
        number = parse_engine_number(typed, {prefix: width for prefix, (_, width) in known.families.items()})
    except DomainError as error:
        near = error.values["near"]
        if near and "engine" not in row.answers:
            row.ask("engine-unclear", "engine", typed, near[0] if len(near) == 1 else "", f"engine: {error.message}")
        else:
            row.errors.append(error)
        return ""
    row.values["engine"] = number.text
    family = known.families[number.prefix][0]
    stated = row.text("family")
    if stated and stated != family:
        words = f"family: engine {number.text} is a {family} by its number, and the row says {stated}"
        row.ask("family-differs", "family", stated, family, f"{words}; which one is wrong?")
        if "family" in row.answers:
            row.refuse("operation-other-family", f"{words}.", engine=number.text)
    row.values["new engine"] = number.text not in known.engines
    if row.values["new engine"]:
        near = list(dict.fromkeys([*near_engines(typed, known.engines), *near_engines(number.text, known.engines)]))
        if near:
            words = (
                f"engine: {number.text} is not on record, and {', '.join(near)} is; is it that one, or a new engine?"
            )
            row.ask("engine-unclear", "engine", typed, near[0] if len(near) == 1 else "", words)
        row.warnings.append(f"engine {number.text} is not on record: it is entered with the job")
    return family


def _check_procedures(row: Row, known: KnownJobs, family: str) -> None:
    codes = [code.strip() for code in _BETWEEN.split(row.text("procedures")) if code.strip()]
    row.values["operations"] = list(dict.fromkeys(codes))
    for code in row.values["operations"]:
        its = known.procedures.get(code)
        if its is None:
            row.refuse("not-found", f"No procedure {code} is on record.", procedure=code)
        elif family and its != family:
            row.refuse("operation-other-family", f"{code} is for {its}, this engine is a {family}.", procedure=code)
    if not codes:
        row.refuse("nothing-given", "A job needs at least one operation.")


def _check_site(row: Row, known: KnownJobs) -> None:
    site = row.text("site")
    if not site and len(known.sites) == 1:
        row.values["site"] = known.sites[0]
    elif not site:
        row.refuse("cell-missing", "The row has no site, and the shop has several.", column="site")
    elif site not in known.sites:
        row.refuse("not-found", f"No site {site} is on record.", site=site)


def _check_days(row: Row) -> None:
    """In their order; a day of closing lies behind. Of the past without a day of fitting: it was fitted when it was closed."""
    if any(doubt.column in ("strip on", "fit on", "closed on") for doubt in row.doubts):
        return
    strip, fit, closed = (
        date.fromisoformat(row.text(name)) if row.text(name) else None for name in ("strip on", "fit on", "closed on")
    )
    if strip is None:
        return
    if fit is None:
        fit = closed
        if fit is None:
            words = f"fit on: no day is planned; is it the day of the strip, {strip.isoformat()}?"
            row.ask("no-day", "fit on", "", strip.isoformat(), words)
            if "fit on" in row.answers:
                row.refuse("cell-missing", "The row has no fit on.", column="fit on")
            return
        row.values["fit on"] = fit.isoformat()
    if fit < strip or (closed is not None and closed < fit):
        row.refuse("dates-turned", "Strip, fitting and closing do not follow each other.", strip_on=strip.isoformat())
    if closed is not None and closed > row.today:
        row.refuse("from-the-future", f"closed on: {closed.isoformat()} has not happened yet.", column="closed on")


def _check_owner(row: Row, known: KnownJobs) -> None:
    owner = row.values.get("owner")
    if owner is None:
        return
    if owner not in known.owners:
        row.refuse("not-found", f"There is no owner {owner}.", owner=owner)
        return
    now = known.engines.get(row.text("engine"))
    if now is not None and now != owner and row.values.get("closed on") is None:
        words = f"owner: engine {row.text('engine')} is on record as owner {now}'s; is it owner {owner}'s from now on?"
        row.ask("owner-differs", "owner", str(owner), str(now), words)


def _check_meters(row: Row, known: KnownJobs) -> None:
    """What the meters showed at arrival: asked about as any reading; that there is no photograph is known of a table."""
    text = row.text("hours")
    if text and not _HOURS.fullmatch(text):
        row.refuse("cell-unreadable", f"hours: {text!r} is no number of hours.", column="hours", typed=text)
        return
    if not row.text("strip on") or any(doubt.column == "strip on" for doubt in row.doubts):
        return
    past = row.values.get("closed on") is not None
    on = min(date.fromisoformat(row.text("strip on")), row.today) if past else row.today
    read = known.readings.get(row.text("engine"), {})
    for column, meter in (("hours", HOURS), ("kilometres", KILOMETRES)):
        if row.text(column):
            new = Reading(on, in_base(Decimal(row.text(column)), meter), ARRIVAL)
            for asked in questions(read.get(meter, ()), new, meter, photographed=True):
                row.ask("reading-asked", column, row.text(column), "", f"{column}: is that right? {asked}")
