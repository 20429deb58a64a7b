"""An opened tube goes onto the cart as one thing, with what is in it by its last weighing. Private to services: its part is locked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.domain.errors import DomainError
from inventory.models import Act, Balance, HoldEnd, LentHold
from inventory.queries.held import Pending
from inventory.services import holding
from kits.models import Job, JobHold
from kits.services.given_up import hold_again


@dataclass(frozen=True, slots=True)
class InTube:
    """What is in an opened tube that is held, microlitres, and how much of that is held by anybody; lent: the hold came out of a loan."""

    content: int
    held: int
    lent: bool


def tubes_of(holds: Iterable[Pending]) -> dict[int, InTube]:
    """Hold → the opened tube that it holds; queries only where one is."""
    tubes = [hold for hold in holds if hold.tube]
    if not tubes:
        return {}
    rows = Balance.objects.filter(item__in=[one.item_id for one in tubes], amount__gt=0)
    inside = {
        (item, spot): (amount, held) for item, spot, amount, held in rows.values_list("item", "spot", "amount", "held")
    }
    lent = set(LentHold.objects.filter(hold__in=[one.pk for one in tubes]).values_list("hold", flat=True))
    return {one.pk: InTube(*inside.get((one.item_id, one.from_spot_id), (0, 0)), one.pk in lent) for one in tubes}


def part_of_tube(hold: Pending, counted: int | None, tubes: Mapping[int, InTube]) -> DomainError | None:
    """Why only a part of an opened tube would be picked: our books would have it in two places. None where all of it would be, also where it
    was weighed heavier since it was held and nobody else holds of it."""
    inside = tubes.get(hold.pk)
    if inside is None:
        return None
    asked = hold.amount if counted is None else counted
    grown = inside.content > hold.amount and counted in (None, inside.content)
    if inside.content == asked and not grown:
        return None
    label = f"{hold.part} {hold.label}"
    why = f"{label} is one opened tube with {inside.content} µL by our records, and {asked} would be picked: it is picked whole."
    ways = ("Weigh it: what is not in it is posted.",)
    if grown:
        if inside.held == hold.amount and not inside.lent:
            return None
        ways = (
            ("It was weighed since it was lent: close the loan, release the line, and hold it again.",)
            if inside.lent
            else ("It was weighed since it was held, and others hold of it too: release their line.",)
        )
    return DomainError("not-whole", why, ways_out=ways, hold=hold.pk, there=inside.content, asked=asked)


def hold_whole(act: Act, job: Job, holds: Mapping[int, Pending], tubes: Mapping[int, InTube]) -> dict[int, Pending]:
    """Hold anew, with what is in it, each tube that was weighed heavier since it was held; by the hold that ends. `part_of_tube` was asked."""
    grown = {pk: inside.content for pk, inside in tubes.items() if inside.content > holds[pk].amount}
    if not grown:
        return {}
    why = "weighed since: held anew with what is in it"
    holding.end(act, [holds[pk] for pk in grown], HoldEnd.How.RELEASED, why)
    anew = {}
    for first in JobHold.objects.filter(hold__in=grown).select_related("hold").order_by("hold_id"):
        anew[first.hold_id] = hold_again(act, job, first, grown[first.hold_id], first.positions, first.hold.until)
    made = holding.open_holds(anew.values())
    return {old: made[new] for old, new in anew.items()}
