"""Sample plans and what inspections of delivered lots found."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from inventory.domain.inspections import Plan
from inventory.models import LotInspection, SamplePlan
from inventory.queries.days import shop_day


def plans_for(part_ids: Collection[int], supplier_id: int) -> dict[int, SamplePlan]:
    """Part → the plan that its lots from a supplier are sampled by now: the supplier's own before the part's. One query.

    A plan that was ended (sample 0) lets the part's own count again where it was the supplier's, and is left out.
    """
    found: dict[tuple[int, bool], SamplePlan] = {}
    rows = SamplePlan.objects.filter(Q(supplier=None) | Q(supplier=supplier_id), part__in=part_ids)
    for row in rows.filter(act__corrected_by__isnull=True).order_by("pk"):
        found[row.part_id, row.supplier_id is not None] = row
    its: dict[int, SamplePlan] = {}
    for (part, _), row in sorted(found.items(), key=lambda one: one[0]):
        if row.sample:
            its[part] = row
    return its


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A sample plan; `supplier` is empty where it is for any."""

    plan: int
    part: str
    supplier: str
    sample: int
    accept: int
    checks: str
    entered_on: date
    by: str


@dataclass(frozen=True, slots=True)
class InspectionRow:
    """What was found in a sample of one lot of one delivery."""

    inspection: int
    receipt: int
    on: date
    by: str
    part: str
    lot_id: int
    lot: str
    sample: int
    accept: int
    sampled: int
    bad: int
    passed: bool
    results: tuple[str, ...]


def plans() -> QuerySet[SamplePlan]:
    """Plans that were not taken back, ended ones too."""
    return SamplePlan.objects.filter(act__corrected_by__isnull=True).select_related("act__actor", "part", "supplier")


def rendered_plans(rows: Iterable[SamplePlan]) -> list[PlanRow]:
    """Records. No query."""
    return [
        PlanRow(
            one.pk,
            one.part.number,
            one.supplier.code if one.supplier else "",
            one.sample,
            one.accept,
            one.checks,
            shop_day(one.act.occurred_at),
            one.act.actor.username,
        )
        for one in rows
    ]


def inspections() -> QuerySet[LotInspection]:
    """Inspections that were not taken back."""
    rows = LotInspection.objects.filter(act__corrected_by__isnull=True)
    return rows.select_related("act__actor", "lot__part", "plan")


def passed(one: LotInspection) -> bool:
    """Whether the lot passed by the plan it was inspected by."""
    return one.bad <= Plan(one.plan.sample, one.plan.accept).accept


def newest(pairs: Collection[tuple[int, int]]) -> dict[tuple[int, int], LotInspection]:
    """(receipt, lot) → its newest inspection. One query."""
    rows = inspections().filter(receipt__in={one for one, _ in pairs}, lot__in={lot for _, lot in pairs}).order_by("pk")
    return {(one.receipt_id, one.lot_id): one for one in rows}


def rendered_inspections(rows: Iterable[LotInspection]) -> list[InspectionRow]:
    """Records. No query."""
    return [
        InspectionRow(
            inspection=one.pk,
            receipt=one.receipt_id,
            on=shop_day(one.act.occurred_at),
            by=one.act.actor.username,
            part=one.lot.part.number,
            lot_id=one.lot_id,
            lot=one.lot.code,
            sample=one.plan.sample,
            accept=one.plan.accept,
            sampled=one.sampled,
            bad=one.bad,
            passed=passed(one),
            results=tuple(one.results),
        )
        for one in rows
    ]
