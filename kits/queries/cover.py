"""The cheapest way to serve what a job's list still lacks from the shelves of its site: by closed kits, packs and single parts."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from typing import Any

from inventory.domain.cover import Offer, cheapest_cover
from inventory.domain.errors import DomainError
from inventory.domain.money import format_money
from inventory.domain.shelf_life import usable_on
from inventory.models import Item, KitContent, KitRevision, Part
from inventory.queries.kits import flattened
from inventory.queries.stock import Standing, on_shelves
from kits.models import Job
from kits.queries.extra_work import prices_of
from kits.queries.job_list import JobList, free_for, job_list
from kits.queries.served import served


def cover_of(job: Job, values: Mapping[str, int], on: date) -> dict[str, Any]:
    """What to take for the pieces of the list that are not at the cart yet, at catalogue prices, so that it costs least.

    on       the day asked about: stock is judged on the day of fitting, or on this one once that has passed
    values   what one left-over piece is worth, coins, by part number; at most what it costs loose; not named: nothing
    {"job", "complete", "missing": {part: pieces}, "take": [{what, kit, revision, times, each_coins, holds}], "left": [{part,
    pieces, worth_coins}], "cost_coins", "left_coins", "loose_coins", "without_price"}. `missing` is what no kit and no shelf has;
    the rest is covered. `loose_coins` is what single parts alone would cost, None if they do not suffice. A kit without a
    price is not taken; a part without one counts as nothing. Errors: `leftover-worth-wrong`, `cover-too-large`.
    """
    listed = job_list(job, on)
    needs = _needs(listed)
    free = free_for(listed.fit_day, listed.shop, listed.parts, listed.standings)
    prices = prices_of(part for number, part in listed.parts.items() if number in needs)
    each = {number: prices[number].coins or 0 for number in needs}
    _check_worth(values, each)
    kits, dear = _kits_on_shelves(listed, set(needs))
    singles = [_single(listed.parts[number], each[number], free.get(number, 0)) for number in sorted(needs)]
    missing = _missing(needs, [*(offer for offer, _ in kits), *singles])
    needs = {number: pieces - missing.get(number, 0) for number, pieces in needs.items()}
    cover = cheapest_cover(
        needs, [*(offer for offer, _ in kits), *singles], {number: Fraction(coins) for number, coins in values.items()}
    )
    known: dict[str, tuple[Offer, int | None]] = {one.code: (one, None) for one in singles}
    known |= {offer.code: (offer, revision) for offer, revision in kits}
    return {
        "job": job.number,
        "complete": not missing,
        "missing": missing,
        "take": [_taken(known[code], times) for code, times in cover.taken],
        "left": [
            {"part": number, "pieces": pieces, "worth_coins": values.get(number, 0)} for number, pieces in cover.left
        ],
        "cost_coins": cover.cost_coins,
        "left_coins": int(cover.left_coins),
        "loose_coins": _loose(needs, singles),
        "without_price": sorted([number for number in needs if prices[number].coins is None] + dear),
    }


def _needs(listed: JobList) -> dict[str, int]:
    """Part → pieces of the list that nothing serves yet; what is poured is not covered by kits."""
    have = served(listed).amounts
    needs: dict[str, int] = defaultdict(int)
    for line in listed.lines:
        if line.base == "piece":
            for key, amount in zip(line.keys, line.amounts, strict=True):
                needs[line.part] += max(amount - have.get((key, line.part), 0), 0)
    return {number: pieces for number, pieces in needs.items() if pieces}


def _check_worth(values: Mapping[str, int], each: Mapping[str, int]) -> None:
    for number, coins in values.items():
        most = each.get(number)
        if most is None or coins > most:
            raise DomainError(
                "leftover-worth-wrong",
                f"{number} is not on what the job still lacks."
                if most is None
                else f"A left-over {number} is worth {format_money(most)} at most, what it costs loose.",
                part=number,
                coins=coins,
            )


def _single(part: Part, coins: int, free: int) -> Offer:
    """Loose pieces one by one, or the whole pack where the pack may not be split."""
    size = 1 if part.loose_issue else part.pack
    return Offer(part.number, coins * size, {part.number: size}, free // size)


def _kits_on_shelves(listed: JobList, wanted: set[str]) -> tuple[list[tuple[Offer, int]], list[str]]:
    """Closed kits at the site that are good on the day of fitting, by revision of their contents; and kits without a price."""
    inside = _holding(wanted)
    rows = [row for row in on_shelves(inside, listed.job.site_id) if row.free and _good(listed, row)]
    newest = dict(KitRevision.objects.filter(kit__in=inside).order_by("revision").values_list("kit", "pk"))
    said = dict(
        Item.objects.filter(pk__in=[row.item_id for row in rows], lot__kit_revision__isnull=False).values_list(
            "pk", "lot__kit_revision"
        )
    )
    boxes: Counter[tuple[int, int]] = Counter()
    for row in rows:
        boxes[row.part_id, said.get(row.item_id, newest[row.part_id])] += row.free
    parts = Part.objects.in_bulk({kit for kit, _ in boxes})
    numbers = dict(KitRevision.objects.filter(pk__in=[pk for _, pk in boxes]).values_list("pk", "revision"))
    contents = flattened([revision for _, revision in boxes])
    prices = prices_of(parts.values())
    offers, dear = [], set()
    for (kit, revision), free in sorted(boxes.items()):
        number = parts[kit].number
        coins = prices[number].coins
        if coins is None:
            dear.add(number)
        elif contents[revision].keys() & wanted:
            code = f"{number}, contents {numbers[revision]}"
            offers.append((Offer(code, coins, contents[revision], free), numbers[revision]))
    return offers, sorted(dear)


def _holding(wanted: set[str]) -> set[int]:
    """Ids of the kits in which one of the parts is, at any depth. One query a level."""
    kits: set[int] = set()
    found = set(KitContent.objects.filter(part__number__in=wanted).values_list("revision__kit", flat=True))
    while found - kits:
        kits |= found
        found = set(KitContent.objects.filter(part__in=kits).values_list("revision__kit", flat=True))
    return kits


def _good(listed: JobList, row: Standing) -> bool:
    return not row.stopped and usable_on(row.use_by, listed.fit_day, listed.shop.margin_days)


def _missing(needs: Mapping[str, int], offers: list[Offer]) -> dict[str, int]:
    there: Counter[str] = Counter()
    for offer in offers:
        for number, pieces in offer.contents.items():
            there[number] += pieces * offer.available
    return {number: pieces - there[number] for number, pieces in sorted(needs.items()) if pieces > there[number]}


def _loose(needs: Mapping[str, int], singles: list[Offer]) -> int | None:
    return None if _missing(needs, singles) else cheapest_cover(needs, singles).cost_coins


def _taken(known: tuple[Offer, int | None], times: int) -> dict[str, Any]:
    offer, revision = known
    kit = revision is not None
    return {
        "what": offer.code.rpartition(", contents ")[0] if kit else offer.code,
        "kit": kit,
        "revision": revision,
        "times": times,
        "each_coins": offer.price_coins,
        "holds": dict(sorted(offer.contents.items())),
    }
