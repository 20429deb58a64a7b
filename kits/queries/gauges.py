"""The register of gauges to be read: what each is, how it stands on a day, what was found by calibrations and studies."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Prefetch, QuerySet

from inventory.domain.errors import DomainError
from inventory.domain.quantities import base_unit_name
from inventory.domain.text import shown
from inventory.queries.catalogue import likely_numbers, near_in_words
from inventory.queries.days import shop_day
from kits.domain.gauges import MEASURES, Calibrated, Standing, standing
from kits.models import Calibration, Gauge, GaugeStudy

MEASURED = [one.value for one in MEASURES]


def gauges() -> QuerySet[Gauge]:
    """All gauges, each with its site, its calibrations in the order in which they were entered, and its end. Two queries."""
    entered = Calibration.objects.select_related("act__actor").order_by("pk")
    return Gauge.objects.select_related("site", "withdrawal__act").prefetch_related(Prefetch("calibrations", entered))


def gauges_by_number(numbers: Iterable[str]) -> dict[str, Gauge]:
    """Gauges of these numbers, as `gauges` gives them; unknown numbers are left out."""
    return {row.number: row for row in gauges().filter(number__in=set(numbers))}


def gauge(number: str) -> Gauge:
    """One gauge; DomainError "not-found" with near misses."""
    found = gauges().filter(number=number).first()
    if found is None:
        raise no_such_gauge(number)
    return found


def no_such_gauge(number: str) -> DomainError:
    """The refusal "not-found" of a gauge's number, with what was probably meant. One query."""
    near = likely_numbers(number, Gauge.objects.values_list("number", flat=True))
    said = f"There is no gauge {shown(number)}.{near_in_words(near)}"
    return DomainError("not-found", said, gauge=shown(number), near=near)


def standing_on(row: Gauge, day: date) -> Standing:
    """How a gauge that was read by `gauges` stands on a day. No query."""
    calibrations = [
        Calibrated(one.done_on, one.next_due, one.passed, one.uncertainty) for one in row.calibrations.all()
    ]
    end = getattr(row, "withdrawal", None)
    return standing(row.uncertainty, calibrations, day, shop_day(end.act.occurred_at) if end is not None else None)


def record(row: Gauge, day: date) -> dict[str, Any]:
    """The record of a gauge as it stands on a day, JSON-ready."""
    its = standing_on(row, day)
    return {
        "number": row.number,
        "name": row.name,
        "kind": row.kind,
        "measures": row.measures,
        "base": base_unit_name(row.measures),
        "low": row.low,
        "high": row.high,
        "resolution": row.resolution,
        "uncertainty": its.uncertainty,
        "typed": row.typed,
        "expansion_ppm": row.expansion_ppm,
        "site": row.site.code,
        "state": its.state,
        "next_due": its.next_due,
    }


def full_record(row: Gauge, day: date) -> dict[str, Any]:
    """A gauge with its calibrations, its newest study and its end. One query more than `gauge`."""
    newest = GaugeStudy.objects.filter(gauge=row).select_related("act__actor").order_by("-pk").first()
    end = getattr(row, "withdrawal", None)
    return {
        **record(row, day),
        "calibrations": [calibration(one) for one in reversed(row.calibrations.all())],
        "study": None
        if newest is None
        else {"id": newest.pk, "at": newest.act.occurred_at, "by": newest.act.actor.username, **newest.document},
        "withdrawn": None if end is None else {"at": end.act.occurred_at, "reason": end.reason},
    }


def calibration(row: Calibration) -> dict[str, Any]:
    """One calibration, JSON-ready."""
    return {
        "id": row.pk,
        "done_on": row.done_on,
        "next_due": row.next_due,
        "passed": row.passed,
        "master": row.master,
        "done_by": row.done_by,
        "uncertainty": row.uncertainty,
        "uncertainty_typed": row.uncertainty_typed,
        "result": row.result,
        "certificate": row.certificate,
        "entered_by": row.act.actor.username,
    }
