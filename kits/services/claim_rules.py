"""Rows of a claim that several acts need. Private to services: an open transaction is there."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.models import Act, Item
from inventory.queries.days import shop_day
from inventory.services import lookup
from inventory.services.run import Body
from kits.domain.owner_claims import ThingIn, check_open, repeats, state_of
from kits.models import ClaimAnswer, ClaimCause, ClaimEnd, ClaimThing, Fitting, Found, OwnerClaim, Removal
from kits.queries.owner_claims import positions_before
from kits.services.shared import check_positions

MOST_THINGS = 200


def claim_by_id(claim_id: int) -> OwnerClaim:
    """A claim with its engine and job, locked; DomainError "not-found"."""
    locks.row("kits_ownerclaim", [claim_id])
    found = OwnerClaim.objects.filter(pk=claim_id).select_related("engine__family", "job__family_revision").first()
    if found is None:
        raise DomainError("not-found", f"There is no claim {claim_id}.", claim=claim_id)
    return found


def state_now(claim: OwnerClaim) -> str:
    """How the (locked) claim stands."""
    return state_of(list(ClaimEnd.objects.filter(claim=claim).order_by("pk").values_list("what", flat=True)))


def open_claim(claim_id: int) -> OwnerClaim:
    """As `claim_by_id`, refused where it is closed or was taken back: "claim-ended"."""
    claim = claim_by_id(claim_id)
    check_open(claim.pk, state_now(claim))
    return claim


def standing_cause(claim: OwnerClaim) -> ClaimCause | None:
    """The cause that no later one took the place of."""
    return ClaimCause.objects.filter(claim=claim, replaced_by__isnull=True).order_by("pk").last()


def standing_answer(claim: OwnerClaim) -> ClaimAnswer | None:
    """The answer that no later one took the place of."""
    return ClaimAnswer.objects.filter(claim=claim, replaced_by__isnull=True).order_by("pk").last()


def add_things(act: Act, claim: OwnerClaim, things: Sequence[ThingIn]) -> list[Body]:
    """Things that the claim concerns, each once. What is answered: [{thing, position, item}].

    Raises DomainError "too-many-lines"; ManyErrors "position-unknown", "claim-thing-elsewhere", "done-already", which name every line.
    """
    if len(things) > MOST_THINGS:
        raise DomainError("too-many-lines", f"{len(things)} things; {MOST_THINGS} go in one act.", most=MOST_THINGS)
    check_positions(claim.job, [one.position for one in things])
    ever, sat = _sat_at(claim)
    named: set[tuple[str, int | None]] = set(
        ClaimThing.objects.filter(claim=claim, withdrawal__isnull=True).values_list("position", "item")
    )
    errors: list[tuple[int, DomainError]] = []
    rows: list[ClaimThing] = []
    for number, one in enumerate(things, 1):
        item, error = _which(one, claim, ever, sat)
        if error is None and (one.position, item) in named:
            error = DomainError(
                "done-already", f"Claim {claim.pk} names that thing at {one.position} already.", position=one.position
            )
        if error is not None:
            errors.append((number, error))
        named.add((one.position, item))
        rows.append(
            ClaimThing(
                claim=claim, act=act, position=one.position, item_id=item, what=one.what, photo_ref=one.photo_ref
            )
        )
    if errors:
        raise ManyErrors(tuple(errors))
    ClaimThing.objects.bulk_create(rows)
    made = ClaimThing.objects.filter(act=act).order_by("pk")
    return [{"thing": row.pk, "position": row.position, "item": row.item_id} for row in made]


def repeated(claim: OwnerClaim) -> list[Body]:
    """Positions of the claim that an earlier one of the same engine named: [{claim, position}]."""
    mine = set(ClaimThing.objects.filter(claim=claim, withdrawal__isnull=True).values_list("position", flat=True))
    found = repeats(mine, positions_before(claim))
    return [{"claim": number, "position": place} for number, place in found]


def _sat_at(claim: OwnerClaim) -> tuple[dict[str, set[int]], dict[str, set[int]]]:
    """Position → items that were ever there by our records; and those of them that the claim's job fitted and that sat there when it was
    told: what came out on that day did."""
    ever: dict[str, set[int]] = defaultdict(set)
    by_job: dict[str, set[int]] = defaultdict(set)
    net: Counter[tuple[str, int]] = Counter()
    counting = {"job__engine": claim.engine_id, "act__corrected_by__isnull": True}
    rows = Fitting.objects.filter(**counting, correction__isnull=True)
    for position, item, job, at in rows.values_list("spot__name", "item", "job", "act__occurred_at"):
        ever[position].add(item)
        net[position, item] += job == claim.job_id or shop_day(at) <= claim.told_on
        if job == claim.job_id:
            by_job[position].add(item)
    for position, item in Found.objects.filter(**counting).values_list("position", "item"):
        ever[position].add(item)
    for position, item, at in Removal.objects.filter(**counting).values_list("spot__name", "item", "act__occurred_at"):
        net[position, item] -= shop_day(at) < claim.told_on
    sat = {position: {one for one in items if net[position, one] > 0} for position, items in by_job.items()}
    return ever, sat


def _which(
    one: ThingIn, claim: OwnerClaim, ever: Mapping[str, set[int]], sat: Mapping[str, set[int]]
) -> tuple[int | None, DomainError | None]:
    if one.item_id is None:
        there = sat.get(one.position, set())
        return (next(iter(there)) if len(there) == 1 else None), None
    if one.item_id in ever.get(one.position, ()):
        return one.item_id, None
    row = Item.objects.filter(pk=one.item_id).select_related("part", "lot", "serial").first()
    called = lookup.label(row) if row else f"item {one.item_id}"
    return None, DomainError(
        "claim-thing-elsewhere",
        f"Our records never had {called} at {one.position} of engine {claim.engine.number}.",
        ways_out=("Name the position alone.", "Read the story of the engine for what sat there."),
        position=one.position,
        item=one.item_id,
    )
