"""Whose an engine is on a day. Numbers of owners; their personal data stands with the owner alone."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date

from inventory.models import Owner
from kits.models import Engine, EngineOwner


def owners_of(engine: Engine) -> list[EngineOwner]:
    """Every change that counts, by day, the newest last. One query."""
    rows = EngineOwner.objects.filter(engine=engine, act__corrected_by__isnull=True)
    return list(rows.select_related("owner", "act__actor").order_by("since", "pk"))


def owners_on(engines: Collection[int], day: date) -> dict[int, Owner]:
    """Engine id → whose it was on the day; an engine of which nothing was known then is left out. One query."""
    rows = EngineOwner.objects.filter(engine__in=engines, since__lte=day, act__corrected_by__isnull=True)
    return {row.engine_id: row.owner for row in rows.select_related("owner").order_by("since", "pk")}


def owners_at(moments: Iterable[tuple[int, date]]) -> dict[tuple[int, date], int]:
    """(engine id, day) → number of whose it was on the day; where nothing was known then it is left out. One query."""
    asked = set(moments)
    rows = EngineOwner.objects.filter(engine__in={engine for engine, _ in asked}, act__corrected_by__isnull=True)
    found: dict[tuple[int, date], int] = {}
    for engine, owner, since in rows.order_by("since", "pk").values_list("engine", "owner", "since"):
        found |= {pair: owner for pair in asked if pair[0] == engine and since <= pair[1]}
    return found
