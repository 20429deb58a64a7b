"""A job's list, allocated to real lots, sets and tubes, held, and frozen as a pick list. Private to services: the caller has the
transaction and the locks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import Any

from django.db.models import Count, Max

from inventory.domain.allocation import Allocation, Need, allocate, by_position
from inventory.domain.errors import DomainError
from inventory.models import Act, Part
from inventory.queries.days import shop_day
from inventory.queries.stock import Standing, on_shelves
from inventory.services import holding, things
from inventory.services.holding import Promise
from inventory.services.rows import insert
from inventory.services.run import Body
from kits.domain.families import USE_UP
from kits.domain.listing import special_tools
from kits.domain.substitute_words import Pair
from kits.models import Job, JobChoice, JobHold, PickList
from kits.queries.cart import EMPTY, Load, cart_document, cart_of, trays_of
from kits.queries.holders import holders_of, kept_of
from kits.queries.job_list import JobList, document
from kits.queries.materials import MaterialPlan, material_plans
from kits.queries.rubber import wrong_rubber
from kits.queries.served import served
from kits.queries.standing_verdicts import sort_out
from kits.queries.substitutes import substitute
from kits.services.hold_rules import refuse_alone, refuse_over_limit, refuse_unready
from kits.services.maker_stops import refuse_stopped
from kits.services.shared import lot_of, refuse_unsorted, touch
from kits.services.substitute_rules import refuse_substitutes, refused_by_owner
from kits.services.wants import Want, bank_at, by_bank, is_tube, open_part, swapped, totals_of, wants_of
from kits.services.whole_packs import in_whole_packs


@dataclass(frozen=True, slots=True)
class Lent:
    """So much of one item at a shelf spot, freed for the job in the same act: what another job lends it."""

    part_id: int
    item_id: int
    spot_id: int
    amount: int

    def wants(self, wants: Sequence[Want]) -> list[Want]:
        """Those of the list that it could serve."""
        return [want for want in wants if want.part.pk == self.part_id and not is_tube(want)]

    def standings(self, standings: Sequence[Standing]) -> list[Standing]:
        """It alone, with so much of it free as is lent."""
        return [
            replace(one, amount=one.held + self.amount)
            for one in standings
            if (one.item_id, one.spot_id) == (self.item_id, self.spot_id)
        ]


@dataclass(frozen=True, slots=True)
class Serves:
    """What a hold is for: the listed part, [position, make, amount] of each share, and its line on the list; `flag`: what a person should
    look at in the lot that was chosen."""

    wanted: Part
    positions: list[list[str | int]]
    line: int
    on_approval: bool = False
    flag: str = ""


def hold_listed(
    act: Act,
    job: Job,
    listed: JobList,
    steps: set[str],
    until: date | None,
    joined: set[int],
    lent: Lent | None = None,
) -> Body:
    """Hold what the list lacks, as `hold_kit` does; the caller has the transaction and the locks. `lent`: only of that thing, only so much."""
    refuse_unready(listed)
    refuse_unsorted(listed.parts[line.part] for line in listed.lines)
    rubber = wrong_rubber(listed)
    if rubber:
        raise DomainError("wrong-rubber", "; ".join(one["why"] for one in rubber), lines=rubber)
    have = served(listed)
    every = wants_of(listed, have.amounts)
    wants = [want for want in every if not steps or f"{want.line.operation}/{want.line.step}" in steps]
    refuse_stopped(listed, (share[:2] for want in wants for share in want.shares))
    refuse_over_limit(listed, ((share[:2], want.line.part) for want in wants for share in want.shares))
    today = shop_day(act.occurred_at)
    rest, unwanted = _instead(listed, wants, every, today) if joined else ({}, set())
    bank_of = partial(bank_at, listed.scope.family)
    wants = [split for want in wants for split in swapped(want, rest.get(want.line.part), bank_of)]
    wants = wants if lent is None else lent.wants(wants)
    if joined:
        refuse_alone(listed, joined, [(want.wanted.number, want.part.number, want.shares) for want in wants])
    stands = [(want.wanted.number, want.part.number, [share[:2] for share in want.shares]) for want in wants]
    refuse_substitutes(listed, stands, today)
    pieces = [want for want in wants if not is_tube(want)]
    tubes = material_plans(listed, [open_part(want) for want in wants if is_tube(want)], have.rests)
    standings = _standings(listed, wants, job)
    standings = standings if lent is None else lent.standings(standings)
    allocation = _allocate(job, listed, pieces, standings)
    shorts = [_left_out(listed, unwanted, short) for short in _shorts(pieces, allocation)] + [
        _tube_short(plan) for plan in tubes if plan.missing
    ]
    shorts = _with_who_has_it(job, listed, standings, shorts) if shorts else []
    before = PickList.objects.filter(job=job).aggregate(lists=Count("pk"), trays=Max("last_tray"))
    cart = cart_document(cart_of(_loads(wants, tubes), listed.shop), (before["trays"] or 0) + 1)
    made = _whole(_promises(job, pieces, allocation, until), standings, wants) + _tube_promises(job, tubes, until)
    if not made and not shorts:
        raise DomainError(
            "nothing-to-hold", "Everything on the list is held, picked or fitted already.", job=job.number
        )
    said = document(listed)
    lacks = {"shorts": shorts, "open_choices": said["open_choices"], "buy_in": said["buy_in"]}
    if not made:
        return {"pick_list": None, "number": None, "held": [], "tools": [], "cart": EMPTY} | lacks
    tools = special_tools([want.line for want in wants])
    said |= {"steps": sorted(steps), "tools": [{"tool": tool, "steps": list(its)} for tool, its in tools.items()]}
    number = before["lists"] + 1
    pick_list, held = _write(act, job, number, said | {"cart": cart}, made, standings, wants, listed)
    _keep_decisions(act, job, listed)
    touch(job)
    return {"pick_list": pick_list, "number": number, "held": held, "tools": said["tools"], "cart": cart} | lacks


def _with_who_has_it(
    job: Job, listed: JobList, standings: Sequence[Standing], shorts: Sequence[dict[str, Any]]
) -> list[dict[str, Any]]:
    """The shorts, each with the jobs that hold what would have served, and with what is kept of it."""
    holders = holders_of(standings, job, listed.fit_day, listed.shop.margin_days)
    kept = kept_of(standings)
    return [
        short
        | {"held_by": holders.get(short["part"], [])}
        | {"why": "; ".join(why for why in (short["why"], kept.get(short["part"])) if why)}
        for short in shorts
    ]


def _instead(
    listed: JobList, wants: Sequence[Want], every: Sequence[Want], on: date
) -> tuple[dict[str, dict[str, list[tuple[Part, int]]]], set[Pair]]:
    """Listed part → what is issued in its place, by bank or for all, and what would be, but the owner said no to it: the listed part is short then.

    every  what the whole list still lacks, of which `wants` is held now
    """
    now = totals_of(want for want in wants if not want.on_approval)
    whole = by_bank(listed.scope.family, (want for want in every if not want.on_approval))
    unwanted: set[Pair] = set()
    while True:
        found = substitute(listed, now, whole, unwanted)
        pairs = {(part, other.number) for part, swap in found.items() for other, _ in swap.parts}
        refused = refused_by_owner(listed.job, {pair for pair in pairs if pair[0] != pair[1]}, on)
        if not refused:
            return {
                part: {bank: list(parts) for bank, parts in swap.at.items()} for part, swap in found.items()
            }, unwanted
        unwanted |= refused


def _write(
    act: Act,
    job: Job,
    number: int,
    body: Body,
    made: Sequence[tuple[Promise, Serves]],
    standings: Sequence[Standing],
    wants: Sequence[Want],
    listed: JobList,
) -> tuple[int, list[Body]]:
    """Write the holds and the pick list; its id, and what was held for the outcome."""
    holds = holding.hold_ids(act, things.spot(job.cart), [promise for promise, _ in made])
    trays = trays_of(body["cart"])
    last = max((tray["tray"] for tray in body["cart"]["trays"]), default=0)
    (pick_list,) = insert(
        PickList._meta.db_table,
        ("job_id", "act_id", "number", "document", "last_tray"),
        [(job.pk, act.pk, number, body, last)],
        returning="id",
    )
    insert(
        JobHold._meta.db_table,
        ("hold_id", "job_id", "pick_list_id", "wanted_id", "positions", "on_approval", "tray", "line"),
        [
            (hold, job.pk, pick_list, one.wanted.pk, one.positions, one.on_approval, trays.get(one.line, 0), one.line)
            for hold, (_, one) in zip(holds, made, strict=True)
        ],
    )
    numbers = {part.pk: part.number for part in (*(want.part for want in wants), *listed.parts.values())}
    there = {(row.item_id, row.spot_id): row for row in standings}
    held = [
        _held(hold, promise, extra, there[promise.item_id, promise.spot_id], numbers, trays.get(extra.line, 0))
        for hold, (promise, extra) in zip(holds, made, strict=True)
    ]
    return pick_list, held


def _loads(wants: Sequence[Want], tubes: Sequence[MaterialPlan]) -> list[Load]:
    """What the list brings or misses, line by line, candidates on approval among them.

    The tubes of a product lie in the tray of the first line that they serve, and are counted there.
    """
    tube_of = {plan.part.number: plan for plan in tubes}
    loads = []
    for want in wants:
        pieces = want.amount
        if is_tube(want):
            plan = tube_of[want.line.part]
            pieces = len(plan.tubes) + plan.missing if plan.line == want.line.number else 0
        loads.append(Load(want.line, want.part, pieces))
    return loads


def _standings(listed: JobList, wants: Sequence[Want], job: Job) -> list[Standing]:
    """Shelf items of the listed parts, and of those that come in by a replacement."""
    known = {part.pk for part in listed.parts.values()}
    others = {want.part.pk for want in wants} - known
    instead = sort_out(listed.scope.family, on_shelves(others, job.site_id), job.number)[0] if others else ()
    return [*listed.standings, *instead]


def _allocate(job: Job, listed: JobList, wants: Sequence[Want], standings: Sequence[Standing]) -> Allocation:
    """One need for each part of the engine, so that the wish for one lot means the whole engine."""
    totals: dict[int, int] = defaultdict(int)
    for want in wants:
        totals[want.part.pk] += want.amount
    needs = [
        Need(str(part_id), part_id, quantity, listed.fit_day, job.number, listed.shop.margin_days)
        for part_id, quantity in sorted(totals.items())
    ]
    return allocate(needs, [lot_of(row) for row in standings if row.part_id in totals and not row.tube_number])


def _promises(
    job: Job, wants: Sequence[Want], allocation: Allocation, until: date | None
) -> list[tuple[Promise, Serves]]:
    """Give the allocated lots to positions, whole positions first, so that position → lot is a function where it can be."""
    supply: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for index, line in enumerate(allocation.lines):
        supply[int(line.need_key)].append((index, line.quantity))
    owners: dict[int, list[tuple[int, tuple[str, int, int]]]] = defaultdict(list)
    for at, want in enumerate(wants):
        owners[want.part.pk] += [(at, share) for share in want.shares]
    made: list[tuple[Promise, Serves]] = []
    for part_id, owned in owners.items():
        taken: dict[tuple[int, int], list[list[str | int]]] = defaultdict(list)
        names = [(str(number), share[2]) for number, (_, share) in enumerate(owned)]
        for name, index, units in by_position(names, supply[part_id]):
            at, share = owned[int(name)]
            taken[at, index].append([share[0], share[1], units])
        for (at, index), shares in sorted(taken.items()):
            want, given = wants[at], allocation.lines[index]
            amount = sum(int(share[2]) for share in shares)
            made.append(
                (
                    Promise(given.item_id, given.spot_id, amount, job.fit_on, until),
                    Serves(want.wanted, shares, want.line.number, want.on_approval, given.flag),
                )
            )
    return sorted(made, key=lambda pair: (pair[1].line, pair[0].item_id, pair[0].spot_id))


def _whole(
    made: Sequence[tuple[Promise, Serves]], standings: Sequence[Standing], wants: Sequence[Want]
) -> list[tuple[Promise, Serves]]:
    parts = {want.part.pk: want.part for want in wants}
    whole = in_whole_packs([one for one, _ in made], standings, parts)
    return [(one, serves) for one, (_, serves) in zip(whole, made, strict=True)]


def _tube_promises(job: Job, plans: Sequence[MaterialPlan], until: date | None) -> list[tuple[Promise, Serves]]:
    return [
        (
            Promise(tube.item_id, tube.spot_id, tube.amount, job.fit_on, until),
            Serves(plan.part, [list(joint) for joint in tube.joints], plan.line),
        )
        for plan in plans
        for tube in plan.tubes
    ]


def _shorts(wants: Sequence[Want], allocation: Allocation) -> list[Body]:
    """What the shelves lack, by line, with the allocation's reason."""
    missing = {int(short.need_key): short for short in allocation.short}
    left = {part_id: short.quantity for part_id, short in missing.items()}
    shorts: list[Body] = []
    for want in reversed(wants):
        lack = min(left.get(want.part.pk, 0), want.amount)
        if lack:
            left[want.part.pk] -= lack
            shorts.append(
                {
                    "part": want.part.number,
                    "wanted": want.wanted.number,
                    "amount": lack,
                    "base": want.part.base,
                    "step": f"{want.line.operation}/{want.line.step}",
                    "positions": [share[0] for share in want.shares][-lack:],
                    "why": missing[want.part.pk].why,
                }
            )
    return shorts[::-1]


def _left_out(listed: JobList, unwanted: Iterable[Pair], short: Body) -> Body:
    """The short, with what of the part stands there and does not go into this engine, and what the owner does not want instead."""
    mine = [one for one in listed.sorted_out if one.part == short["part"]]
    words = [f"set {one.serial}: {one.why}" if one.serial else one.why for one in mine]
    words += [f"the owner does not want {other} instead" for part, other in sorted(unwanted) if part == short["wanted"]]
    return short | {"why": "; ".join([short["why"], *words])} if words else short


def _tube_short(plan: MaterialPlan) -> Body:
    return {
        "part": plan.part.number,
        "wanted": plan.part.number,
        "amount": plan.missing,
        "base": "piece",
        "step": plan.step,
        "positions": list(plan.unserved),
        "why": f"short by {plan.missing} unopened: none usable on the shelf",
    }


def _keep_decisions(act: Act, job: Job, listed: JobList) -> None:
    """What stock decided (using up old parts) is kept: the holds themselves change the stock it was decided by."""
    said = {(one.choice, one.place) for one in listed.scope.recorded}
    family = listed.scope.family
    JobChoice.objects.bulk_create(
        [
            JobChoice(
                job=job,
                act=act,
                choice=choice,
                place=place,
                alternative=alternative,
                reason="decided by stock when it was held",
            )
            for choice, place, alternative in listed.settled.decided
            if family.choices[choice].by == USE_UP and (choice, place) not in said
        ]
    )


def _held(hold_id: int, promise: Promise, extra: Serves, row: Standing, numbers: Mapping[int, str], tray: int) -> Body:
    return {
        "hold": hold_id,
        "part": numbers[row.part_id],
        "wanted": extra.wanted.number,
        "item": row.item_id,
        "lot": row.lot_code,
        "serial": row.serial,
        "tube": row.tube_number,
        "use_by": row.use_by,
        "place": row.place_code,
        "spot": row.spot_name,
        "amount": promise.amount,
        "positions": extra.positions,
        "tray": tray,
        "on_approval": extra.on_approval,
        "look": extra.flag if row.lot_code else "",
    }
