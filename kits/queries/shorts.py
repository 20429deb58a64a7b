"""What a job is short of, and every way out of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from django.db.models import F, Min, Q, QuerySet

from inventory.domain.expedite import express
from inventory.domain.quantities import shown_amount
from inventory.domain.supersession import Link, Route, routes
from inventory.domain.supersession_choice import Families
from inventory.models import Hold, KitContent, Part, Short, SupplierPart
from inventory.queries.held import DAY
from inventory.queries.joins import records_of
from inventory.queries.replacements import links_of
from inventory.queries.stock import on_shelves
from kits.domain.engine_numbers import fits_number
from kits.domain.listing import ListLine
from kits.domain.requirements import Key
from kits.domain.startable import StepKey
from kits.domain.tubes import Rest
from kits.models import Job
from kits.queries.job_list import JobList, free_for, job_list, to_buy_in
from kits.queries.loans import lent_away, lent_now
from kits.queries.materials import material_plans
from kits.queries.mixing import bound_by
from kits.queries.other_sites import from_elsewhere, good_for, here_from_elsewhere
from kits.queries.paid_back import ToHold, shorts_by_loans, to_hold_again
from kits.queries.served import served
from kits.queries.substitute_words import Said, listed_pairs, said_on


def shorts_of(job: Job, day: date) -> dict[str, Any]:
    """Every part the job's list still lacks on the shelves of its site, with the ways out, as asked on a day.

    {"job", "complete": can it start complete, "shorts": [{part, name, short, free, step, positions, first_needed_on, ways}],
    "buy_in": what is to be bought in and has no part named yet (`to_buy_in`), "raised": shorts that were raised by
    name in acts, "lent": what went to other jobs, until the loan is over [{"loan", "to_job", "part", "amount", "held", "picked", "gone": of it, "payback", "to_hold",
    "short", "short_as", "in_shorts", "ways"}]}: what the list asks for is short once, in `shorts`, of whose pieces so many are `by_loan`;
    there `short` is 0, and so many of them stand `in_shorts` as that part of the list. What was one more beside the list is `short` here
    where its payback is too late. `to_hold` is what came back for one more beside the list and is not held again, and is short as far as the shelves have
    it no more. Ways: {"way":
    "hold it" | "replacement" | "on the way" | "other site" | "borrow" | "from a kit" |
    "buy" | "express", …} with what each would cost in days or money where that is known; what is bought on that day `arrives_on` another,
    and is `in_time` if that is no later than the day of fitting (None: the supplier's days are not known). Express says whether it is
    `worth_it`: what it costs more against the idle days of the bench that it saves (None: nobody can tell).
    """
    listed = job_list(job, day)
    free = free_for(listed.fit_day, listed.shop, listed.parts, listed.standings)
    short = _lacking(listed, free)
    ways = ways_out(listed, {part: row["short"] for part, row in short.items()}, day)
    lent = _lent(listed, day, short)
    by_loan: dict[str, int] = defaultdict(int)
    for row in lent:
        by_loan[row["short_as"]] += row["in_shorts"]
    return {
        "job": job.number,
        "complete": not short and not to_buy_in(listed) and not any(row["short"] for row in lent),
        "fit_on": job.fit_on.isoformat(),
        "shorts": [
            {
                "part": part,
                "name": listed.parts[part].name,
                "short": row["short"],
                "by_loan": by_loan[part],
                "free": free.get(part, 0),
                "base": listed.parts[part].base,
                "short_shown": shown_amount(row["short"], listed.parts[part].base),
                "free_shown": shown_amount(free.get(part, 0), listed.parts[part].base),
                "step": row["step"],
                "positions": row["positions"],
                "ways": ways.get(part, []),
            }
            for part, row in short.items()
        ],
        "buy_in": to_buy_in(listed),
        "raised": [
            {"part": one.part.number, "amount": one.amount, "why": one.why, "at": one.act.recorded_at.isoformat()}
            for one in _raised(job)
        ],
        "lent": lent,
    }


def _raised(job: Job) -> QuerySet[Short]:
    """Shorts of the job; of a loss that was taken back, those only whose hold it ended: what was lost is there again."""
    stands = Q(act__corrected_by__isnull=True) | Q(hold__end__act=F("act"))
    rows = Short.objects.filter(stands, to_spot__place=job.cart_id)
    return rows.select_related("part", "act").order_by("pk")


def _lent(listed: JobList, day: date, list_short: Mapping[str, Mapping[str, Any]]) -> list[dict[str, Any]]:
    """What is held for the job no more because it went to another, with what pays it back, and the ways out where that is too late. What the
    list asks for is short in the list's shorts (`list_short`), and not here again."""
    away = lent_away(listed.job, day)
    if not away:
        return []
    in_list = shorts_by_loans(listed.job, [loan for loan, _ in away], list_short)
    back_again = _hold_it(listed, to_hold_again(listed.job, away))
    missing = {
        loan.pk: loan.request.amount for loan, back in away if (back is None or back.late) and loan.pk not in in_list
    }
    missing |= {loan: way["amount"] - way["free"] for loan, way in back_again.items() if way["free"] < way["amount"]}
    short: dict[str, int] = defaultdict(int)
    for loan, _ in away:
        if loan.pk in missing:
            short[loan.request.hold.item.part.number] += missing[loan.pk]
    parts = {loan.request.hold.item.part.number: loan.request.hold.item.part for loan, _ in away}
    ways = ways_out(replace(listed, parts={**listed.parts, **parts}), short, day)
    carts = [loan.request.to_spot.place_id for loan, _ in away]
    jobs = dict(Job.objects.filter(cart__in=carts).values_list("cart_id", "number"))
    now = lent_now(loan.pk for loan, _ in away)
    return [
        {
            "loan": loan.pk,
            "to_job": jobs[loan.request.to_spot.place_id],
            "part": loan.request.hold.item.part.number,
            "amount": loan.request.amount,
            "held": now[loan.pk].fate.held,
            "picked": now[loan.pk].fate.picked,
            "gone": now[loan.pk].fate.gone,
            "base": loan.request.hold.item.base,
            "payback": back.said() if back else None,
            "to_hold": back_again[loan.pk]["amount"] if loan.pk in back_again else 0,
            "short": missing.get(loan.pk, 0),
            "short_as": in_list[loan.pk][0] if loan.pk in in_list else "",
            "in_shorts": in_list[loan.pk][1] if loan.pk in in_list else 0,
            "ways": [
                *([back_again[loan.pk]] if loan.pk in back_again else []),
                *(ways.get(loan.request.hold.item.part.number, []) if loan.pk in missing else []),
            ],
        }
        for loan, back in away
    ]


def _hold_it(listed: JobList, wanted: Mapping[int, ToHold]) -> dict[int, dict[str, Any]]:
    """Loan id → the way out of what came back: held again, as it was asked for, out of what is free and nothing on the list wants."""
    if not wanted:
        return {}
    free: dict[int, int] = {}
    for one in wanted.values():
        if one.part_id not in free:
            there = on_shelves(records_of([one.part_id]), listed.job.site_id)
            lines = [line.amount for line in _unserved(listed)[0] if line.part == one.part]
            free[one.part_id] = max(0, sum(row.free for row in there if good_for(listed, row)) - sum(lines))
    ways: dict[int, dict[str, Any]] = {}
    for loan, one in wanted.items():
        takes = min(free[one.part_id], one.amount)
        free[one.part_id] -= takes
        ways[loan] = {
            "way": "hold it", "part": one.part, "amount": one.amount, "free": takes, "reason": one.reason,
            "positions": list(one.positions),
        }  # fmt: skip
    return ways


def _lacking(listed: JobList, free: Mapping[str, int]) -> dict[str, dict[str, Any]]:
    """Part → {"short", "step", "positions"} of what is not served and not on the shelves; tubes as the plan wants them."""
    lacking: dict[str, dict[str, Any]] = {}
    poured: list[ListLine] = []
    lines, rests = _unserved(listed)
    for line in lines:
        if listed.parts[line.part].base != line.base:
            poured.append(line)
            continue
        row = lacking.setdefault(line.part, {"short": 0, "positions": [], "step": f"{line.operation}/{line.step}"})
        row["short"] += line.amount
        row["positions"] += [key[0] for key in line.keys]
    for part, row in lacking.items():
        row["short"] -= free.get(part, 0)
    for plan in material_plans(listed, poured, rests):
        lacking[plan.part.number] = {"short": plan.missing, "positions": list(plan.unserved), "step": plan.step}
    return {part: row for part, row in lacking.items() if row["short"] > 0}


def _unserved(listed: JobList) -> tuple[list[ListLine], tuple[Rest, ...]]:
    """The list's lines with only what nothing serves yet: neither fitted, nor with the job, nor held for it; what its tubes still give."""
    have = served(listed)
    lines = []
    for line in listed.lines:
        wanted = [
            (key, amount - have.amounts.get((key, line.part), 0))
            for key, amount in zip(line.keys, line.amounts, strict=True)
            if amount > have.amounts.get((key, line.part), 0)
        ]
        if wanted:
            keys, amounts = zip(*wanted, strict=True)
            lines.append(replace(line, keys=keys, amounts=amounts))
    return lines, have.rests


def arriving(listed: JobList, day: date) -> list[tuple[StepKey, str, int, str, date | None]]:
    """What the list's steps lack that is neither served nor on the shelves: (step, part, amount, base, when it is here).

    What lies on the shelves goes to the steps in order of work. It is here on the first day on which a supplier's days bring it, if
    it is bought on the day, or the van from a site that has all of it; None: nobody's days are known. In order of work.
    """
    free = free_for(listed.fit_day, listed.shop, listed.parts, listed.standings)
    found: list[tuple[StepKey, str, int, str]] = []
    poured: list[ListLine] = []
    lines, rests = _unserved(listed)
    for line in lines:
        if listed.parts[line.part].base != line.base:
            poured.append(line)
            continue
        taken = min(line.amount, free.get(line.part, 0))
        free[line.part] = free.get(line.part, 0) - taken
        if line.amount > taken:
            found.append(((line.operation, line.step), line.part, line.amount - taken, line.base))
    for plan in material_plans(listed, poured, rests):
        for line in poured:
            lacks = sum(key[0] in plan.unserved for key in line.keys) if line.part == plan.part.number else 0
            if lacks and plan.missing:
                found.append(((line.operation, line.step), line.part, plan.missing, plan.part.base))
    days = _soonest(listed, found, day)
    return [(step, part, amount, base, days.get(listed.parts[part].pk)) for step, part, amount, base in found]


def _soonest(listed: JobList, lacking: Sequence[tuple[StepKey, str, int, str]], day: date) -> dict[int, date]:
    """Part id → the first day on which all that is lacking of it is here: bought on the day, or by the van from a site that has it all."""
    if not lacking:
        return {}
    amounts: dict[int, int] = defaultdict(int)
    for _, part, amount, _ in lacking:
        amounts[listed.parts[part].pk] += amount
    bought, brought = _bought(amounts, day), here_from_elsewhere(listed, amounts, day)
    return {part: min(one.get(part, date.max) for one in (bought, brought)) for part in bought.keys() | brought.keys()}


def _bought(part_ids: Collection[int], day: date) -> dict[int, date]:
    """Part id → the first day on which it is here if it is bought on the day. One query."""
    rows = SupplierPart.objects.filter(part__in=part_ids, lead_days__isnull=False)
    soonest = rows.values_list("part").annotate(Min("lead_days")).order_by("part")
    return {part: day + timedelta(days=days) for part, days in soonest}


def ways_out(listed: JobList, short: dict[str, int], day: date) -> dict[str, list[dict[str, Any]]]:
    """Part of the list → the ways out of lacking so much of it, as seen on a day; see `shorts_of`."""
    if not short:
        return {}
    parts = {number: listed.parts[number] for number in short}
    ids = {part.pk: number for number, part in parts.items()}
    ways: dict[str, list[dict[str, Any]]] = defaultdict(list)
    _replacements(listed, parts, short, ways, day)
    for number, found in from_elsewhere(listed, ids, day, _bought(ids, day)).items():
        ways[number] += found
    later = (
        Hold.objects.filter(item__part__in=ids, end__isnull=True)
        .annotate(planned=DAY)
        .filter(planned__gt=listed.job.fit_on)
        .exclude(to_spot__place=listed.job.cart_id)
        .order_by("-planned")
        .values("item__part_id", "amount", "planned", job=F("job_hold__job__number"))
    )
    for hold in later:
        ways[ids[hold["item__part_id"]]].append(
            {
                "way": "borrow",
                "job": hold["job"],
                "amount": hold["amount"],
                "needed_there_on": hold["planned"].isoformat(),
            }
        )
    _kits(listed, ids, ways)
    for sold in SupplierPart.objects.filter(part__in=ids).select_related("supplier").order_by("lead_days", "pk"):
        ways[ids[sold.part_id]].append(_buy(sold, day, listed.job.fit_on))
        if sold.express_days is not None:
            ways[ids[sold.part_id]].append(_express(sold, day, listed))
    return ways


def _express(sold: SupplierPart, day: date, listed: JobList) -> dict[str, Any]:
    """Sent fast: what it costs more, against what the bench costs that would wait."""
    idle = listed.shop.idle_day_coins or None
    found = express(day, listed.job.fit_on, sold.lead_days, sold.express_days or 0, sold.express_coins or 0, idle)
    return {
        "way": "express",
        "supplier": sold.supplier.code,
        "express_days": sold.express_days,
        "express_coins": sold.express_coins,
        "arrives_on": found.arrives_on.isoformat(),
        "in_time": found.in_time,
        "idle_days_saved": found.idle_days_saved,
        "saved_coins": found.saved_coins,
        "worth_it": found.worth_it,
    }


def _buy(sold: SupplierPart, day: date, fit_on: date) -> dict[str, Any]:
    """Bought on that day: when it is here, and whether that is no later than the day of fitting."""
    arrives = None if sold.lead_days is None else day + timedelta(days=sold.lead_days)
    return {
        "way": "buy",
        "supplier": sold.supplier.code,
        "lead_days": sold.lead_days,
        "arrives_on": None if arrives is None else arrives.isoformat(),
        "in_time": None if arrives is None else arrives <= fit_on,
        "pack": sold.pack,
        "price_coins": sold.price_coins,
    }


def _replacements(
    listed: JobList, parts: dict[str, Part], short: dict[str, int], ways: dict[str, list[dict[str, Any]]], day: date
) -> None:
    links = links_of([part.pk for part in parts.values()])
    if not links:
        return
    named = {name for link in links for name in _names(link)}
    known = {part.number: part for part in Part.objects.filter(number__in=named)}
    standings = tuple(on_shelves([part.pk for part in known.values()], listed.job.site_id))
    stock = free_for(listed.fit_day, listed.shop, known, standings)
    engine, width = listed.scope.engine_number, listed.scope.family.numbering.width
    said = said_on(listed.job)
    for number, pieces in short.items():
        keys = [key for line in listed.lines if line.part == number for key in line.keys]
        there = frozenset().union(*bound_by(listed, number, [key[0] for key in keys], links).values())
        for route in routes(number, pieces, links, stock, fits=lambda key: fits_number(key, engine, width)):
            if [part for part, _ in route.pieces] != [number]:
                ways[number].append(
                    {
                        "way": "replacement",
                        "parts": dict(route.pieces),
                        "available": route.available,
                        "missing": dict(route.missing),
                        "because": list(route.because),
                        "conditions": [
                            *route.conditions,
                            *_mixing(route, there, links),
                            *_owner(listed, said, number, route, keys, day),
                        ],
                    }
                )


def _mixing(route: Route, there: Collection[str], links: Sequence[Link]) -> list[str]:
    """What has to go first, where a route brings what may not stand with what the job has."""
    families = Families(links)
    return [
        f"{leaf} may not be mixed with {other}, which the job has: that is released or returned first"
        for leaf, _ in route.leaves
        for other in sorted(there)
        if families.apart(leaf, other)
    ]


def _owner(listed: JobList, said: Said, number: str, route: Route, keys: Sequence[Key], day: date) -> Iterator[str]:
    """To what of a route the owner of the engine has to agree first, or said no."""
    for part, _ in route.pieces:
        left, why = said.lacking(listed_pairs(listed, number, part, keys or [("", 0)]), day)
        for (instead_of, instead), no in left.items():
            pair = f"{instead} in place of {instead_of}"
            yield f"the owner said no to {pair}" if no else f"the owner agrees to {pair} first: {why}"


def _names(link: Any) -> Sequence[str]:
    return (link.a, link.b) if hasattr(link, "a") else (link.old, *(new for new, _ in link.limbs))


def _kits(listed: JobList, ids: dict[int, str], ways: dict[str, list[dict[str, Any]]]) -> None:
    """Closed kits on the shelf that hold the part."""
    inside = KitContent.objects.filter(part__in=ids).select_related("revision__kit")
    kits = {content.revision.kit_id: content.revision.kit.number for content in inside}
    free: dict[int, int] = defaultdict(int)
    for row in on_shelves(kits, listed.job.site_id):
        if good_for(listed, row):
            free[row.part_id] += row.free
    seen: set[tuple[int, str]] = set()
    for content in inside:
        kit = content.revision.kit_id
        if free[kit] and (kit, ids[content.part_id]) not in seen:
            seen.add((kit, ids[content.part_id]))
            ways[ids[content.part_id]].append(
                {"way": "from a kit", "kit": kits[kit], "closed_kits": free[kit], "each_holds": content.amount}
            )
