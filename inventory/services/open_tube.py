"""Opening a tube, and weighing it: closed it is one piece, opened it is counted in microlitres and is good for less long."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.domain.items import Base
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.quantities import read_amount
from inventory.domain.shelf_life import Basis, Expiry, LotDates, Undated, expiry, opened
from inventory.domain.stores import check_at_hand, content_ul
from inventory.domain.units import Dimension
from inventory.models import Act, Balance, Item, Lot, Movement, Person, Place, Short, Spot, Tube
from inventory.queries.counting import amounts_at, counted_lines
from inventory.queries.days import shop_day
from inventory.queries.shop import shop
from inventory.services import lookup, things
from inventory.services.accepting import note_gone
from inventory.services.counting import Counted, keep
from inventory.services.holding import room_for
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run


def open_tube(
    *,
    actor: Person,
    stamp: Stamp,
    item_id: int,
    place: str,
    spot: str = NO_SPOT,
    tube_number: str,
    subject: str = "",
) -> Done:
    """Open one closed tube, cartridge, tin or bottle and give it a number of its own; use-by is the earlier of closed and open life.

    Outcome: {"part", "item": of the opened tube, "tube", "lot", "content_ul", "opened_on", "use_by", "rule", "place", "spot",
    "hazard": the part's own note, "shorts"}.
    Raises DomainError "not-found", "tube-content-unknown", "tube-number-used", "stopped", "undated", "wrong-place", "not-there".
    """
    request = {"item": item_id, "place": place, "spot": spot, "tube": tube_number, "subject": subject}

    def work(act: Act) -> Body:
        stands = things.place_of(act)
        closed = lookup.item(item_id)
        check_at_hand(lookup.kind(stands), stands.code, "opened")
        content = _content(closed)
        lookup.lock([(closed, stands)])
        lookup.refuse_stopped(closed, "opened")
        where = things.spot(stands, spot)
        row = lookup.balances([(closed.pk, where.pk)]).get((closed.pk, where.pk))
        if row is None or row.amount < 1:
            raise lookup.not_free(closed, where, 1, row)
        use_by = _use_by(closed, act)
        tube = _tube(closed, tube_number, act, use_by)
        item = things.item(closed.part, lot=closed.lot, tube=tube)
        shorts = room_for(act, {(closed.pk, where.pk): 1}, f"{lookup.label(closed)} was opened")
        conversion = things.books_only(PlaceKind.CONVERSION)
        post(act, [Move(closed, 1, where, conversion), Move(item, content, conversion, where)])
        note_gone(act, [(closed.pk, 1, where.place)])
        return {
            "part": closed.part.number,
            "item": item.pk,
            "tube": tube.number,
            "lot": closed.lot_code,
            "content_ul": content,
            "opened_on": tube.opened_on,
            "use_by": use_by.day,
            "rule": use_by.rule,
            "place": stands.code,
            "spot": where.name,
            "hazard": closed.part.hazard_note,
            "shorts": lookup.said(shorts),
        }

    return run("open tube", work, actor=actor, stamp=stamp, request=request, place=place, subject=subject)


def weigh_tube(
    *, actor: Person, stamp: Stamp, tube: str, weight: str | int, place: str = "", spot: str = NO_SPOT, reason: str = ""
) -> Done:
    """Weigh an opened tube; what it holds less (or more) than the books say of that moment is posted as a count difference: what was drawn
    since stays out of it.

    weight       text with a unit ("26.2 g"), or whole milligrams
    place, spot  where it was found, needed only if the books say that it is nowhere (used up)
    reason       why it holds more than when it was weighed before: less than was drawn by the books is common, but no tube fills by itself

    Outcome: {"tube", "part", "weight_mg", "content_ul", "on_books_ul", "difference_ul", "place", "spot",
    "shorts": holds of it that no longer fit, ended latest fit date first}.
    Raises DomainError "not-found", "tube-content-unknown", "weight-below-empty", "weight-too-large", "not-there", "reason-missing", "dates-turned" where
    it was weighed or counted since.
    """
    request = {"tube": tube, "weight": weight, "place": place, "spot": spot, "reason": reason}

    def work(act: Act) -> Body:
        item = _opened(tube)
        weight_mg = read_amount(weight, Dimension.MASS).amount if isinstance(weight, str) else weight
        part = item.part
        if part.empty_mg is None or not part.density_mg_per_ml or not part.net_ul:
            raise DomainError(
                "tube-content-unknown",
                f"Empty weight, density and content of {part.number} are needed to weigh a tube.",
                part=part.number,
            )
        content = content_ul(weight_mg, part.empty_mg, part.density_mg_per_ml, part.net_ul)
        first = lookup.standing(item)
        where = _found_at(item, first, place, spot)
        lookup.lock([(item, where.place)])
        row = lookup.standing(item)
        if row is not None:
            where = row.spot
        on_books = _on_books(act, item, where, row)
        _ask_why_more(act, item, content, reason)
        difference = things.books_only(PlaceKind.COUNT_DIFFERENCE)
        shorts: list[Short] = []
        if content < on_books:
            leaving = {(item.pk, where.pk): on_books - content}
            shorts = room_for(act, leaving, f"tube {tube} was weighed: it holds less")
            post(act, [Move(item, on_books - content, where, difference)])
        elif content > on_books:
            post(act, [Move(item, content - on_books, difference, where)])
        keep(act, [Counted(item, where, content, str(weight), act.occurred_at, reason=reason, on_books=on_books)])
        return {
            "tube": item.tube.number if item.tube else tube,
            "part": part.number,
            "weight_mg": weight_mg,
            "content_ul": content,
            "on_books_ul": on_books,
            "difference_ul": content - on_books,
            "place": where.place.code,
            "spot": where.name,
            "shorts": lookup.said(shorts),
        }

    return run("weigh tube", work, actor=actor, stamp=stamp, request=request, reason=reason)


def _on_books(act: Act, item: Item, where: Spot, row: Balance | None) -> int:
    """What the books have of it as of the moment of the weighing. DomainError "dates-turned", "not-there"."""
    since = counted_lines().filter(item=item, at__gt=act.occurred_at).order_by("-at", "-pk").first()
    if since is not None:
        raise DomainError(
            "dates-turned",
            f"{lookup.label(item)} was weighed or counted on {shop_day(since.at)}, since then: an older weight says nothing of what it holds.",
            ways_out=("Weigh it now.", "Take the later one back, and enter both in their order."),
            since=since.at.isoformat(),
        )
    key = (item.pk, where.pk, act.occurred_at)
    then = amounts_at([key])[key]
    if row is not None and row.amount and not then:
        raise DomainError(
            "not-there",
            f"{lookup.label(item)} was not at {where.place.code} at that moment: it came there, or was opened, later.",
            ways_out=("Weigh it now.",),
            item=lookup.label(item),
            place=where.place.code,
        )
    return then


def _ask_why_more(act: Act, item: Item, content: int, reason: str) -> None:
    """DomainError "reason-missing" where the tube holds more than when it was weighed or counted last."""
    before = counted_lines().filter(item=item, at__lte=act.occurred_at).order_by("-at", "-pk").first()
    if before is not None and content > before.counted:
        lookup.need_reason(
            reason,
            f"{lookup.label(item)} held {before.counted} µL on {shop_day(before.at)} and holds {content} µL now. Is it that tube? Why?",
        )


def _content(closed: Item) -> int:
    part = closed.part
    if closed.base != Base.PIECE or closed.tube_id is not None or not part.net_ul:
        raise DomainError(
            "tube-content-unknown",
            f"{lookup.label(closed)} is no closed tube whose content is on record.",
            part=part.number,
        )
    return part.net_ul


def _use_by(closed: Item, act: Act) -> Expiry:
    """Use-by once opened; DomainError "undated" where the closed tube has no date that its rule needs."""
    rule = shop().life_of(closed.part)
    known: Expiry | Undated = Expiry(None, rule.words())
    lot: Lot | None = closed.lot
    if lot is not None and lot.expires_on is not None:
        known = Expiry(lot.expires_on, lot.expiry_rule)
    else:
        known = expiry(rule, LotDates(made=lot.made_on if lot else None), Basis.STRICT)
    found = opened(rule, known, shop_day(act.occurred_at))
    if isinstance(found, Undated):
        raise DomainError(
            "undated",
            f"{lookup.label(closed)}: {found.reason}",
            ways_out=("Put it into quarantine until its date is known.", "Scrap it."),
            item=lookup.label(closed),
        )
    return found


def _tube(closed: Item, number: str, act: Act, use_by: Expiry) -> Tube:
    """A new tube; the number of one whose every opening was taken back serves again."""
    if not number.strip():
        raise DomainError("nothing-given", "An opened tube needs a number on a label of its own.")
    day = shop_day(act.occurred_at)
    earlier = Tube.objects.filter(number__iexact=number.strip()).order_by("pk").first()
    if earlier is None:
        return Tube.objects.create(
            part=closed.part, lot=closed.lot, number=number.strip(), opened_on=day, use_by=use_by.day
        )
    opened_before = Movement.objects.filter(
        item__tube=earlier, from_spot__place__kind=PlaceKind.CONVERSION.value, act__corrected_by__isnull=True
    ).exclude(act__corrects__isnull=False)
    if opened_before.exists() or (earlier.part_id, earlier.lot_id) != (closed.part_id, closed.lot_id):
        raise DomainError("tube-number-used", f"There is an opened tube {earlier.number} already.", tube=earlier.number)
    Tube.objects.filter(pk=earlier.pk).update(opened_on=day, use_by=use_by.day)
    earlier.refresh_from_db()
    return earlier


def _opened(number: str) -> Item:
    rows = Item.objects.filter(tube__number__iexact=number.strip()).select_related("part", "lot", "tube")
    found = rows.order_by("pk").first()
    if found is None:
        raise DomainError("not-found", f"There is no opened tube {number}.", tube=number)
    return found


def _found_at(item: Item, row: Balance | None, place: str, spot: str) -> Spot:
    if row is not None:
        return row.spot
    if not place:
        raise DomainError(
            "not-there",
            f"{lookup.label(item)} is used up as far as the books go.",
            ways_out=("Say where it was found.",),
            item=lookup.label(item),
        )
    found: Place = things.place(place)
    check_at_hand(lookup.kind(found), found.code, "weighed")
    return things.spot(found, spot)
