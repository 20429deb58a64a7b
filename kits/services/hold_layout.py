"""Sets, shims and base rings of a layout, held for its job. Private to services: an open transaction is there, stock is locked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.domain.allocation import Need, allocate
from inventory.domain.errors import DomainError
from inventory.models import Act, Part
from inventory.queries.days import shop_day
from inventory.queries.stock import on_shelves
from inventory.services import holding, things
from inventory.services.holding import Promise
from inventory.services.run import Body
from kits.domain.engine_map import ENGINE
from kits.domain.layout_placed import Placed
from kits.domain.requirements import Candidate, Key
from kits.domain.settled import NONE
from kits.models import JobHold, PickList
from kits.queries.holders import holders_of
from kits.queries.liners import JobBench
from kits.queries.served import promises_of
from kits.services.choosing import Word, choose
from kits.services.shared import lot_of
from kits.services.substitute_rules import refuse_substitutes


@dataclass(frozen=True, slots=True)
class Laid:
    """A part that the layout lays under a liner, at its use position."""

    key: Key
    part: str


def lay_under(act: Act, its: JobBench, placed: Sequence[Placed], ring_nm: int) -> list[Laid]:
    """Settle the measured choices of shim and base ring by the layout; what is laid where.

    Holds on candidates that were not chosen are released. DomainError "not-on-list" where one is wanted and nothing lists it.
    """
    facts = its.family.facts
    shims = dict(zip(facts.shims.sizes_nm, facts.shims.parts, strict=False)) if facts.shims else {}
    rings = dict(zip(facts.base_rings.sizes_nm, facts.base_rings.parts, strict=False)) if facts.base_rings else {}
    laid: list[Laid] = []
    choices: dict[tuple[str, str], str] = {}
    for one in placed:
        for parts, size_nm in ((shims, one.shim_nm), (rings, ring_nm)):
            found = _listed(its, one.bore, parts, parts.get(size_nm, ""))
            if found is not None:
                key, candidate = found
                wanted = parts.get(size_nm, "")
                choices |= _choice(its, key, candidate, wanted)
                laid += [Laid(key, wanted)] if wanted else []
    standing = {(one.choice, one.place): one.alternative for one in its.listed.scope.recorded}
    words = [Word(*at, alternative) for at, alternative in choices.items() if standing.get(at) != alternative]
    if words:
        choose(act, its.job, words, "by the layout")
    return laid


def _listed(its: JobBench, bore: int, parts: Mapping[int, str], wanted: str) -> tuple[Key, Candidate] | None:
    """Where one of these parts is listed in the cylinder of a bore, with the candidate that is wanted (or any, for none); None where
    nothing is listed and nothing wanted."""
    holder = its.family.map.position(its.places[bore]).holder
    for key, requirement in its.listed.explosion.requirements.items():
        candidates = {one.part: one for one in requirement.candidates if one.part in parts.values()}
        if candidates and its.family.map.position(key[0]).holder == holder and (not wanted or wanted in candidates):
            return key, candidates[wanted or next(iter(candidates))]
    if not wanted:
        return None
    raise DomainError(
        "not-on-list",
        f"Nothing is listed under the liner of bore {bore}, where the layout wants {wanted}.",
        ways_out=("Record the finding that asks for it.",),
        position=its.places[bore],
        part=wanted,
    )


def _choice(its: JobBench, key: Key, candidate: Candidate, wanted: str) -> dict[tuple[str, str], str]:
    """The measured choice that the layout makes there: (choice, place) → alternative; empty where nothing is to be chosen."""
    choice = its.family.choices.get(candidate.choice)
    if choice is None or (not wanted and choice.rule != "at-most-one"):
        return {}
    bank = its.family.map.position(key[0]).bank
    place = {"position": key[0], "bank": f"BANK-{bank}" if bank else ENGINE}.get(choice.scope, ENGINE)
    return {(choice.code, place): candidate.alternative if wanted else NONE}


def hold_layout(act: Act, its: JobBench, sets: Sequence[tuple[str, str]], under: Sequence[Laid], layout: int) -> Body:
    """Hold what of the layout is not held for the job, or with it, already; on a pick list of its own.

    sets  (use position, serial)
    Outcome: {"pick_list", "number", "held": [...], "shorts": [...]}; without anything new there is no pick list.
    """
    job, today = its.job, shop_day(act.occurred_at)
    goes = [((position, 1), its.part.number) for position, _ in sets] + [(one.key, one.part) for one in under]
    refuse_substitutes(its.listed, [(part, part, [key]) for key, part in goes], today)
    promises: list[tuple[Promise, Part, list[str | int]]] = [
        (Promise(hand.item_id, hand.spot_id, 1, job.fit_on), its.part, [position, 1, 1])
        for position, serial in sets
        for hand in [its.at_hand[serial]]
        if hand.spot_id is not None and not hand.held
    ]
    more, shorts = _loose(its, under, job.fit_day(today))
    promises += more
    if not promises:
        return {"pick_list": None, "number": None, "held": [], "shorts": shorts}
    holds = holding.hold(act, things.spot(job.cart), [promise for promise, _, _ in promises])
    number = PickList.objects.filter(job=job).count() + 1
    listed = PickList.objects.create(
        job=job, act=act, number=number, document={"layout": layout, "lines": [], "tools": []}
    )
    JobHold.objects.bulk_create(
        [
            JobHold(hold=hold, job=job, pick_list=listed, wanted=part, positions=[share])
            for hold, (_, part, share) in zip(holds, promises, strict=True)
        ]
    )
    stands = {(row.item_id, row.spot_id): row for row in on_shelves({part.pk for _, part, _ in promises}, job.site_id)}
    held = [
        {
            "hold": hold.pk,
            "part": part.number,
            "item": hold.item_id,
            "lot": stands[hold.item_id, hold.from_spot_id].lot_code,
            "serial": stands[hold.item_id, hold.from_spot_id].serial,
            "place": stands[hold.item_id, hold.from_spot_id].place_code,
            "amount": hold.amount,
            "positions": [share],
        }
        for hold, (_, part, share) in zip(holds, promises, strict=True)
    ]
    return {"pick_list": listed.pk, "number": number, "held": held, "shorts": shorts}


def _loose(
    its: JobBench, under: Sequence[Laid], day: date
) -> tuple[list[tuple[Promise, Part, list[str | int]]], list[Body]]:
    """Shims and rings that are not held for their positions yet, first to expire first; and what the shelves lack."""
    served = {(share[:2], one.hold.item.part.number) for one in promises_of(its.job) for share in one.shares}
    wanted = [one for one in under if (one.key, one.part) not in served]
    parts = {part.number: part for part in Part.objects.filter(number__in={one.part for one in wanted})}
    standings = on_shelves([part.pk for part in parts.values()], its.job.site_id)
    needs = [
        Need(f"{number}", parts[one.part].pk, 1, day, its.job.number, its.listed.shop.margin_days)
        for number, one in enumerate(wanted)
    ]
    found = allocate(needs, [lot_of(row) for row in standings if not row.tube_number])
    promises: list[tuple[Promise, Part, list[str | int]]] = []
    for line in found.lines:
        one = wanted[int(line.need_key)]
        promise = Promise(line.item_id, line.spot_id, line.quantity, its.job.fit_on)
        promises.append((promise, parts[one.part], [*one.key, line.quantity]))
    holders = holders_of(standings, its.job, day, its.listed.shop.margin_days) if found.short else {}
    shorts: list[Body] = [
        {
            "part": wanted[int(short.need_key)].part,
            "amount": short.quantity,
            "positions": [wanted[int(short.need_key)].key[0]],
            "why": short.why,
            "held_by": holders.get(wanted[int(short.need_key)].part, []),
        }
        for short in found.short
    ]
    return promises, shorts
