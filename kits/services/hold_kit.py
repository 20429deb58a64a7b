"""Holding a kit for a job: the list is computed after the locks, allocated to real lots, sets and tubes, and frozen as a pick list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Item, Lot, Person, Serial
from inventory.queries.catalogue import no_such
from inventory.queries.days import shop_day
from inventory.queries.replacements import joined_parts
from inventory.services.run import Body, Done, Stamp, run
from kits.queries.job_list import JobList, list_basis, list_on
from kits.services.hold_list import hold_listed
from kits.services.shared import check_steps, lock_engine, open_job
from kits.services.verdict_rules import refuse_sets_that_fail


def hold_kit(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    steps: Sequence[str] = (),
    until: date | None = None,
    lots: Mapping[str, Sequence[str]] | None = None,
    lots_reason: str = "",
) -> Done:
    """Hold everything of the job's list that is not held, picked or fitted yet, as far as the shelves have it.

    steps   only these, as "procedure/step"; empty: the whole list
    until   past this day the holds have lapsed: listed, not freed by themselves
    lots    part number → lot codes, serials or "item N" that a person wants instead of the first to expire, with `lots_reason`

    Refused ("list-not-ready") while a conflict waits for a person, ("over-limit") for parts of extra work that come to more than
    the owner agreed to, ("substitute-not-agreed") where the engine is under class or inside its term and its owner did not agree to what
    would be held instead of a listed part, ("stopped-by-maker") for parts of a revision that a maker's bulletin stops, ("companion-missing") where a part would go without what its replacement notice says goes with it.
    A step that no procedure of the job has is "step-not-on-job", a last day that is past "dates-turned".
    A named lot, serial or item that no record has is "not-found"; one that is not on the shelf is short.
    Never refused for quantity: what is missing is named in `shorts`, each with the jobs that hold of it what would have served (`held_by`). Where nothing at all can be held there is nothing to pick: no pick list is made, `pick_list` and `number` are None.
    Outcome: {"pick_list", "number", "held": [...], "shorts": [...], "open_choices", "buy_in", "tools", "cart"}; tools and cart are of what
    this list holds or misses.
    """
    named = {part: sorted(codes) for part, codes in (lots or {}).items()}
    request = {"job": job, "steps": sorted(steps), "until": until, "lots": named, "lots_reason": lots_reason}

    def work(act: Act) -> Body:
        if named and not lots_reason.strip():
            raise DomainError("reason-missing", "Naming a lot instead of the first to expire needs its reason.")
        row = open_job(job)
        if until is not None and until < shop_day(act.occurred_at):
            raise DomainError(
                "dates-turned",
                f"Held until {until}: that day is past.",
                until=str(until),
                on=str(shop_day(act.occurred_at)),
            )
        basis = list_basis(row)
        check_steps(basis.scope, steps, "Leave them out: then the whole list is held.")
        # What comes in by a replacement gets scarcer too. The stock itself is read after the locks.
        wanted = {part.pk for part in basis.parts.values()}
        joined = joined_parts(wanted)
        lock_engine(row)
        locks.scarcer((part_id, row.site_id) for part_id in wanted | joined)
        return hold_listed(
            act, row, _only_named(list_on(basis, shop_day(act.occurred_at)), named), set(steps), until, joined
        )

    return run("hold", work, actor=actor, stamp=stamp, request=request, subject=job, reason=lots_reason)


def _only_named(listed: JobList, named: Mapping[str, Sequence[str]]) -> JobList:
    """The list with, of each part whose lot was named, nothing else on the shelf."""
    strange = sorted(set(named) - listed.parts.keys())
    if strange:
        raise DomainError("not-on-list", f"{strange[0]} is not on the list.", parts=strange)
    _refuse_unknown(listed, named)
    refuse_sets_that_fail(one for one in listed.sorted_out if one.serial in named.get(one.part, ()))
    wanted = {listed.parts[part].pk: set(codes) for part, codes in named.items()}
    kept = tuple(
        row
        for row in listed.standings
        if row.part_id not in wanted or wanted[row.part_id] & {row.lot_code, row.serial, f"item {row.item_id}"}
    )
    return replace(listed, standings=kept)


def _refuse_unknown(listed: JobList, named: Mapping[str, Sequence[str]]) -> None:
    """DomainError "not-found" names a lot or serial that the part never had, with those that are near."""
    for part, codes in sorted(named.items()):
        its = listed.parts[part]
        known = {
            *Lot.objects.filter(part=its).values_list("code", flat=True),
            *Serial.objects.filter(part=its).values_list("number", flat=True),
        }
        items = {f"item {pk}" for pk in Item.objects.filter(part=its).values_list("pk", flat=True)}
        for code in codes:
            if code not in known | items:
                raise no_such(f"lot or serial of {part}", code, known, value="lot")
