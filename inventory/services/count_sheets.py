"""Count sheets: opened without amounts, counted blind (`enter_counts`), then booked once, like any count."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass

from inventory.domain.counting import CountClass, Standing
from inventory.domain.errors import DomainError
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.storage import RULES
from inventory.models import (
    Act,
    Balance,
    CountPosting,
    CountSheet,
    CountSheetBin,
    CountSheetLine,
    Part,
    Person,
    Site,
    Spot,
)
from inventory.queries.catalogue import no_such_site
from inventory.queries.count_again import others_who_recount
from inventory.queries.count_sheets import LineNow, lines_now, numbers
from inventory.queries.counting import classed_parts
from inventory.queries.days import shop_day
from inventory.services import lookup, things
from inventory.services.counting import Counted, against_books, book, refuse, unbooked
from inventory.services.run import Body, Done, Stamp, run

MOST_BINS = 500


@dataclass(frozen=True, slots=True)
class BinIn:
    """What lies of a part at a spot."""

    place: str
    part: str
    spot: str = NO_SPOT


def open_sheet(*, actor: Person, stamp: Stamp, site: str, bins: Sequence[BinIn], note: str = "") -> Done:
    """Open a sheet over bins of a site's shelves: a line for each thing that the books have there.

    Outcome: {"sheet", "site", "note", "bins": [{bin, place, spot, part, count_class, lines}]}. Nothing of what the books say stands in it.
    Raises DomainError "not-found", "nothing-given", "too-many-lines"; ManyErrors by bin: "not-found", "wrong-place", "counted-twice".
    """
    request = {"site": site, "bins": [asdict(one) for one in bins], "note": note}

    def work(act: Act) -> Body:
        if not bins:
            raise DomainError("nothing-given", "A count sheet needs at least one bin.")
        if len(bins) > MOST_BINS:
            raise DomainError("too-many-lines", f"{len(bins)} bins; at most {MOST_BINS}.", lines=len(bins))
        its_site = Site.objects.filter(code=site).first()
        if its_site is None:
            raise no_such_site(site)
        pairs = _bins(bins, its_site)
        sheet = CountSheet.objects.create(act=act, site=its_site, note=note)
        classes = classed_parts(shop_day(act.occurred_at))
        rows = CountSheetBin.objects.bulk_create(
            CountSheetBin(
                sheet=sheet,
                number=number,
                spot=spot,
                part=part,
                count_class=classes[part.pk].count_class if part.pk in classes else CountClass.LOW,
            )
            for number, (spot, part) in enumerate(pairs, 1)
        )
        lines = _lines(act, sheet, rows)
        CountSheetLine.objects.bulk_create(lines)
        return {
            "sheet": sheet.pk,
            "site": site,
            "note": note,
            "bins": [
                {
                    "bin": row.number,
                    "place": row.spot.place.code,
                    "spot": row.spot.name,
                    "part": row.part.number,
                    "count_class": row.count_class,
                    "lines": [line.number for line in lines if line.bin is row],
                }
                for row in rows
            ],
        }

    return run("open count sheet", work, actor=actor, stamp=stamp, request=request)


def post_sheet(
    *,
    actor: Person,
    stamp: Stamp,
    sheet: int,
    reason: str = "",
    reasons: Mapping[int, str] | None = None,
    leave_out: Sequence[int] = (),
    quarantine: str = "",
) -> Done:
    """Book a sheet, once: one count over all its counted lines, each against the books as of the moment it was counted.

    reasons     line → why it differs; `reason` for every other line that differs
    leave_out   lines that are not booked: they are counted another time; a sheet of which nothing is booked is closed with a reason
    quarantine  where sets and gaskets go that stood wrongly
    Outcome: that of a count, and {"sheet", "left_out", "not_counted", "counted_since"}: lines by number. Raises DomainError "not-found",
    "sheet-booked", "recount-needed" while a line is to be counted again and somebody else of the site may, "from-the-future"; ManyErrors as a
    count.
    """
    why = {number: text for number, text in (reasons or {}).items() if text.strip()}
    request = {
        "sheet": sheet, "reason": reason, "reasons": {str(number): text for number, text in why.items()},
        "leave_out": sorted(leave_out), "quarantine": quarantine,
    }  # fmt: skip

    def work(act: Act) -> Body:
        row = unbooked(sheet)
        aside = things.place(quarantine) if quarantine else None
        lookup.lock((line.item, line.bin.spot.place) for line in row.lines.select_related("item", "bin__spot__place"))
        now = lines_now(row)
        _known(row, {*why, *leave_out}, {one.line.number for one in now})
        out = set(leave_out)
        alone = _alone([one for one in now if one.line.number not in out], row.site)
        chosen = [
            one
            for one in now
            if (one.standing in (Standing.RIGHT, Standing.DIFFERS) or one.line.number in alone)
            and one.line.number not in out
        ]
        if not chosen:
            lookup.need_reason(reason, f"Nothing of count sheet {sheet} is booked. Why?")
        read = {one.line.number: _counted(one, act, why.get(one.line.number, reason)) for one in chosen}
        refuse(against_books(read))
        said = book(act, list(read.values()), reason or f"count sheet {sheet}", sorted(RULES), aside)
        CountPosting.objects.create(act=act, sheet=row)
        return {
            "place": "",
            "reason": reason,
            **said,
            "sheet": sheet,
            "left_out": sorted(out),
            "not_counted": numbers(now, Standing.OPEN, out),
            "counted_since": numbers(now, Standing.SINCE, out),
        }

    return run(
        "count by sheet", work, actor=actor, stamp=stamp, request=request, subject=f"count sheet {sheet}", reason=reason
    )


def _bins(bins: Sequence[BinIn], site: Site) -> list[tuple[Spot, Part]]:
    parts = {part.number: part for part in Part.objects.filter(number__in={one.part for one in bins})}
    found: list[tuple[Spot, Part]] = []
    errors: list[tuple[int, DomainError]] = []
    seen: set[tuple[int, int]] = set()
    for number, one in enumerate(bins, 1):
        try:
            place = things.place(one.place)
            if place.kind != PlaceKind.SHELF or place.site_id != site.pk:
                raise DomainError("wrong-place", f"{one.place} is no shelf of {site.code}.", place=one.place)
            part = parts.get(one.part) or things.parts_by_number([one.part])[one.part]
            spot = things.spot(place, one.spot)
            if (spot.pk, part.pk) in seen:
                raise DomainError("counted-twice", f"{one.part} at {one.place} stands twice on this sheet.")
            seen.add((spot.pk, part.pk))
            found.append((spot, part))
        except DomainError as error:
            errors.append((number, error))
    refuse(errors)
    return found


def _lines(act: Act, sheet: CountSheet, bins: Sequence[CountSheetBin]) -> list[CountSheetLine]:
    by_bin = {(row.spot_id, row.part_id): row for row in bins}
    rows = Balance.objects.filter(
        spot__in={row.spot_id for row in bins}, part__in={row.part_id for row in bins}, amount__gt=0
    )
    lies = [
        (by_bin[row.spot_id, row.part_id].number, row.item.identity, row.item)
        for row in rows.select_related("item")
        if (row.spot_id, row.part_id) in by_bin
    ]
    ordered = sorted(lies, key=lambda one: one[:2])
    return [
        CountSheetLine(sheet=sheet, number=number, act=act, bin=bins[its - 1], item=item)
        for number, (its, _, item) in enumerate(ordered, 1)
    ]


def _alone(lines: Iterable[LineNow], site: Site) -> set[int]:
    """Lines to be counted again that nobody else of the site may count; DomainError "recount-needed" where there is somebody."""
    again = [one for one in lines if one.standing is Standing.AGAIN]
    others = {by: others_who_recount(site, [by]) for by in sorted({one.last.act.actor_id for one in again})}
    open_still = [one.line.number for one in again if others[one.last.act.actor_id]]
    if open_still:
        people = sorted({person.username for those in others.values() for person in those})
        raise DomainError(
            "recount-needed",
            f"To be counted again by another person first: line {', '.join(map(str, open_still))}.",
            ways_out=("Count again.", "Leave these lines out: they are counted another time."),
            lines=open_still,
            people=people,
        )
    return {one.line.number for one in again}


def _known(sheet: CountSheet, named: set[int], numbers: set[int]) -> None:
    unknown = sorted(named - numbers)
    if unknown:
        raise DomainError("not-found", f"Count sheet {sheet.pk} has no line {unknown[0]}.", line=unknown[0])


def _counted(one: LineNow, act: Act, reason: str) -> Counted:
    at = one.last.act.occurred_at
    if at > act.occurred_at:
        raise DomainError(
            "dates-turned",
            f"Line {one.line.number} was counted at {at.isoformat()}, after the moment at which the sheet is said to be booked.",
            line=one.line.number,
        )
    item, spot = one.line.item, one.line.bin.spot
    last = one.last
    return Counted(
        item,
        spot,
        last.counted,
        last.typed,
        at,
        wrong=last.stored_wrongly,
        reason=reason,
        by=[count.act.actor.username for count in one.counts],
        alone=one.standing is Standing.AGAIN,
        by_two=one.by_two,
    )
