"""Rows that say whose an engine is, and the owner of now beside them. Private to services; the caller has the transaction."""

from __future__ import annotations

from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Owner
from inventory.queries.days import shop_day
from inventory.queries.owners import owner as owner_called
from kits.models import Engine, EngineOwner
from kits.queries.engine_owners import owners_of, owners_on


def now_owned(act: Act, engine: Engine, owner: Owner, since: date) -> int:
    """The engine is the owner's from the day on; the number of the owner of now, kept with the engine."""
    EngineOwner.objects.create(act=act, engine=engine, owner=owner, since=since)
    return kept_now(engine)


def kept_now(engine: Engine) -> int:
    """Keep the newest that counts with the (locked) engine; its number, 0 for nobody."""
    rows = owners_of(engine)
    newest = rows[-1].owner if rows else None
    Engine.objects.filter(pk=engine.pk).update(owner=newest)
    engine.owner = newest
    return newest.pk if newest else 0


def owned_at_booking(
    act: Act, engine: Engine, owner_id: int | None, new_owner: bool, since: date | None = None
) -> None:
    """Who brings an engine in is its owner, from the day of the act on, or since an earlier day. Another one than on record is a change
    of hands, and is asked about; of an earlier day only what was on record for it stands in the way. DomainError "owner-differs"."""
    if owner_id is None:
        return
    locks.row("kits_engine", [engine.pk])
    engine.refresh_from_db(fields=["owner"])
    if since is not None and since < shop_day(act.occurred_at):
        then = owners_on([engine.pk], since).get(engine.pk)
        if then is None or then.pk != owner_id:
            now_owned(act, engine, owner_called(owner_id), since)
        return
    if engine.owner_id == owner_id:
        return
    owner = owner_called(owner_id)
    if engine.owner_id is not None and not new_owner:
        raise DomainError(
            "owner-differs",
            f"Engine {engine.number} is on record as owner {engine.owner_id}'s, not owner {owner_id}'s.",
            ways_out=(
                "Book it for the owner on record.",
                "Say that it changed hands, and on which day.",
                "Confirm the new owner: from today on it is theirs.",
            ),
            engine=engine.number,
            on_record=engine.owner_id,
            given=owner_id,
        )
    now_owned(act, engine, owner, shop_day(act.occurred_at))
