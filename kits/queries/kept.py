"""What is kept back of lots, with the engines for whose terms it is kept."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import Max

from inventory.domain.places import PlaceKind
from inventory.models import KeptPiece, Movement
from inventory.queries.days import shop_day
from inventory.queries.kept import open_kept
from kits.domain.kept import EngineTerm, Kept, kept_for
from kits.models import Engine, EngineHandover
from kits.queries.terms import term_on


def terms_of(lot_id: int, on: date) -> list[EngineTerm]:
    """Every engine that something of the lot was ever fitted in, with the term that ran from a hand-over since. Two queries, and five an
    engine at most."""
    rows = Movement.objects.filter(
        item__lot=lot_id,
        to_spot__place__kind=PlaceKind.ENGINE.value,
        act__corrected_by__isnull=True,
        act__corrects__isnull=True,
    )
    fitted = dict(rows.values_list("to_spot__place").annotate(Max("act__occurred_at")))
    return [
        _term(engine, shop_day(fitted[engine.place_id]), on)
        for engine in Engine.objects.filter(place__in=fitted).order_by("number")
    ]


def _term(engine: Engine, fitted_on: date, on: date) -> EngineTerm:
    # A rework inside a term goes on with the term that ran: any hand-over since counts.
    out = EngineHandover.objects.filter(job__engine=engine, handed_over_on__gte=fitted_on, handed_over_on__lte=on)
    if not out.exists():
        return EngineTerm(engine.number, None, False)
    found, _ = term_on(engine, on)
    return EngineTerm(engine.number, found.ends_on, found.within is False)


def until_of(lot_id: int) -> date | None:
    """The last day of the last term by months, for what is said where a kept piece is asked for; None while nobody can say."""
    ends = [one.ends_on for one in terms_of(lot_id, date.max)]
    days = [day for day in ends if day is not None]
    return max(days) if days and len(days) == len(ends) else None


def kept_of(lot_id: int, on: date) -> Kept:
    """Whether a lot's kept piece may go on a day."""
    return kept_for(terms_of(lot_id, on))


def kept_pieces(on: date, lot_id: int | None = None) -> list[dict[str, Any]]:
    """What is kept now, of one lot or of all, by part and lot, JSON-ready: [{lot_id, lot, part, item, place, spot, amount, base, since,
    may_go, until, why}]. Some queries for each lot: nobody asks for it at every turn."""
    rows = open_kept().filter(**({} if lot_id is None else {"lot": lot_id}))
    rows = rows.select_related("lot", "item__part", "spot__place", "act").order_by("item__part__number", "lot__code")
    return [_record(row, kept_of(row.lot_id, on)) for row in rows]


def _record(row: KeptPiece, its: Kept) -> dict[str, Any]:
    return {
        "lot_id": row.lot_id,
        "lot": row.lot.code,
        "part": row.item.part.number,
        "item": row.item_id,
        "place": row.spot.place.code,
        "spot": row.spot.name,
        "kept": row.amount,
        "since": row.act.occurred_at,
        "may_go": its.may_go,
        "until": its.until,
        "why": its.why,
    }
