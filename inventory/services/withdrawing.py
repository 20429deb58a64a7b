"""What a notice that withdraws old stock does to holds and deliveries. Private to services; the caller has the transaction."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Part, Replacement, Short, Site
from inventory.queries.withdrawn import withdrawn_parts
from inventory.services.holding import all_holds, make_impossible


def why_withdrawn(notice: int, reason: str = "") -> str:
    """Why nothing of it is used, for holds that end and lines that go aside."""
    old = Replacement.objects.values_list("old__number", flat=True).get(pk=notice)
    return f"old stock of {old} is withdrawn by replacement {notice}" + (f": {reason}" if reason.strip() else "")


def end_holds_of(act: Act, part_ids: Iterable[int], why: str) -> list[Short]:
    """End every open hold on these parts, latest fit date first, each with a named short; every site is locked."""
    parts = list(part_ids)
    locks.scarcer((part, site) for part in parts for site in Site.objects.values_list("pk", flat=True))
    return make_impossible(act, all_holds(Q(item__part__in=parts)), why)


def refuse_withdrawn(parts: Iterable[Part], what: str) -> None:
    """DomainError "part-withdrawn" where old stock of one of them is withdrawn; `what` says what was tried."""
    named = {part.pk: part.number for part in parts}
    found = withdrawn_parts(named)
    if found:
        part, notice = next(iter(found.items()))
        raise DomainError(
            "part-withdrawn",
            f"{named[part]} is not {what}: {why_withdrawn(notice)}.",
            ways_out=("Bring it to quarantine.", f"Withdraw replacement {notice}, if it does not count any more."),
            part=named[part],
            replacement=notice,
        )
