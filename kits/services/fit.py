"""Fitting: bench to use position, with everything that must be right before a part may go in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict

from inventory.domain.errors import DomainError
from inventory.domain.items import Tracked
from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, Part, Person, Serial
from inventory.queries.days import shop_day
from inventory.services import things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.requirements import Key
from kits.domain.standing_verdicts import SET_KIND
from kits.models import Fitting, Job, JobChoice
from kits.queries.documents import family_of
from kits.queries.mixing import mixed_on_job
from kits.queries.reuse import procedures_of
from kits.queries.scope import scope_of
from kits.queries.standing_verdicts import LeftOut, sets_that_fail
from kits.services.checking import must_be_checker
from kits.services.fills import refuse_overfill, stale_contents
from kits.services.fit_facts import Facts, facts_of
from kits.services.fit_facts import FitIn as FitIn
from kits.services.fit_rules import check
from kits.services.hold_rules import refuse_going_alone
from kits.services.judged_rules import doubt_of, must_sign
from kits.services.layout_rules import refuse_under_layout
from kits.services.shared import check_positions, open_job, touch
from kits.services.substitute_rules import instead_of, refuse_fitting
from kits.services.verdict_rules import refuse_sets_that_fail


def set_bores(*, actor: Person, stamp: Stamp, job: str, bores: Mapping[str, str], reason: str) -> Done:
    """Say which set goes into which bore (use position → serial); fitting refuses anything else from then on.

    A new word for a bore or a set replaces the earlier one; it needs its reason. Outcome: {"bores": {...}}. A place into which no
    procedure of the family puts a matched set is "no-bore".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "Which set goes where needs its reason: the gauging, or who decided.")
        row = open_job(job)
        check_positions(row, sorted(bores))
        refuse_under_layout(row, bores)
        if len(set(bores.values())) < len(bores):
            raise DomainError("set-twice", "One set was given to two bores.", bores=dict(bores))
        _check_bores(row, bores)
        named = Serial.objects.filter(number__in=bores.values(), part__tracked_by=Tracked.SET)
        sets = dict(named.values_list("pk", "number"))
        unknown = sorted(set(bores.values()) - set(sets.values()))
        if unknown:
            raise DomainError("not-found", f"No set has the serial {unknown[0]}.", serials=unknown)
        why = sets_that_fail(family_of(row.family_revision), sets, row.number)
        refuse_sets_that_fail(LeftOut(serial, "", why[serial]) for serial in sorted(why))
        JobChoice.objects.bulk_create(
            [
                JobChoice(job=row, act=act, choice=JobChoice.BORE, place=position, alternative=serial, reason=reason)
                for position, serial in sorted(bores.items())
            ]
        )
        touch(row)
        return {"bores": dict(sorted(bores.items()))}

    return run(
        "set bores", work, actor=actor, stamp=stamp, request={"job": job, "bores": dict(bores), "reason": reason},
        subject=job, reason=reason,
    )  # fmt: skip


def _check_bores(job: Job, bores: Mapping[str, str]) -> None:
    """DomainError "no-bore" names a place that takes no matched set, by every procedure of the family."""
    lines = [line for operation in procedures_of(scope_of(job)) for line in operation.lines]
    asked = {line.part for line in lines if not bores.keys().isdisjoint(line.positions)}
    sets = set(Part.objects.filter(number__in=asked, tracked_by=Tracked.SET).values_list("number", flat=True))
    takes = {position for line in lines if line.part in sets for position in line.positions}
    strange = sorted(bores.keys() - takes)
    if strange:
        raise DomainError("no-bore", f"No matched set goes into {strange[0]}.", positions=strange)


def fit(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    fittings: Sequence[FitIn],
    checker: Person | None = None,
    early_fill: str = "",
    otherwise: str = "",
) -> Done:
    """Fit parts from the job's bench into the engine.

    checker     the second person; needed for sets and bearings, never the fitter, and with the right to check
    early_fill  why oil or coolant goes in before the sealant has cured by its sheet; the checker signs it
    otherwise   why a liner goes in otherwise than its height was judged; the checker signs it, and may let a height be

    Raises ManyErrors; each line with the first rule that says no: "position-unknown", "stopped-by-maker", "not-on-list", "wrong-part",
    "wrong-bore", "size-forbids", "layout-stale", "wrong-turn", "shim-missing", "verdict-fails", "verdict-stale", "not-as-judged", "set-put-aside", "ring-leaked", "choice-open",
    "list-not-ready", "more-than-listed", "tube-not-opened", "half-a-set", "set-broken", "match-stale", "lot-stopped", "expired",
    "not-for-engine", "not-inspected", "not-reusable", "wrong-rubber", "wrong-lubricant", "lubricant-unknown", "always-new", "wrong-place-of-origin",
    "position-lost", "mark-differs", "bedded-to-another", "position-taken", "checker-missing", "leak-test-missing",
    "photo-check-missing", "height-undecided", "gate-missing", "filled-early", "not-there"; "same-person", "may-not-check", "not-on-duty", "not-signed",
    "mixed", "companion-missing", "substitute-not-agreed" for the whole act.
    An old part without the mark that it was or is to be fitted by goes in, and is kept as doubtful.
    Fills of one make add up, up to one and a half times the book without a word ("fill-over-book"). Sealant and fluids that are fitted
    over older ones, or for a new make: the old content is scrapped in the same act (it was cleaned off).
    Outcome: {"fitted": [{position, item, part, lot, serial, amount, make, reused, instead_of: the listed part it
    stands in for, lubricant, doubtful}], "cleaned_off": [...]}.
    """

    def work(act: Act) -> Body:
        if not fittings:
            raise DomainError("nothing-given", "Nothing was fitted.")
        if checker is not None and checker.pk == actor.pk:
            raise DomainError("same-person", "Fitter and checker are two people.", person=str(actor))
        if early_fill and checker is None:
            raise DomainError("not-signed", "A fill before the sealant has cured is signed by a second person.")
        must_sign(checker, otherwise)
        row = open_job(job)
        if checker is not None:
            must_be_checker(row.site, checker, shop_day(act.occurred_at))
        check_positions(row, [one.position for one in fittings])
        facts = facts_of(
            act, row, fittings, early_fill=bool(early_fill.strip()), signed_otherwise=bool(otherwise.strip())
        )
        check(act, facts, fittings, checker)
        clash = mixed_on_job(facts.listed, {one.position: facts.items[one.item].part.number for one in fittings})
        if clash:
            raise DomainError("mixed", "; ".join(one["why"] for one in clash), conflicts=clash)
        refuse_going_alone(facts.listed, {facts.items[one.item].part_id for one in fittings})
        new = [one for at, one in enumerate(fittings) if at not in facts.reused]
        instead = instead_of(facts.listed, ((one.key, facts.items[one.item].part.number) for one in new))
        refuse_fitting(facts.listed, instead, shop_day(act.occurred_at))
        stale = stale_contents(facts, fittings)
        refuse_overfill(facts, fittings, stale)
        body = _write(act, facts, fittings, stale, instead, actor, checker, otherwise)
        touch(row)
        return body

    request = {
        "job": job, "fittings": [asdict(one) for one in fittings], "checker": checker.pk if checker else None,
        "early_fill": early_fill, "otherwise": otherwise,
    }  # fmt: skip
    return run(
        "fit",
        work,
        actor=actor,
        stamp=stamp,
        request=request,
        subject=job,
        reason="; ".join(one for one in (early_fill, otherwise) if one),
    )


def _write(
    act: Act,
    facts: Facts,
    fittings: Sequence[FitIn],
    stale: Sequence[Balance],
    instead: Mapping[tuple[Key, str], str],
    actor: Person,
    checker: Person | None,
    otherwise: str,
) -> Body:
    spots = things.spots(facts.job.engine.place, [one.position for one in fittings])
    bench = things.spot(facts.job.bench)
    scrap = things.books_only(PlaceKind.SCRAP)
    fitted, cleaned, moves, rows = [], [], [], []
    for old in stale:
        position = old.spot.name
        moves.append(Move(old.item, old.amount, spots[position], scrap))
        cleaned.append({"position": position, "part": old.item.part.number, "item": old.item_id, "amount": old.amount})
    for at, one in enumerate(fittings):
        item = facts.items[one.item]
        moves.append(Move(item, one.amount, bench, spots[one.position]))
        reused = at in facts.reused
        lubricant = facts.lubricants.get(one.lubricant)
        said = lubricant.value if lubricant else ""
        doubtful = "; ".join((*facts.doubts.get(one, ()), *doubt_of(facts.otherwise, one.position, otherwise)))
        listed = "" if reused else instead.get((one.key, item.part.number), "")
        rows.append(
            Fitting(
                job=facts.job, act=act, item=item, spot=spots[one.position], amount=one.amount, make=one.make, reused=reused,
                instead_of=facts.listed.parts[listed] if listed else None, lubricant=said,
                clock_deg=one.clock_deg if reused or item.part.kind == SET_KIND else None, side=one.side if reused else "", doubtful=doubtful,
                fitter=actor, checker=checker,
            )
        )  # fmt: skip
        fitted.append(
            {
                "position": one.position,
                "item": item.pk,
                "part": item.part.number,
                "lot": item.lot_code,
                "serial": item.serial_number,
                "amount": one.amount,
                "make": one.make,
                "reused": reused,
                "instead_of": listed,
                "lubricant": said,
                "doubtful": doubtful,
            }
        )
    post(act, moves)
    Fitting.objects.bulk_create(rows)
    return {"fitted": fitted, "cleaned_off": cleaned}
