"""Incoming inspection: the sample plan of a part, and what a sample of a delivered lot was like."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Sum

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.inspections import Plan, check_plan, passes
from inventory.domain.items import Tracked
from inventory.domain.receiving import check_follows
from inventory.models import Act, Lot, LotInspection, Person, Receipt, SamplePlan, Stop, Supplier
from inventory.queries import inspections as read
from inventory.queries.catalogue import no_such_supplier
from inventory.queries.days import shop_day
from inventory.queries.deliveries import standing_lines
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.stopping import stop_now


def set_sample_plan(
    *, actor: Person, stamp: Stamp, part: str, sample: int, accept: int, supplier: str = "", checks: str = ""
) -> Done:
    """From now on so many pieces of each lot of the part that comes in are looked at, before it is released; the shop sets both numbers.

    supplier   for its lots only, "" for any; sample and accept 0: no inspection any more
    Outcome: {"plan", "part", "supplier", "sample", "accept", "checks"}.
    Raises DomainError "not-found", "part-unusable" (not traced by lot), "sample-unusable".
    """
    request = {"part": part, "sample": sample, "accept": accept, "supplier": supplier, "checks": checks}

    def work(act: Act) -> Body:
        found = things.parts_by_number([part])[part]
        if found.tracked_by != Tracked.LOT:
            raise DomainError("part-unusable", f"{part} is not traced by lot: no lot of it can be sampled.", part=part)
        check_plan(Plan(sample, accept))
        seller = Supplier.objects.filter(code=supplier).first() if supplier else None
        if supplier and seller is None:
            raise no_such_supplier(supplier)
        made = SamplePlan.objects.create(
            act=act, part=found, supplier=seller, sample=sample, accept=accept, checks=checks
        )
        return {"plan": made.pk, **request}

    return run("set sample plan", work, actor=actor, stamp=stamp, request=request, subject=part[:80])


def inspect_lot(
    *, actor: Person, stamp: Stamp, receipt: int, lot_id: int, sampled: int, bad: int, results: Sequence[str] = ()
) -> Done:
    """Record what a sample of one lot of a delivery was like. A lot that fails is stopped, all of it, wherever it lies.

    results   what was measured, as it is written down
    A lot that passes is still to be released, by somebody who neither received nor inspected it. A failed one is inspected again only
    when its stop was lifted, by another person.
    Outcome: {"inspection", "receipt", "part", "lot_id", "lot", "needed", "sampled", "bad", "accept", "passed", "stop": as `stop_lot`, or
    None}. Raises DomainError "not-found", "sample-plan-missing", "sample-unusable", "done-already", "stopped", "dates-turned".
    """
    request = {"receipt": receipt, "lot": lot_id, "sampled": sampled, "bad": bad, "results": list(results)}

    def work(act: Act) -> Body:
        lot = Lot.objects.select_related("part").filter(pk=lot_id).first()
        delivery = Receipt.objects.filter(pk=receipt, act__corrected_by__isnull=True).select_related("act").first()
        if lot is None or delivery is None:
            raise _no_such(receipt, lot_id)
        check_follows("It was inspected", shop_day(act.occurred_at), "it came", shop_day(delivery.act.occurred_at))
        delivered = standing_lines().filter(receipt=delivery, item__lot=lot).aggregate(total=Sum("amount"))["total"]
        if delivered is None:
            raise _no_such(receipt, lot_id)
        plan = read.plans_for([lot.part_id], delivery.supplier_id).get(lot.part_id)
        if plan is None:
            raise DomainError("sample-plan-missing", f"{lot.part.number} has no sample plan.", part=lot.part.number)
        locks.name("inspect lot", str(lot.pk))
        _refuse_again(delivery, lot)
        rule = Plan(plan.sample, plan.accept)
        good = passes(rule, delivered, sampled, bad)
        made = LotInspection.objects.create(
            act=act, receipt=delivery, lot=lot, plan=plan, sampled=sampled, bad=bad, results=list(results)
        )
        why = f"{bad} of {sampled} failed inspection, {plan.accept} are accepted"
        return {
            "inspection": made.pk,
            "receipt": receipt,
            "part": lot.part.number,
            "lot_id": lot.pk,
            "lot": lot.code,
            "needed": rule.needed(delivered),
            "sampled": sampled,
            "bad": bad,
            "accept": plan.accept,
            "passed": good,
            "stop": None if good else stop_now(act, lot, why),
        }

    return run("inspect lot", work, actor=actor, stamp=stamp, request=request)


def _no_such(receipt: int, lot_id: int) -> DomainError:
    return DomainError("not-found", f"Receipt {receipt} brought no lot {lot_id}.", receipt=receipt, lot=lot_id)


def _refuse_again(delivery: Receipt, lot: Lot) -> None:
    """A stopped lot is not inspected, nor one of which this delivery passed."""
    if Stop.objects.filter(lot=lot, freed__isnull=True).exists():
        raise DomainError("stopped", f"Lot {lot.code} of {lot.part.number} is stopped: free it first.", lot=lot.code)
    before = read.newest([(delivery.pk, lot.pk)]).get((delivery.pk, lot.pk))
    if before is not None and read.passed(before):
        raise DomainError(
            "done-already", f"Lot {lot.code} passed on {shop_day(before.act.occurred_at)}.", inspection=before.pk
        )
