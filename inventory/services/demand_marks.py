"""A person's word that a month of a part's history was exceptional, and that it was not: entries, the newest counts."""

from __future__ import annotations

from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.stock_days import month_of
from inventory.models import Act, DemandMark, Person
from inventory.queries.catalogue import part as part_by_number
from inventory.queries.days import shop_day
from inventory.services import lookup
from inventory.services.run import Body, Done, Stamp, run


def mark_demand(*, actor: Person, stamp: Stamp, part: str, month: date, reason: str, exceptional: bool = True) -> Done:
    """Mark a month of a part's history as exceptional (a recall, a fleet that came at once), or take that back; what was used stays as it is.

    month  any day of it. Outcome: {"part", "month": "2025-01", "exceptional", "reason"}.
    Raises DomainError "not-found", "reason-missing", "from-the-future", "month-marked-so".
    """
    name = month_of(month)

    def work(act: Act) -> Body:
        its = part_by_number(part)
        lookup.need_reason(reason, f"Why was {name} of {its.number} {'' if exceptional else 'not '}exceptional?")
        if month.replace(day=1) > shop_day(act.occurred_at):
            raise DomainError("from-the-future", f"{name} has not begun yet.", month=name)
        locks.name("demand mark", f"{its.pk} {name}")
        newest = DemandMark.objects.filter(part=its, month=name).order_by("pk").last()
        if (newest is not None and newest.exceptional) == exceptional:
            raise DomainError(
                "month-marked-so",
                f"{name} of {its.number} is {'' if exceptional else 'not '}marked as exceptional"
                + (f", by {newest.act.actor.username}: {newest.act.reason}." if newest else "."),
                ways_out=("Take the mark back, and mark it anew with the other reason.",) if exceptional else (),
                part=its.number,
                month=name,
            )
        DemandMark.objects.create(act=act, part=its, month=name, exceptional=exceptional)
        return {"part": its.number, "month": name, "exceptional": exceptional, "reason": reason}

    request = {"part": part, "month": name, "exceptional": exceptional, "reason": reason}
    return run("mark demand", work, actor=actor, stamp=stamp, request=request, reason=reason, subject=part[:80])
