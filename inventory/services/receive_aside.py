"""Where a delivery may go, and what of it may not go to a shelf or a bench. Private to services."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import PlaceKind
from inventory.domain.receiving import Why
from inventory.models import Act, Place
from inventory.queries.withdrawn import withdrawn_parts
from inventory.services import lookup, things
from inventory.services.chemicals import without_sheet
from inventory.services.receive_lines import Read
from inventory.services.withdrawing import why_withdrawn


def aside_of(target: Place, quarantine: str, reason: str, emergency: bool) -> Place | None:
    """Where lines go that may not go on the shelf: the quarantine place that was named, or that the delivery goes into."""
    if target.kind not in (PlaceKind.SHELF, PlaceKind.QUARANTINE) and not (
        emergency and target.kind == PlaceKind.BENCH
    ):
        raise DomainError(
            "wrong-place",
            f"{target.code} is {a(target.kind)}: deliveries go to a shelf or to quarantine, those of an emergency to a bench too.",
            place=target.code,
        )
    direct = target.kind == PlaceKind.QUARANTINE
    if direct:
        lookup.need_reason(reason, f"Why does the delivery go to {target.code}, into quarantine?")
    aside = things.place(quarantine) if quarantine else target if direct else None
    if aside is not None and aside.kind != PlaceKind.QUARANTINE:
        raise DomainError("wrong-place", f"{quarantine} is {a(aside.kind)}, no quarantine.", place=quarantine)
    return aside


def refuse_without_sheet(act: Act, read: Sequence[Read]) -> None:
    """What is bought straight to a bench is issued there: no chemical without its safety data sheet. ManyErrors by line."""
    lacking = without_sheet({(one.part.pk, one.part.number, one.part.kind) for one in read}, act.occurred_at)
    if lacking:
        errors = [(at, lacking[one.part.pk]) for at, one in enumerate(read, 1) if one.part.pk in lacking]
        raise ManyErrors(tuple(errors))


def set_withdrawn_aside(read: Sequence[Read], aside: Place | None) -> None:
    """What comes of a number whose old stock is withdrawn goes to quarantine; ManyErrors where none is given."""
    found = withdrawn_parts({one.part.pk for one in read})
    if found and aside is None:
        raise ManyErrors(tuple((at, _withdrawn(one)) for at, one in enumerate(read, 1) if one.part.pk in found))
    for one in read:
        if one.part.pk in found:
            one.reasons = one.reasons or [(Why.WITHDRAWN, why_withdrawn(found[one.part.pk]))]


def _withdrawn(one: Read) -> DomainError:
    return DomainError(
        "part-withdrawn",
        f"{one.part.number}: old stock is withdrawn by its replacement notice.",
        ways_out=("Receive it into quarantine.", "Send it back."),
        part=one.part.number,
    )
