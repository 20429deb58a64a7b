"""Transfer notes: what rides, what came, what is in transit and what nobody has explained."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.contrib.auth.models import Permission
from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet, Sum

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.transfers import How, LineState, State, state_of
from inventory.models import (
    Balance,
    Item,
    Person,
    Site,
    TransferExplained,
    TransferNote,
    TransferNoteLine,
    TransferTaken,
    TransferTaking,
)
from inventory.queries.days import shop_day
from inventory.queries.stock import stopped_items

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class NoteLineRow:
    """A line of a note, whole base units; `amount` was sent, `came` was taken in, `in_transit` is neither taken in nor explained."""

    line: int
    item: int
    part: str
    name: str
    lot: str
    serial: str
    tube: str
    use_by: date | None
    stopped: bool
    amount: int
    base: str
    from_place: str
    from_spot: str
    for_job: str
    came: int
    found_later: int
    sent_back: int
    scrapped: int
    counted_short: int
    in_transit: int


@dataclass(frozen=True, slots=True)
class OverRow:
    """What came and was not on the note as sent: of a line (None: of none), from which bin the books took it, where it was put."""

    line: int | None
    item: int
    part: str
    lot: str
    serial: str
    amount: int
    base: str
    place: str
    spot: str
    words: str


@dataclass(frozen=True, slots=True)
class NoteRow:
    """A transfer note; signed by sender and receiver by log-in, `alone` where the site had nobody else to sign."""

    note: int
    state: str
    from_site: str
    to_site: str
    van: str
    sent_at: datetime
    sent_by: str
    sender: str
    driver: str
    driver_name: str
    expected_on: date | None
    remark: str
    taken_at: datetime | None
    taken_by: str
    receiver: str
    alone: bool
    lines: tuple[NoteLineRow, ...]
    over: tuple[OverRow, ...]


def notes() -> QuerySet[TransferNote]:
    """All notes with everything that `rendered_notes` shows; those that were taken back too."""
    things = ("item__part", "item__lot", "item__serial", "item__tube")
    lines = TransferNoteLine.objects.select_related(*things, "from_spot__place").order_by("line")
    over = TransferTaken.objects.filter(over=True).select_related(*things, "line", "to_spot__place").order_by("pk")
    takings = TransferTaking.objects.filter(act__corrected_by__isnull=True).select_related("act__actor")
    return TransferNote.objects.select_related(
        "act__actor", "act__corrected_by", "from_site", "to_site", "spot__place", "driver"
    ).prefetch_related(Prefetch("lines", lines), Prefetch("takings", takings.prefetch_related(Prefetch("taken", over))))


def note(number: int) -> TransferNote:
    """One note with all that belongs to it; DomainError "not-found"."""
    found = notes().filter(pk=number).first()
    if found is None:
        raise DomainError("not-found", f"There is no transfer note {number}.", note=number)
    return found


def states(line_ids: Collection[int]) -> dict[int, LineState]:
    """How far each line is, by its id; what was taken back counts for nothing. Three queries."""
    came: dict[int, int] = dict(
        TransferTaken.objects.filter(line__in=line_ids, over=False, taking__act__corrected_by__isnull=True)
        .values_list("line_id")
        .annotate(total=Sum("amount"))
    )
    explained: dict[int, dict[How, int]] = defaultdict(lambda: defaultdict(int))
    rows = TransferExplained.objects.filter(line__in=line_ids, act__corrected_by__isnull=True)
    for line, how, amount in rows.values_list("line_id", "how", "amount"):
        explained[line][How(how)] += amount
    sent = TransferNoteLine.objects.filter(pk__in=line_ids, note__act__corrected_by__isnull=True)
    found = dict(sent.values_list("pk", "amount"))
    return {line: LineState(found.get(line, 0), came.get(line, 0), explained[line]) for line in line_ids}


def rendered_notes(rows: Iterable[TransferNote]) -> list[NoteRow]:
    """Each with how far its lines are. Four queries."""
    found = list(rows)
    lines = {line.pk: line for row in found for line in row.lines.all()}
    how_far, stopped = states(list(lines)), stopped_items({line.item_id for line in lines.values()})
    return [_row(row, how_far, stopped) for row in found]


def _row(row: TransferNote, how_far: dict[int, LineState], stopped: set[int]) -> NoteRow:
    lines = list(row.lines.all())
    taking = next(iter(row.takings.all()), None)
    taken_back = hasattr(row.act, "corrected_by")
    in_transit = sum(how_far[line.pk].in_transit for line in lines)
    return NoteRow(
        note=row.pk,
        state=state_of(in_transit, taking is not None, taken_back).value,
        from_site=row.from_site.code,
        to_site=row.to_site.code,
        van=row.spot.place.code,
        sent_at=row.act.occurred_at,
        sent_by=row.act.actor.username,
        sender=str(row.act.actor),
        driver=row.driver.username,
        driver_name=str(row.driver),
        expected_on=row.expected_on,
        remark=row.act.reason,
        taken_at=taking.act.occurred_at if taking else None,
        taken_by=taking.act.actor.username if taking else "",
        receiver=str(taking.act.actor) if taking else "",
        alone=taking.alone if taking else False,
        lines=tuple(_line(line, how_far[line.pk], line.item_id in stopped) for line in lines),
        over=tuple(_over(one) for one in taking.taken.all()) if taking else (),
    )


def _line(line: TransferNoteLine, state: LineState, stopped: bool) -> NoteLineRow:
    item = line.item
    return NoteLineRow(
        line=line.line,
        item=item.pk,
        part=item.part.number,
        name=item.part.name,
        lot=item.lot_code,
        serial=item.serial_number,
        tube=item.tube.number if item.tube else "",
        use_by=use_by(item),
        stopped=stopped,
        amount=line.amount,
        base=item.base,
        from_place=line.from_spot.place.code,
        from_spot=line.from_spot.name,
        for_job=line.for_job,
        came=state.came,
        found_later=state.explained.get(How.FOUND, 0),
        sent_back=state.explained.get(How.SENT_BACK, 0),
        scrapped=state.explained.get(How.SCRAPPED, 0),
        counted_short=state.explained.get(How.COUNTED_SHORT, 0),
        in_transit=state.in_transit,
    )


def _over(one: TransferTaken) -> OverRow:
    return OverRow(
        line=one.line.line if one.line else None,
        item=one.item_id,
        part=one.item.part.number,
        lot=one.item.lot_code,
        serial=one.item.serial_number,
        amount=one.amount,
        base=one.item.base,
        place=one.to_spot.place.code,
        spot=one.to_spot.name,
        words=one.words,
    )


def use_by(item: Item) -> date | None:
    """Last day of use of an item: of an opened tube its own, else its lot's; None without a limit."""
    if item.tube is not None:
        return item.tube.use_by
    return item.lot.expires_on if item.lot else None


def in_state(rows: QuerySet[TransferNote], wanted: State) -> QuerySet[TransferNote]:
    """Notes that stand so. Six queries and that of the rows."""
    ids = [one.note for one in rendered_notes(rows) if one.state == wanted.value]
    return rows.filter(pk__in=ids)


def in_transit() -> list[NoteRow]:
    """Notes of which something is in the van still, the oldest first."""
    van = Balance.objects.filter(amount__gt=0, in_shop=True, place__kind=PlaceKind.VAN.value)
    return rendered_notes(notes().filter(spot__in=van.values("spot")).order_by("pk"))


@dataclass(frozen=True, slots=True)
class Riding:
    """So much of a line that is on the way to a site; `name`: its lot, serial or tube."""

    note: int
    part: str
    name: str
    in_transit: int
    for_job: str
    expected_on: date | None


def riding_to(site_id: int, part_ids: Collection[int]) -> list[Riding]:
    """What rides to a site of these parts and nobody signed for yet, none that is stopped; by note and line. Five queries."""
    signed = TransferTaking.objects.filter(note=OuterRef("note"), act__corrected_by__isnull=True)
    rows = list(
        TransferNoteLine.objects.filter(
            ~Exists(signed), note__to_site=site_id, item__part__in=part_ids, note__act__corrected_by__isnull=True
        )
        .select_related("note", "item__part", "item__lot", "item__serial", "item__tube")
        .order_by("note_id", "line")
    )
    if not rows:
        return []
    how_far, stopped = states([row.pk for row in rows]), stopped_items({row.item_id for row in rows})
    return [
        Riding(
            row.note_id,
            row.item.part.number,
            _called(row.item),
            how_far[row.pk].in_transit,
            row.for_job,
            row.note.expected_on,
        )
        for row in rows
        if how_far[row.pk].in_transit and row.item_id not in stopped
    ]


def _called(item: Item) -> str:
    named = item.serial and item.serial.number or item.tube and item.tube.number or item.lot and item.lot.code
    return named or ""


def others_who_sign(site: Site, not_these: Sequence[int]) -> list[Person]:
    """Who of the site may sign for what comes, but for these people; by log-in. One query."""
    right = Permission.objects.filter(codename="act_take_transfer", content_type__app_label="inventory")
    rows = Person.objects.filter(home_site=site, is_active=True).exclude(pk__in=not_these)
    rows = rows.filter(Q(groups__permissions__in=right) | Q(user_permissions__in=right))
    return list(rows.distinct().order_by("username"))


@dataclass(frozen=True, slots=True)
class LateNote:
    """A note of which something is in transit past its day, or unexplained since the receiver signed."""

    note: int
    unexplained: bool
    late_from: date
    what: str
    jobs: tuple[str, ...]


def late_notes() -> list[LateNote]:
    """Notes with something in transit, each with the first day on which somebody is reminded of it.

    Unexplained: from the day on which the receiver signed. On the way: the day after it should have been there, or after it left where
    nobody said when.
    """
    found = []
    for row in in_transit():
        open_now = [line for line in row.lines if line.in_transit]
        things = "; ".join(
            f"line {one.line}: {one.in_transit} of {one.amount} {one.part}{_named(one)}" for one in open_now
        )
        way = f"note {row.note}, {row.from_site} to {row.to_site}, driver {row.driver_name}"
        jobs = tuple(sorted({one.for_job for one in open_now if one.for_job}))
        if row.taken_at is not None:
            late = shop_day(row.taken_at)
            found.append(LateNote(row.note, True, late, f"{things}; {way}, signed for by {row.receiver}", jobs))
        else:
            late = (row.expected_on or shop_day(row.sent_at)) + DAY
            found.append(LateNote(row.note, False, late, f"{things}; {way}, nobody signed for it", jobs))
    return found


def _named(one: NoteLineRow) -> str:
    name = one.serial or one.tube or one.lot
    return f" {name}" if name else ""
