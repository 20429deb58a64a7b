"""Gauges and readings for tests, through the real services. Nothing of the demo shop is in it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from kits.services.gauges import CalibrationIn, GaugeIn, enter_gauge, record_calibration
from kits.services.protrusions import judge_protrusion
from kits.services.readings import ReadingIn, record_readings
from tests.factories.stores import PersonFactory, site, stamp

#: Around the day of the tests' acts, 2025-01-15.
DONE, DUE = date(2024, 7, 1), date(2025, 6, 30)
PAST = date(2025, 1, 14)
DRY: dict[str, Any] = {"clean": True, "clamped": True, "without_rubber": True}


def gauge_in(number: str = "G-1", **more: Any) -> GaugeIn:
    """A depth gauge to 150 mm, u = 3 µm."""
    given = {
        "name": "depth gauge", "kind": "depth gauge", "measures": "length", "low": "0 mm", "high": "150 mm",
        "resolution": "0.001 mm", "uncertainty": "0.003 mm", "site": site().code, "expansion_ppm": "11.5",
    } | more  # fmt: skip
    return GaugeIn(number=number, **given)


def gauge(number: str = "G-1", *, due: date | None = DUE, **more: Any) -> str:
    """A gauge on the register, calibrated once unless `due` is None; its number."""
    enter_gauge(actor=PersonFactory(), stamp=stamp(), gauge=gauge_in(number, **more))
    if due is not None:
        calibrated(number, due)
    return number


def scales(number: str = "W-1", **more: Any) -> str:
    """Scales to 3 kg."""
    return gauge(
        number, name="scales", kind="scales", measures="mass", low="0 g", high="3 kg", resolution="0.1 g", uncertainty="0.1 g",
        expansion_ppm="", **more,
    )  # fmt: skip


def calibrated(number: str, due: date = DUE, done_on: date = DONE, **more: Any) -> None:
    """A calibration of a gauge."""
    calibration = CalibrationIn(done_on, due, "M-1", "the laboratory", **more)
    record_calibration(actor=PersonFactory(), stamp=stamp(), gauge=number, calibration=calibration)


def read(job: str, *readings: ReadingIn, **more: Any) -> dict[str, Any]:
    """Record readings; the outcome."""
    return record_readings(actor=PersonFactory(), stamp=more.pop("stamp", stamp()), job=job, readings=readings).body


def round_set(serial: str, *values_um: int, **more: Any) -> list[ReadingIn]:
    """The height of a set's liner at 12, 3, 6 and 9 o'clock, micrometres above 93 mm, dry and clean, with gauge G-1."""
    return _round("liner-height", values_um, {"set": serial} | more)


def round_bore(place: str, *values_um: int, **more: Any) -> list[ReadingIn]:
    """The depth of a bore, likewise."""
    return _round("block-depth", values_um, {"place": place} | more)


def _round(what: str, values_um: tuple[int, ...], more: dict[str, Any]) -> list[ReadingIn]:
    gauge_number = more.pop("gauge", "G-1")
    base_um = more.pop("base_um", 93_000)
    return [
        ReadingIn(what, f"{base_um + um} um", gauge_number, point=point, **DRY | more)
        for point, um in zip(("12", "3", "6", "9"), values_um, strict=False)
    ]


def two_bores(job: str, *serials: str, gauge_number: str = "G-1") -> None:
    """The two bores of the two-bore engine read 15 µm deep, these sets 100 µm high: 85 µm over the block, all of them."""
    more = {"gauge": gauge_number}
    readings = [one for place in ("CYL-1", "CYL-2") for one in round_bore(place, 15, 15, 15, 15, **more)]
    readings += [one for serial in serials for one in round_set(serial, 100, 100, 100, 100, **more)]
    read(job, *readings)


def heights_judged(job: str, sets: Mapping[str, str], **more: Any) -> list[str]:
    """Each set (by its cylinder) 85 µm over the block at four points, read and judged there; the verdicts."""
    readings = [one for serial in sets.values() for one in round_set(serial, 100, 100, 100, 100, **more)]
    readings += [one for place in sets for one in round_bore(place, 15, 15, 15, 15, **more)]
    read(job, *readings)
    return [
        judge_protrusion(actor=PersonFactory(), stamp=stamp(), job=job, position=f"{place}/set", set=serial).body[
            "verdict"
        ]
        for place, serial in sets.items()
    ]


def ledge(value: str = "93.035 mm", point: str = "12", **more: Any) -> ReadingIn:
    """The height of a liner, dry, clean and clamped, with gauge G-1 at CYL-1."""
    return ReadingIn(
        "liner-height", value, more.pop("gauge", "G-1"), **({"place": "CYL-1", "point": point} | DRY | more)
    )
