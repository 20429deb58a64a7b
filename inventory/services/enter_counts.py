"""What is counted of a sheet: entered blind, and by a second person where it is far off the books. Nothing is booked by it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass

from inventory.domain.counting import Standing
from inventory.domain.errors import DomainError
from inventory.domain.storage import Checked, check_looked_at
from inventory.models import Act, CountSheet, CountSheetBin, CountSheetLine, Item, Person, SheetCount
from inventory.queries.count_sheets import LineNow, lines_now, numbers
from inventory.services import lookup
from inventory.services.counting import refuse, unbooked
from inventory.services.labelled import Labelled, items_labelled
from inventory.services.run import Body, Done, Stamp, run

MOST_LINES = 2000


@dataclass(frozen=True, slots=True)
class SheetLineIn:
    """What was counted of a line; or of a thing that the sheet does not name, in one of its bins: by item id, or by lot or serial.

    counted  text with a unit ("4 EA", "11.1 mL") or whole base units; zero: nothing was there
    """

    counted: str | int
    line: int | None = None
    bin: int | None = None
    item_id: int | None = None
    lot: str = ""
    serial: str = ""
    stored_wrongly: str = ""


def enter_counts(
    *, actor: Person, stamp: Stamp, sheet: int, lines: Sequence[SheetLineIn], looked_at: Sequence[str] = ()
) -> Done:
    """Enter what was counted of lines that nobody counted yet, at the moment of the act; nothing is booked by it.

    looked_at  kinds of what was counted of which it was looked at how they are stored, as for any count
    Outcome: {"sheet", "lines": [{line, place, spot, part, item, typed, counted, base, standing}], "to_count", "to_count_again"}; standing:
    "counted", or "to count again" by somebody else. Taken back by the word alone until the sheet is booked.
    Raises DomainError "not-found", "sheet-booked", "nothing-given", "too-many-lines", "storage-unchecked", "storage-unusable";
    ManyErrors by line: "not-found", "counted-already", "counted-twice", those of amounts.
    """
    work = _counting(sheet, lines, looked_at, again=False)
    request = _asked(sheet, lines, looked_at)
    return run("enter counts", work, actor=actor, stamp=stamp, request=request, subject=f"count sheet {sheet}")


def recount(
    *, actor: Person, stamp: Stamp, sheet: int, lines: Sequence[SheetLineIn], looked_at: Sequence[str] = ()
) -> Done:
    """Count again, as another person than who counted last, lines that are to be counted again.

    As `enter_counts`; raises "recount-not-asked" for other lines and "second-person-needed" for who counted last.
    """
    work = _counting(sheet, lines, looked_at, again=True)
    request = _asked(sheet, lines, looked_at)
    return run("recount", work, actor=actor, stamp=stamp, request=request, subject=f"count sheet {sheet}")


def _asked(sheet: int, lines: Sequence[SheetLineIn], looked_at: Sequence[str]) -> Body:
    return {"sheet": sheet, "lines": [asdict(one) for one in lines], "looked_at": sorted(looked_at)}


def _counting(
    sheet: int, lines: Sequence[SheetLineIn], looked_at: Sequence[str], *, again: bool
) -> Callable[[Act], Body]:
    def work(act: Act) -> Body:
        row = unbooked(sheet)
        if not lines:
            raise DomainError("nothing-given", "Nothing was counted.")
        if len(lines) > MOST_LINES:
            raise DomainError("too-many-lines", f"{len(lines)} lines; at most {MOST_LINES}.", lines=len(lines))
        before = {one.line.number: one for one in lines_now(row)}
        counts, errors = _read(act, row, lines, before, again)
        refuse(errors)
        check_looked_at(
            [
                Checked(one.line.item.part.kind, lookup.label(one.line.item), one.stored_wrongly)
                for one in counts
                if one.counted > 0
            ],
            looked_at,
        )
        SheetCount.objects.bulk_create(counts)
        now = lines_now(row)
        mine = {one.line_id for one in counts}
        return {
            "sheet": sheet,
            "lines": [_entered(one) for one in now if one.line.pk in mine],
            "to_count": numbers(now, Standing.OPEN),
            "to_count_again": numbers(now, Standing.AGAIN),
        }

    return work


def _read(
    act: Act, sheet: CountSheet, lines: Sequence[SheetLineIn], before: dict[int, LineNow], again: bool
) -> tuple[list[SheetCount], list[tuple[int, DomainError]]]:
    bins = {row.number: row for row in sheet.bins.select_related("spot__place", "part")}
    counts: list[SheetCount] = []
    errors: list[tuple[int, DomainError]] = []
    seen: set[int] = set()
    for number, one in enumerate(lines, 1):
        try:
            line = _line(act, sheet, one, before, bins)
            if line.pk in seen:
                raise DomainError(
                    "counted-twice", f"{lookup.label(line.item)} stands twice in what was counted.", line=line.number
                )
            seen.add(line.pk)
            _may_count(act, line, before.get(line.number), again)
            counted, typed = lookup.amount(line.item, one.counted, zero=True)
            wrong = one.stored_wrongly.strip()
            counts.append(SheetCount(act=act, line=line, counted=counted, typed=typed[:60], stored_wrongly=wrong))
        except DomainError as error:
            errors.append((number, error))
    return counts, errors


def _line(
    act: Act, sheet: CountSheet, one: SheetLineIn, before: dict[int, LineNow], bins: Mapping[int, CountSheetBin]
) -> CountSheetLine:
    """The line that is counted; a thing that the sheet does not name gets one. DomainError "not-found"."""
    if one.line is not None:
        if one.line not in before:
            raise DomainError("not-found", f"Count sheet {sheet.pk} has no line {one.line}.", line=one.line)
        return before[one.line].line
    if one.bin is None or one.bin not in bins:
        raise DomainError("not-found", f"Count sheet {sheet.pk} has no bin {one.bin}.", bin=one.bin)
    its = bins[one.bin]
    item = _item(its, one)
    known = next(
        (now.line for now in before.values() if (now.line.bin_id, now.line.item_id) == (its.pk, item.pk)), None
    )
    if known is not None:
        return known
    made, _ = CountSheetLine.objects.get_or_create(
        bin=its, item=item, defaults={"sheet": sheet, "act": act, "number": sheet.lines.count() + 1}
    )
    return made


def _item(its: CountSheetBin, one: SheetLineIn) -> Item:
    """The thing of the bin's part, by its number or by its label; DomainError "not-found", "spelling-ambiguous"."""
    if one.item_id is None:
        label = Labelled(its.part.number, one.lot, one.serial)
        found = items_labelled([label])[label]
        if isinstance(found, DomainError):
            raise found
        return found
    rows = Item.objects.filter(part=its.part).select_related("part", "lot", "serial", "tube")
    item = rows.filter(pk=one.item_id).first()
    if item is None:
        raise DomainError(
            "not-found", f"The books never had item {one.item_id} of {its.part.number}.", item=one.item_id
        )
    return item


def _may_count(act: Act, line: CountSheetLine, now: LineNow | None, again: bool) -> None:
    standing = now.standing if now is not None else Standing.OPEN
    if not again:
        if standing is not Standing.OPEN:
            raise DomainError(
                "counted-already",
                f"Line {line.number} was counted already.",
                ways_out=(
                    "Take that count back, if it was entered wrongly.",
                    *(("Enter it as counted again.",) if standing is Standing.AGAIN else ()),
                ),
                line=line.number,
            )
        return
    if now is None or standing is not Standing.AGAIN:
        raise DomainError("recount-not-asked", f"Line {line.number} is not to be counted again.", line=line.number)
    if now.last.act.actor_id == act.actor_id:
        raise DomainError(
            "second-person-needed",
            f"Line {line.number} was counted by {now.last.act.actor.username}: somebody else counts it again.",
            line=line.number,
        )


def _entered(one: LineNow) -> Body:
    again = one.standing is Standing.AGAIN
    return {
        "line": one.line.number,
        "place": one.line.bin.spot.place.code,
        "spot": one.line.bin.spot.name,
        "part": one.line.item.part.number,
        "item": one.line.item_id,
        "typed": one.last.typed,
        "counted": one.last.counted,
        "base": one.line.item.base,
        "standing": Standing.AGAIN.value if again else "counted",
    }
