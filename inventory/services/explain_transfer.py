"""What became of something that did not come as its transfer note said: nothing in transit stays unexplained in silence."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.transfers import How, why_aside
from inventory.models import Act, Person, Place, Spot, TransferExplained, TransferNote, TransferNoteLine, TransferTaking
from inventory.queries import transfers as read
from inventory.queries.days import shop_day
from inventory.queries.stock import stopped_items
from inventory.services import lookup, things
from inventory.services.accepting import note_gone
from inventory.services.off_the_van import check_site, locked, put, signs_alone
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.scrapping import Scrapped, pays, scrap_moves
from inventory.services.storing import Coming, ask_where_it_lies

#: Where it lies after that: at the site that should have had it, or where it came from.
_LIES = frozenset({How.FOUND, How.SENT_BACK})


def explain_in_transit(
    *,
    actor: Person,
    stamp: Stamp,
    note: int,
    line: int,
    how: How,
    amount: str | int,
    reason: str,
    place: str = "",
    spot: str = NO_SPOT,
    who_pays: str = "",
    photo_ref: str = "",
    no_photo: str = "",
    destroyed: bool = False,
    storage_word: str = "",
) -> Done:
    """Say what became of so much of a line that is in transit. Once the receiver signed; what is sent back needs no receiver.

    how    found later (at `place` of the receiving site; who sent or drove does not say so where the site has anybody else), sent back (to
           `place` of the sending site), scrapped (`who_pays`, photo as of any scrap), counted short
    What is stopped, or too old by now, lies in quarantine. Outcome: {"note", "line", "how", "part", "item", "identity", "amount", "base",
    "in_transit", "to", "words"}; `to` is null where it is gone.
    Raises DomainError "reason-missing", "not-found", "transfer-on-the-way", "more-than-outstanding", "wrong-place", "quarantine-needed",
    "second-person-needed", "who-pays-unknown", "photo-asked", "not-whole", those of amounts; ManyErrors "storage-unsuitable".
    """
    request = {
        "note": note, "line": line, "how": how.value, "amount": amount, "reason": reason, "place": place, "spot": spot,
        "who_pays": who_pays, "photo_ref": photo_ref, "no_photo": no_photo, "destroyed": destroyed, "storage_word": storage_word,
    }  # fmt: skip

    def work(act: Act) -> Body:
        lookup.need_reason(reason, f"What became of line {line} of note {note}?")
        row = locked(note)
        _check_signed(row, how)
        if how is How.FOUND:
            signs_alone(row, actor)
        mine = _line(row, line)
        item = mine.item
        there = read.states([mine.pk])[mine.pk].in_transit
        number = lookup.amount(item, amount)[0]
        _check_there(mine, number, there)
        payer = pays(who_pays) if how is How.SCRAPPED else None
        lies = things.place(place) if how in _LIES else None
        lookup.lock([(item, lies)] if lies else [])
        target, words = _lies_at(row, mine, how, lies, spot, act)
        if payer is not None:
            scrap_moves(act, [Scrapped(item, number, row.spot, payer, photo_ref, no_photo, destroyed)], reason)
        else:
            end = target or things.books_only(PlaceKind.COUNT_DIFFERENCE)
            ask_where_it_lies(act, [Coming(1, item, item.part, end)], storage_word)
            post(act, [Move(item, number, row.spot, end)])
            if target is None:
                note_gone(act, [(item.pk, number, row.spot.place)])
        TransferExplained.objects.create(act=act, line=mine, amount=number, how=how.value, to_spot=target)
        return {
            "note": note, "line": line, "how": how.value, "part": item.part.number, "item": item.pk,
            "identity": item.identity, "amount": number, "base": item.base, "in_transit": there - number,
            "to": {"place": target.place.code, "spot": target.name} if target else None, "words": words,
        }  # fmt: skip

    return run("explain what did not come", work, actor=actor, stamp=stamp, request=request, reason=reason)


def _check_signed(row: TransferNote, how: How) -> None:
    if how is How.SENT_BACK or TransferTaking.objects.filter(note=row, act__corrected_by__isnull=True).exists():
        return
    raise DomainError(
        "transfer-on-the-way",
        f"Nobody signed for note {row.pk} at {row.to_site.code} yet.",
        ways_out=("Have the receiver sign line by line, 0 where nothing came.",),
        note=row.pk,
    )


def _line(row: TransferNote, number: int) -> TransferNoteLine:
    for line in row.lines.all():
        if line.line == number:
            return line
    raise DomainError("not-found", f"Note {row.pk} has no line {number}.", note=row.pk, line=number)


def _check_there(line: TransferNoteLine, number: int, there: int) -> None:
    if number > there:
        raise DomainError(
            "more-than-outstanding",
            f"{there} of line {line.line} are in transit; {number} were named.",
            line=line.line,
            outstanding=there,
        )
    if line.item.tube_id is not None and number != there:
        raise DomainError("not-whole", f"{line.item.called} is one opened tube of {there} µL.", there=there)


def _lies_at(
    row: TransferNote, line: TransferNoteLine, how: How, lies: Place | None, spot: str, act: Act
) -> tuple[Spot | None, str]:
    """Where it lies now, if anywhere, and why in quarantine."""
    if lies is None:
        return None, ""
    check_site(lies, row.to_site if how is How.FOUND else row.from_site)
    item = line.item
    stopped = item.pk in stopped_items([item.pk])
    from_quarantine = line.from_spot.place.kind == PlaceKind.QUARANTINE
    why = why_aside(from_quarantine, stopped, read.use_by(item), shop_day(act.occurred_at))
    return put(item, lies, spot, None, why)
