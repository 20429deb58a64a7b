"""What a donor's loans are beside its list: what was one more and came back has to be held again, as no list asks for that; what the list asks
for is short there, once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.loans import HowOver
from inventory.models import Loan
from inventory.queries.replacements import joined_parts
from kits.models import Extra, Job, JobHold
from kits.queries.loans import Payback


@dataclass(frozen=True, slots=True)
class ToHold:
    """So much of a part, whole base units, is to be asked for once more as it was asked for the first time (`jobs/{number}/extras`)."""

    part_id: int
    part: str
    amount: int
    reason: str
    positions: tuple[str, ...]


def shorts_by_loans(
    job: Job, away: Sequence[Loan], short: Mapping[str, Mapping[str, Any]]
) -> dict[int, tuple[str, int]]:
    """Loan id → part of the list, and how many of the pieces that the list is short of went away by it; 0 where the shelves or others' pieces
    have them. Of what the list asks for alone: what was one more beside it is left out. Up to three queries, none for no loan.

    away   loans that are not over, whose pieces are missing from the list only once, the oldest loan first
    short  part of the list → {"short", "positions"}
    """
    if not away:
        return {}
    extras = set(Extra.objects.filter(job=job).values_list("act_id", flat=True))
    holds = JobHold.objects.filter(hold__in=[loan.request.hold_id for loan in away])
    first = {
        hold: (act, positions) for hold, act, positions in holds.values_list("hold", "pick_list__act", "positions")
    }
    left = {part: row["short"] for part, row in short.items()}
    found: dict[int, tuple[str, int]] = {}
    for loan in sorted(away, key=lambda one: one.act_id):
        act, positions = first[loan.request.hold_id]
        if act in extras:
            continue
        its, own = loan.request.hold.item.part.number, {name for name, *_ in positions}
        part = its if its in left else next((one for one in left if own & set(short[one]["positions"])), its)
        pieces = min(loan.request.amount, left.get(part, 0))
        left[part] = left.get(part, 0) - pieces
        found[loan.pk] = (part, pieces)
    return found


def to_hold_again(job: Job, away: Sequence[tuple[Loan, Payback | None]]) -> dict[int, ToHold]:
    """Loan id → what is still to be held again of it: what was lent was one more beside the donor's list, and what pays it back came.

    What the donor asked for since, for the same reason and, where both name positions, at one of the same, is it, the oldest loan first, as far
    as it is held, picked, or was lent in its turn (which is told by itself). Up to four queries, none where nothing came.
    """
    came = [loan for loan, back in away if back is not None and back.came >= loan.request.amount]
    if not came:
        return {}
    extras = list(Extra.objects.filter(job=job).select_related("part").order_by("act_id"))
    by_act = {one.act_id: one for one in extras}
    firsts = JobHold.objects.filter(hold__in=[loan.request.hold_id for loan in came])
    origins = {hold: by_act[act] for hold, act in firsts.values_list("hold", "pick_list__act") if act in by_act}
    left = _had(job, extras)
    found: dict[int, ToHold] = {}
    for loan in sorted(came, key=lambda one: one.act_id):
        origin = origins.get(loan.request.hold_id)
        if origin is None:
            continue
        amount = loan.request.amount
        for later in extras:
            if later.act_id > loan.act_id and amount and _same(origin, later):
                taken = min(amount, left[later.act_id])
                left[later.act_id] -= taken
                amount -= taken
        if amount:
            part = origin.part
            found[loan.pk] = ToHold(part.pk, part.number, amount, origin.reason, tuple(origin.positions))
    return found


def _same(origin: Extra, later: Extra) -> bool:
    """Whether the later one asks for what the first one asked for."""
    if later.reason != origin.reason:
        return False
    if origin.positions and later.positions and not set(origin.positions) & set(later.positions):
        return False
    return later.part_id == origin.part_id or later.part_id in joined_parts([origin.part_id])


def _had(job: Job, extras: Sequence[Extra]) -> dict[int, int]:
    """Act of an extra → what of it is held, was picked, or was lent and not given back."""
    had: dict[int, int] = defaultdict(int)
    rows = JobHold.objects.filter(job=job, pick_list__act__in=[one.act_id for one in extras])
    acts: dict[int, int] = {}
    for act, hold, amount, picked in rows.values_list("pick_list__act", "hold", "hold__amount", "hold__end__picked"):
        had[act] += amount if picked is None else picked
        acts[hold] = act
    lent = Loan.objects.filter(request__hold__in=acts).exclude(end__how=HowOver.GIVEN_BACK.value)
    for hold, amount in lent.values_list("request__hold", "request__amount"):
        had[acts[hold]] += amount
    return had
