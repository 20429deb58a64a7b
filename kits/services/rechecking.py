"""A job's open holds against its day of fitting: what it makes impossible is held anew where it can be. Private to services."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from inventory import locks
from inventory.domain.allocation import Held, Line, Need, allocate, by_position, recheck
from inventory.domain.quantities import shown_amount
from inventory.domain.shelf_life import usable_on
from inventory.models import Act, HoldEnd
from inventory.queries.days import shop_day
from inventory.queries.shop import shop
from inventory.queries.stock import Standing, in_place, on_shelves, stopped_items
from inventory.services import holding, things
from inventory.services.holding import Promise
from inventory.services.run import Body
from kits.domain.listing import ListLine
from kits.domain.requirements import Key
from kits.domain.serving import Promised
from kits.models import Job, JobDate, JobHold
from kits.queries.by_notice import number_sentence, shut_out
from kits.queries.job_list import JobList, job_list
from kits.queries.materials import material_plans
from kits.queries.served import JobPromise, promised_of, promises_of, served
from kits.queries.shorts import ways_out
from kits.services.cart_rules import short_of_too_old
from kits.services.shared import lot_of


def fit_on_day(act: Act, job: Job, fit_on: date, reason: str) -> Body:
    """Plan the fitting of a locked job for a day and check its holds against it; what `check_holds` says."""
    was = job.fit_day(shop_day(act.occurred_at))
    JobDate.objects.create(job=job, act=act, fit_on=fit_on, reason=reason)
    Job.objects.filter(pk=job.pk).update(fit_on=fit_on)
    holding.move_day(job.cart, fit_on)
    job.fit_on = fit_on
    return check_holds(act, job, was)


def check_holds(act: Act, job: Job, was: date | None = None) -> Body:
    """{"kept", "replaced", "shorts", "too_old"}, as `move_fit_date` answers. What was picked and is too old by now comes up short as well.

    was  the day of fitting before this act, where it named another
    """
    today = shop_day(act.occurred_at)
    day = job.fit_day(today)
    body = _recheck_holds(act, job)
    rows = [row for row in in_place([job.cart_id, job.bench_id]) if row.stopped or not usable_on(row.use_by, day)]
    late = short_of_too_old(act, job, rows, day, was) if rows else []
    if late:
        said: list[Body] = [
            {"part": one.part.number, "amount": one.amount, "base": one.part.base, "why": one.why} for one in late
        ]
        body["shorts"] += _with_ways(job_list(job, today), said, today)
    return {**body, "too_old": _too_old(rows)}


def _with_ways(listed: JobList, shorts: Sequence[Body], today: date) -> list[Body]:
    known = {short["part"]: short["amount"] for short in shorts if short["part"] in listed.parts}
    ways = ways_out(listed, known, today)
    return [
        short | {"shown": shown_amount(short["amount"], short["base"]), "ways": ways.get(short["part"], [])}
        for short in shorts
    ]


def _too_old(rows: Sequence[Standing]) -> list[Body]:
    """What was picked already and is stopped, or past its use-by on the day of fitting: nobody may fit it."""
    return [
        {
            "part": row.part,
            "item": row.item_id,
            "lot": row.lot_code,
            "amount": row.amount,
            "use_by": row.use_by,
            "stopped": row.stopped,
            "place": row.place_code,
        }
        for row in rows
    ]


def _recheck_holds(act: Act, job: Job) -> Body:
    open_promises = [one for one in promises_of(job) if one.open]
    locks.scarcer((one.hold.item.part_id, job.site_id) for one in open_promises)
    open_promises = [one for one in promises_of(job) if one.open]
    margin, day = shop().margin_days, job.fit_day(shop_day(act.occurred_at))
    blocked = stopped_items([one.hold.item_id for one in open_promises])
    held = [
        Held(
            one.hold.pk,
            one.hold.item_id,
            one.hold.amount,
            one.hold.item.tube.use_by
            if one.hold.item.tube
            else one.hold.item.lot.expires_on
            if one.hold.item.lot
            else None,
            0 if one.hold.item.tube else margin,  # an opened tube is planned to its last day
            one.hold.item_id in blocked,
        )
        for one in open_promises
    ]
    shut = shut_out(job.engine, {one.hold.item.part_id for one in open_promises})
    broken = {row.hold_id: why for row, why in recheck(held, day)}
    broken |= {
        one.hold.pk: number_sentence(job.engine, one.hold.item.part.number, shut[one.hold.item.part_id])
        for one in open_promises
        if one.hold.item.part_id in shut
    }
    gone = [one for one in open_promises if one.hold.pk in broken]
    if not gone:
        return {"kept": len(open_promises), "replaced": [], "shorts": []}
    promised = promised_of(job)
    holding.end(
        act,
        [one.hold for one in gone],
        HoldEnd.How.IMPOSSIBLE,
        "the day of fitting: " + "; ".join(sorted(set(broken.values()))),
    )
    pieces = [one for one in gone if not one.hold.item.tube_id]
    replaced, shorts = hold_anew(act, job, pieces, broken, margin, shut)
    tubes = [one for one in gone if one.hold.item.tube_id]
    if tubes or shorts:
        listed = job_list(job, shop_day(act.occurred_at))
        more, lacking = _tubes_anew(act, job, listed, tubes, broken, promised)
        replaced, shorts = replaced + more, shorts + lacking
        shorts = _with_ways(listed, shorts, shop_day(act.occurred_at))
    return {"kept": len(open_promises) - len(gone), "replaced": replaced, "shorts": shorts}


def _tubes_anew(
    act: Act,
    job: Job,
    listed: JobList,
    gone: Sequence[JobPromise],
    broken: dict[int, str],
    promised: Sequence[Promised],
) -> tuple[list[Body], list[Body]]:
    """Other tubes for the joints that opened ones were to close, or their rest, unless another tube of the job closes them still.

    promised  what was promised to the job before these were ended
    """
    have = served(listed)
    rested = _rested(listed, promised, have.amounts) if gone else {}
    replaced: list[Body] = []
    shorts: list[Body] = []
    done: set[Key] = set()
    for one in gone:
        rests = have.rests if one.wanted in rested else ()
        keys = {share[:2] for share in one.shares} | rested.pop(one.wanted, set())
        plans = material_plans(listed, _still_lacking(listed, one.wanted, keys - done, have.amounts), rests)
        done |= keys
        made = [(plan, tube) for plan in plans for tube in plan.tubes]
        promises = [Promise(tube.item_id, tube.spot_id, tube.amount, job.fit_on) for _, tube in made]
        holds = holding.hold(act, things.spot(job.cart), promises)
        JobHold.objects.bulk_create(
            [
                JobHold(
                    hold=hold, job=job, pick_list_id=one.pick_list_id, wanted=one.hold.job_hold.wanted, line=one.line,
                    positions=[list(joint) for joint in tube.joints], tray=one.tray,
                )
                for hold, (_, tube) in zip(holds, made, strict=True)
            ]
        )  # fmt: skip
        lots = {row.item_id: row.lot_code for row in listed.standings}
        part, why = one.hold.item.part.number, broken[one.hold.pk]
        from_lot = one.hold.item.lot_code
        replaced += [
            {"part": part, "from_lot": from_lot, "to_lot": lots[tube.item_id], "amount": tube.amount, "why": why}
            for _, tube in made
        ]
        missing = sum(plan.missing for plan in plans)
        if missing:
            holding.raise_short(act, one.hold, missing, why)
            shorts.append({"part": part, "amount": missing, "base": "piece", "why": why})
    return replaced, shorts


def _rested(listed: JobList, promised: Sequence[Promised], have: Mapping[tuple[Key, str], int]) -> dict[str, set[Key]]:
    """Listed part → keys that what was promised served before, by its rest too, and that nothing serves now."""
    before = served(listed, [replace(one, use_by=None) for one in promised]).amounts
    lost: dict[str, set[Key]] = {one.wanted: set() for one in promised}
    for (key, part), amount in before.items():
        if have.get((key, part), 0) < amount:
            lost.setdefault(part, set()).add(key)
    return lost


def _still_lacking(
    listed: JobList, part: str, keys: Collection[Key], have: Mapping[tuple[Key, str], int]
) -> Iterator[ListLine]:
    """The part's lines with only those of the keys that nothing serves any more."""
    for line in listed.lines:
        rest = [
            (key, amount)
            for key, amount in zip(line.keys, line.amounts, strict=True)
            if line.part == part and key in keys and amount > have.get((key, part), 0)
        ]
        if rest:
            yield replace(line, keys=tuple(key for key, _ in rest), amounts=tuple(amount for _, amount in rest))


def hold_anew(
    act: Act, job: Job, gone: Sequence[JobPromise], broken: dict[int, str], margin: int, shut: Collection[int]
) -> tuple[list[Body], list[Body]]:
    """Other stock on the shelves for holds that were ended, piece by piece: what is held instead, and the shorts that were raised. The parts
    are locked. margin: days of life that must be left on the day of fitting; shut: parts that notices keep from this engine."""
    day = job.fit_day(shop_day(act.occurred_at))
    totals: Counter[int] = Counter()
    for one in gone:
        totals[one.hold.item.part_id] += one.hold.amount
    needs = [Need(str(part), part, total, day, job.number, margin) for part, total in totals.items()]
    at_hand = on_shelves(totals.keys() - {*shut}, job.site_id)
    rows = [row for row in at_hand if not row.tube_number]
    found = _for_each(gone, allocate(needs, [lot_of(row) for row in rows]).lines)
    labels = {(row.item_id, row.spot_id): row for row in rows}
    promises = [Promise(line.item_id, line.spot_id, units, job.fit_on) for _, line, units in found]
    holds = holding.hold(act, things.spot(job.cart), promises)
    replaced: list[Body] = []
    taken: dict[int, int] = {}
    extras = []
    for hold, (at, line, units) in zip(holds, found, strict=True):
        one = gone[at]
        shares = _shares(one, taken, units)
        extras.append(
            JobHold(
                hold=hold, job=job, pick_list_id=one.pick_list_id, wanted=one.hold.job_hold.wanted, positions=shares,
                on_approval=one.on_approval, tray=one.tray, line=one.line,
            )
        )  # fmt: skip
        replaced.append(
            {
                "part": one.hold.item.part.number,
                "from_lot": one.hold.item.lot_code,
                "to_lot": labels[line.item_id, line.spot_id].lot_code,
                "amount": units,
                "why": broken[one.hold.pk],
            }
        )
    JobHold.objects.bulk_create(extras)
    return replaced, _raise_shorts(act, gone, found, broken)


def _for_each(gone: Sequence[JobPromise], lines: Sequence[Line]) -> list[tuple[int, Line, int]]:
    """(index of the ended hold, line, units): what was allocated to the engine, part by part, given to the holds that it replaces, whole
    ones first."""
    supply: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for index, line in enumerate(lines):
        supply[int(line.need_key)].append((index, line.quantity))
    wanted: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for at, one in enumerate(gone):
        wanted[one.hold.item.part_id].append((str(at), one.hold.amount))
    given = [row for part, names in wanted.items() for row in by_position(names, supply[part])]
    return sorted(((int(name), lines[index], units) for name, index, units in given), key=lambda row: row[0])


def _shares(one: JobPromise, taken: dict[int, int], units: int) -> list[list[str | int]]:
    """The positions that these units serve: the next ones of the hold that was ended; a tube serves its joints whole."""
    if one.poured:
        return [list(share) for share in one.shares]
    start = taken.get(one.hold.pk, 0)
    taken[one.hold.pk] = start + units
    shares: list[list[str | int]] = []
    at = 0
    for position, make, amount in one.shares:
        low, high = max(at, start), min(at + amount, start + units)
        if low < high:
            shares.append([position, make, high - low])
        at += amount
    return shares


def _raise_shorts(
    act: Act, gone: Sequence[JobPromise], found: Sequence[tuple[int, Line, int]], broken: dict[int, str]
) -> list[Body]:
    covered: Counter[int] = Counter()
    for at, _, units in found:
        covered[at] += units
    shorts = []
    for at, one in enumerate(gone):
        lack = one.hold.amount - covered[at]
        if lack:
            holding.raise_short(act, one.hold, lack, broken[one.hold.pk])
            part = one.hold.item.part
            shorts.append({"part": part.number, "amount": lack, "base": part.base, "why": broken[one.hold.pk]})
    return shorts
