"""Count sheets as they are read: blind for who counts, with the books beside for who books them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from inventory.domain.counting import Allowed, CountClass, Counting, Standing, allowed_off, found_alike, standing_of
from inventory.domain.errors import DomainError
from inventory.domain.storage import RULES
from inventory.models import CountedLine, CountSheet, CountSheetLine, SheetCount
from inventory.queries.count_again import at_site, changed_on_one_word
from inventory.queries.counting import amounts_at, counted_lines, last_moves
from inventory.queries.shop import shop

Body = dict[str, Any]
_THING = ("item__part", "item__lot", "item__serial", "item__tube", "item__from_kit__part", "bin__spot__place")


@dataclass(frozen=True, slots=True)
class LineNow:
    """A line of a sheet with its counts (the oldest first), what the books said at the newest, and how it stands; by_two: somebody else
    found the same as the newest."""

    line: CountSheetLine
    counts: Sequence[SheetCount]
    on_books: int
    standing: Standing
    by_two: bool = False

    @property
    def last(self) -> SheetCount:
        """The newest count; there is one unless the line is still to be counted."""
        return self.counts[-1]


def sheets() -> QuerySet[CountSheet]:
    """All sheets, with what a list of them says."""
    return CountSheet.objects.select_related("act__actor", "site", "posting__act__corrected_by", "posting__act__actor")


def sheet_by_number(number: int) -> CountSheet:
    """One sheet; DomainError "not-found"."""
    found = sheets().filter(pk=number).first()
    if found is None:
        raise DomainError("not-found", f"There is no count sheet {number}.", sheet=number)
    return found


def lines_now(sheet: CountSheet) -> list[LineNow]:
    """The lines of a sheet as they stand. What was moved since a count does not make it wrong: each is held against the books as of its own
    moment. A line whose thing was counted otherwise since then is told so. Eight queries."""
    lines = list(sheet.lines.select_related(*_THING).order_by("bin__number", "number"))
    by_line: dict[int, list[SheetCount]] = defaultdict(list)
    rows = SheetCount.objects.filter(line__sheet=sheet, act__corrected_by__isnull=True)
    for row in rows.select_related("act__actor").order_by("act__occurred_at", "pk"):
        by_line[row.line_id].append(row)
    asked = {(one.item_id, one.bin.spot_id, row.act.occurred_at) for one in lines for row in by_line.get(one.pk, ())}
    books, since = amounts_at(asked), _counted_since(lines, by_line)
    rules, booked = shop().count_rules, _booked(sheet)
    parts = {one.item.part_id for one in lines if one.pk in by_line} if not booked else set()
    words, stock = changed_on_one_word(sheet.site, parts), at_site(sheet.site, parts)
    found = []
    for one in lines:
        counts = by_line.get(one.pk, [])
        said = [books[one.item_id, one.bin.spot_id, row.act.occurred_at] for row in counts]
        counted = [Counting(row.act.actor_id, row.counted - there) for row, there in zip(counts, said, strict=True)]
        pair, its = (one.item_id, one.bin.spot_id), (one.item.part_id, one.item.base)
        there, its_class = said[-1] if said else 0, CountClass(one.bin.count_class)
        here, site = (allowed_off(it, its_class, rules) for it in (there, max(there, stock.get(its, 0))))
        standing = standing_of(counted, Allowed(here, site), words.of(pair, its))
        if pair in booked and counts:
            said[-1] = booked[pair]
            standing = Standing.DIFFERS if counts[-1].counted != booked[pair] else Standing.RIGHT
        elif one.pk in since and standing is not Standing.OPEN:
            standing = Standing.SINCE
        alike = bool(counted) and found_alike(counted)
        found.append(LineNow(one, counts, said[-1] if said else 0, standing, alike))
    return found


def _booked(sheet: CountSheet) -> dict[tuple[int, int], int]:
    """(item, spot) → what the books said as the sheet was booked. One query, none before that."""
    posting = getattr(sheet, "posting", None)
    if posting is None:
        return {}
    rows = CountedLine.objects.filter(act=posting.act_id).values_list("item", "spot", "on_books")
    return {(item, spot): amount for item, spot, amount in rows}


def _counted_since(lines: Iterable[CountSheetLine], by_line: dict[int, list[SheetCount]]) -> set[int]:
    """Lines whose thing was counted or weighed there, outside the sheet, after their newest count. One query."""
    newest = {
        (one.item_id, one.bin.spot_id): (one, by_line[one.pk][-1].act.occurred_at)
        for one in lines
        if by_line.get(one.pk)
    }
    if not newest:
        return set()
    rows = counted_lines().filter(
        item__in={item for item, _ in newest},
        spot__in={spot for _, spot in newest},
        at__gte=min(at for _, at in newest.values()),
    )
    found = set()
    for item, spot, at, sheet in rows.values_list("item", "spot", "at", "act__count_posting__sheet"):
        line, counted_at = newest.get((item, spot), (None, at))
        if line is not None and sheet != line.sheet_id and at >= counted_at:
            found.add(line.pk)
    return found


def summary(row: CountSheet) -> Body:
    """A sheet in short."""
    posting = getattr(row, "posting", None)
    return {
        "sheet": row.pk,
        "site": row.site.code,
        "opened_at": row.act.occurred_at,
        "opened_by": row.act.actor.username,
        "note": row.note,
        "booked_by": posting.act.actor.username if posting else "",
        "booked_at": posting.act.occurred_at if posting else None,
        "booked_act": posting.act_id if posting else None,
        "taken_back": bool(posting and getattr(posting.act, "corrected_by", None)),
    }


def blind(row: CountSheet) -> Body:
    """The sheet for who counts: what to count where, how it is stored, and who counted it so far. Neither what the books say nor what
    was counted stands in it. Eleven queries."""
    by_bin: dict[int, list[Body]] = defaultdict(list)
    for one in lines_now(row):
        by_bin[one.line.bin_id].append(
            {
                **_thing(one.line),
                "standing": _told(one.standing),
                "counted_by": [count.act.actor.username for count in one.counts],
            }
        )
    bins = row.bins.select_related("spot__place", "part").order_by("number")
    return {
        **summary(row),
        "bins": [
            {
                "bin": its.number,
                "place": its.spot.place.code,
                "spot": its.spot.name,
                "part": its.part.number,
                "name": its.part.name,
                "kind": its.part.kind,
                "count_class": its.count_class,
                "stored": RULES.get(its.part.kind, ""),
                "hazard": its.part.hazard_note,
                "lines": by_bin.get(its.pk, []),
            }
            for its in bins
        ],
    }


def _told(standing: Standing) -> str:
    """How a line stands as who counts may know it: whether the books agree stays out of it."""
    return standing.value if standing in (Standing.OPEN, Standing.AGAIN) else "counted"


def _thing(line: CountSheetLine) -> Body:
    item = line.item
    return {
        "line": line.number,
        "item": item.pk,
        "lot": item.lot_code,
        "serial": item.serial_number,
        "tube": item.tube.number if item.tube else "",
        "from_kit": item.from_kit.part.number if item.from_kit else "",
        "base": item.base,
        "found": line.act_id != line.sheet.act_id,
    }


def differences(row: CountSheet) -> Body:
    """What was counted beside what the books said at that moment, line by line, with the last movements of what differs; a line that is to be
    counted, or to be counted again, still tells nothing. Twelve queries."""
    now = lines_now(row)
    settled = [one for one in now if one.standing not in (Standing.OPEN, Standing.AGAIN)]
    moves = last_moves(
        {(one.line.item_id, one.line.bin.spot_id) for one in settled if one.last.counted != one.on_books}
    )
    found = []
    for one in settled:
        difference = one.last.counted - one.on_books
        found.append(
            {
                **_thing(one.line),
                "place": one.line.bin.spot.place.code,
                "spot": one.line.bin.spot.name,
                "part": one.line.item.part.number,
                "standing": one.standing.value,
                "counted_at": one.last.act.occurred_at,
                "counted_by": [count.act.actor.username for count in one.counts],
                "on_books": one.on_books,
                "counted": one.last.counted,
                "difference": difference,
                "typed": one.last.typed,
                "stored_wrongly": one.last.stored_wrongly,
                "last_moves": moves.get(one.line.item_id, []) if difference else [],
            }
        )
    return {
        **summary(row),
        "to_count": [one.line.number for one in now if one.standing is Standing.OPEN],
        "to_count_again": [one.line.number for one in now if one.standing is Standing.AGAIN],
        "lines": found,
    }


def numbers(now: Iterable[LineNow], standing: Standing, but: Iterable[int] = ()) -> list[int]:
    """Lines that stand like that, by number."""
    return sorted(one.line.number for one in now if one.standing is standing and one.line.number not in set(but))
