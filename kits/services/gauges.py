"""The register of gauges: entered, held against a master, studied, withdrawn. Every row is added, none is changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.quantities import base_unit_name, read_amount
from inventory.domain.units import Dimension
from inventory.models import Act, Person, Site
from inventory.queries.days import shop_day
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.gauge_study import RULE, Study, StudyRow, percent, root_text, study
from kits.domain.gauges import check_dates, difference, read_gauge
from kits.models import Calibration, Gauge, GaugeStudy, GaugeWithdrawal
from kits.queries.gauges import gauge as gauge_of_number


@dataclass(frozen=True, slots=True)
class GaugeIn:
    """A gauge for the register. Amounts as typed, with their units; `uncertainty` is the standard one (1 sigma).

    measures       length, mass, angle, temperature, torque, pressure
    expansion_ppm  thermal expansion per kelvin as an exact decimal, "11.5"; empty: unknown
    """

    number: str
    name: str
    kind: str
    measures: str
    low: str
    high: str
    resolution: str
    uncertainty: str
    site: str
    expansion_ppm: str = ""


def enter_gauge(*, actor: Person, stamp: Stamp, gauge: GaugeIn) -> Done:
    """Enter a gauge in the register; it is not in date before its first calibration. Outcome: {"gauge", "state"}.

    Raises DomainError "gauge-known", "gauge-unusable", "nothing-given" (no number, name or kind), "not-found" (site), and those of
    amounts.
    """

    def work(act: Act) -> Body:
        for name in ("number", "name", "kind"):
            if not getattr(gauge, name).strip():
                raise DomainError("nothing-given", f"A gauge has {a(name)}.", field=name)
        facts = read_gauge(
            gauge.measures, gauge.low, gauge.high, gauge.resolution, gauge.uncertainty, gauge.expansion_ppm
        )
        site = Site.objects.filter(code=gauge.site).first()
        if site is None:
            raise DomainError("not-found", f"There is no site {gauge.site}.", site=gauge.site)
        locks.name("gauge", gauge.number)
        if Gauge.objects.filter(number=gauge.number).exists():
            raise DomainError("gauge-known", f"Gauge {gauge.number} is on the register.", gauge=gauge.number)
        Gauge.objects.create(
            number=gauge.number,
            name=gauge.name,
            kind=gauge.kind,
            measures=facts.measures,
            low=facts.low,
            high=facts.high,
            resolution=facts.resolution,
            uncertainty=facts.uncertainty,
            typed={name: getattr(gauge, name) for name in ("low", "high", "resolution", "uncertainty")},
            expansion_ppm=facts.expansion_ppm,
            site=site,
            act=act,
        )
        return {"gauge": gauge.number, "state": "never calibrated"}

    return run("enter gauge", work, actor=actor, stamp=stamp, request=asdict(gauge), subject=gauge.number)


@dataclass(frozen=True, slots=True)
class CalibrationIn:
    """A calibration. `uncertainty` as typed takes the place of the register's; empty: that stays."""

    done_on: date
    next_due: date
    master: str
    done_by: str
    passed: bool = True
    uncertainty: str = ""
    result: str = ""
    certificate: str = ""


def record_calibration(*, actor: Person, stamp: Stamp, gauge: str, calibration: CalibrationIn) -> Done:
    """Record that a gauge was held against a master. Outcome: {"gauge", "calibration", "done_on", "next_due", "passed"}.

    Raises DomainError "not-found", "gauge-withdrawn", "from-the-future", "dates-turned", "nothing-given" (no master, or nobody who
    did it), "gauge-unusable" (an uncertainty of nothing), and those of amounts.
    """

    def work(act: Act) -> Body:
        row = _standing_gauge(gauge)
        for name in ("master", "done_by"):
            if not getattr(calibration, name).strip():
                raise DomainError("nothing-given", f"A calibration says its {name}.", field=name)
        check_dates(calibration.done_on, calibration.next_due, shop_day(act.occurred_at))
        found = difference(calibration.uncertainty, Dimension(row.measures)) if calibration.uncertainty else None
        if found is not None and found <= 0:
            raise DomainError("gauge-unusable", "An uncertainty is above zero.", field="uncertainty")
        made = Calibration.objects.create(
            gauge=row,
            act=act,
            uncertainty=found,
            uncertainty_typed=calibration.uncertainty,
            **{name: value for name, value in asdict(calibration).items() if name != "uncertainty"},
        )
        return {
            "gauge": gauge,
            "calibration": made.pk,
            "done_on": made.done_on,
            "next_due": made.next_due,
            "passed": made.passed,
        }

    request = {"gauge": gauge, **asdict(calibration)}
    return run("record calibration", work, actor=actor, stamp=stamp, request=request, subject=gauge)


def withdraw_gauge(*, actor: Person, stamp: Stamp, gauge: str, reason: str) -> Done:
    """The gauge is lost, damaged or worn out: from that day on it supports nothing. Outcome: {"gauge", "reason"}.

    Raises DomainError "not-found", "gauge-withdrawn", "reason-missing".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", f"Why is gauge {gauge} withdrawn?")
        GaugeWithdrawal.objects.create(gauge=_standing_gauge(gauge), act=act, reason=reason)
        return {"gauge": gauge, "reason": reason}

    request = {"gauge": gauge, "reason": reason}
    return run("withdraw gauge", work, actor=actor, stamp=stamp, request=request, subject=gauge, reason=reason)


def _standing_gauge(number: str) -> Gauge:
    """The gauge, locked; DomainError "not-found", "gauge-withdrawn"."""
    locks.row("kits_gauge", [gauge_of_number(number).pk])
    row = gauge_of_number(number)
    end = getattr(row, "withdrawal", None)
    if end is not None:
        raise DomainError("gauge-withdrawn", f"Gauge {number} was withdrawn: {end.reason}", gauge=number)
    return row


@dataclass(frozen=True, slots=True)
class StudyIn:
    """One reading of a study: which part, by whom, the how-manyeth time from 1, the value with its unit."""

    part: str
    operator: str
    repeat: int
    value: str


def study_gauge(*, actor: Person, stamp: Stamp, gauge: str, readings: Sequence[StudyIn], tolerance: str = "") -> Done:
    """Keep a repeatability study of a gauge: several people read several parts several times, everybody every part equally often.

    tolerance   upper less lower limit of what the gauge is used for, as typed; empty: only the share of the study is said
    Outcome: the study's document: {"gauge", "study", "rule", "verdict", "percent_of_study", "percent_of_tolerance", "categories",
    "below_zero", "mean_squares", "variances", "sigmas", …}; squared base units, fractions as text.
    Raises "not-found", "gauge-withdrawn", ManyErrors of amounts, "study-unusable", "study-unbalanced".
    """

    def work(act: Act) -> Body:
        row = _standing_gauge(gauge)
        dimension = Dimension(row.measures)
        rows = _study_rows(readings, dimension)
        allowed = difference(tolerance, dimension) if tolerance else None
        document = {
            "base": base_unit_name(dimension),
            "tolerance": tolerance,
            "readings": [asdict(one) for one in readings],
            **_in_words(study(rows, allowed)),
        }
        made = GaugeStudy.objects.create(gauge=row, act=act, document=document)
        said = {name: value for name, value in document.items() if name != "readings"}
        return {"gauge": gauge, "study": made.pk, **said}

    request = {"gauge": gauge, "readings": [asdict(one) for one in readings], "tolerance": tolerance}
    return run("study gauge", work, actor=actor, stamp=stamp, request=request, subject=gauge)


def _study_rows(readings: Sequence[StudyIn], dimension: Dimension) -> list[StudyRow]:
    rows, errors = [], []
    for number, one in enumerate(readings, 1):
        try:
            value = read_amount(one.value, dimension, allow_negative=True).amount
            rows.append(StudyRow(one.part, one.operator, one.repeat, value))
        except DomainError as error:
            errors.append((number, error))
    if errors:
        raise ManyErrors(tuple(errors))
    return rows


def _in_words(found: Study) -> dict[str, Any]:
    """A study as its document keeps it: exact fractions as text, roots and shares as decimals."""
    share = found.of_tolerance
    return {
        "rule": RULE,
        "parts": found.parts,
        "operators": found.operators,
        "repeats": found.repeats,
        "mean_squares": {name: str(value) for name, value in found.mean_squares.items()},
        "variances": {name: str(value) for name, value in found.variances.items()},
        "sigmas": {name: root_text(value, 3) for name, value in found.variances.items()},
        "below_zero": list(found.below_zero),
        "percent_of_study": percent(found.of_study),
        "percent_of_tolerance": None if share is None else percent(share),
        "categories": found.categories,
        "verdict": found.verdict,
    }
