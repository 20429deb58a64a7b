"""What a scanned or typed text is: a part, a lot, a set, a tube, a place, a gauge, a job, an engine. Nothing is guessed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from inventory.domain.errors import DomainError
from inventory.domain.labels import Label, as_data, as_gs1, as_gtin, read_label
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import PlaceKind
from inventory.domain.spelling import label_key
from inventory.models import Lot, Part, Place, Serial, SupplierPart, Tube
from inventory.queries.catalogue import likely_numbers
from kits.models import Engine, Gauge, Job

#: Near misses are offered of so many kinds of thing; more would bury what was meant.
NEAR = 8


def what_is(text: str, today: date) -> dict[str, Any]:
    """What stands behind a text, as asked on a day.

    {"form", "says": what the label says by field, "found": [{what, code, part, address}], "unknown": fields of the label that
    are not on record, "near": [{what, code}] if nothing was found}. Several may be found: a lot's code is no one's alone.
    Errors: those of `read_label`, and `label-ambiguous`.
    """
    label = read_label(text, today)
    if label.form == "plain":
        found = list(_plain(label.text))
        other = None if found else as_gs1(label.text, today) or as_data(label.text, today)
        if other is None:
            near = [] if found else _near(label.text)
            return {"form": label.form, "says": {"text": label.text}, "found": found, "unknown": [], "near": near}
        label = other
    found, unknown = _labelled(label)
    return {"form": label.form, "says": _says(label), "found": found, "unknown": unknown, "near": []}


def parts_scanned(text: str, today: date) -> list[Part]:
    """The parts of the things that stand behind a text, by number. Fourteen queries at most; errors as of `what_is`."""
    numbers = {one["part"] for one in what_is(text, today)["found"] if one["part"]}
    return list(Part.objects.filter(number__in=numbers).order_by("number")) if numbers else []


def _says(label: Label) -> dict[str, Any]:
    said = {one.name: getattr(label, one.name) for one in fields(label) if one.name not in ("form", "text", "other")}
    kept = {name: value for name, value in said.items() if value not in ("", None)}
    return {name: value.isoformat() if isinstance(value, date) else value for name, value in kept.items()} | (
        {"other": dict(label.other)} if label.other else {}
    )


def parts_called(number: str = "", gtin: str = "") -> QuerySet[Part]:
    """Parts of that printed number, shop's number or supplier's number, or with that GTIN as one of the latter two."""
    if gtin:
        written = [gtin.lstrip("0").zfill(digits) for digits in (8, 12, 13, 14)]
        written = [one for one in written if as_gtin(one) == gtin]
        sold = SupplierPart.objects.filter(number__in=written).values("part")
        return Part.objects.filter(Q(shop_number__in=written) | Q(pk__in=sold))
    sold = SupplierPart.objects.filter(number__iexact=number).values("part")
    key = _key(number)
    same = Q(compare_key=key) if key else Q(number=number)
    return Part.objects.filter(same | Q(shop_number__iexact=number) | Q(pk__in=sold))


def _key(text: str) -> str:
    try:
        return compare_key(text)
    except DomainError:
        return ""


def _plain(text: str) -> Iterator[dict[str, Any]]:
    """Everything that has just this text as its number or code. Nine queries."""
    seen = set()
    for part in [*parts_called(text), *(parts_called(gtin=gtin) if (gtin := as_gtin(text)) else ())]:
        if part.pk not in seen:
            seen.add(part.pk)
            yield _is("part", part.number, part, f"parts/{part.number}")
    for lot in Lot.objects.filter(compare_key=label_key(text)).select_related("part").order_by("part__number"):
        yield _is("lot", lot.code, lot.part, f"lots/{lot.pk}")
    yield from _serials(_key(text))
    for tube in Tube.objects.filter(number__iexact=text).select_related("part"):
        yield _is("tube", tube.number, tube.part, f"items?search={tube.number}")
    for place in Place.objects.filter(code__iexact=text, real=True).exclude(kind=PlaceKind.ENGINE).order_by("code"):
        yield _is("place", place.code, None, f"places/{place.code}")
    for gauge in Gauge.objects.filter(number__iexact=text).order_by("number"):
        yield _is("gauge", gauge.number, None, f"gauges/{gauge.number}")
    for job in Job.objects.filter(number__iexact=text).order_by("number"):
        yield _is("job", job.number, None, f"jobs/{job.number}")
    for engine in Engine.objects.filter(number__iexact=text).order_by("number"):
        yield _is("engine", engine.number, None, f"engines/{engine.number}/contents")


def _serials(key: str, parts: set[int] | None = None) -> Iterator[dict[str, Any]]:
    rows = (
        Serial.objects.filter(compare_key=key).select_related("part", "matched_set") if key else Serial.objects.none()
    )
    for serial in (rows if parts is None else rows.filter(part__in=parts)).order_by("part__number"):
        if hasattr(serial, "matched_set"):
            yield _is("matched set", serial.number, serial.part, f"matched-sets/{serial.number}/history")
        else:
            yield _is("serial", serial.number, serial.part, f"items?search={serial.number}")


def _labelled(label: Label) -> tuple[list[dict[str, Any]], list[str]]:
    """The narrowest that a label names: a serial of its part, else a lot of it, else the part; and what is not on record."""
    unknown: list[str] = []
    parts: dict[int, Part] = {}
    for name, asked in (("gtin", {"gtin": label.gtin}), ("part", {"number": label.part})):
        if getattr(label, name):
            named = {part.pk: part for part in parts_called(**asked)}
            unknown += [] if named else [name]
            # Two numbers of one part; if they are of two parts, both are shown.
            parts = {pk: part for pk, part in parts.items() if pk in named} or parts | named
    ids = set(parts) or None
    if label.serial:
        if found := list(_serials(_key(label.serial), ids)):
            return found, unknown
        unknown.append("serial")
    if label.lot:
        rows = Lot.objects.filter(compare_key=label_key(label.lot)).select_related("part").order_by("part__number")
        if lots := list(rows if ids is None else rows.filter(part__in=ids)):
            return [_is("lot", lot.code, lot.part, f"lots/{lot.pk}") for lot in lots], unknown
        unknown.append("lot")
    return [_is("part", part.number, part, f"parts/{part.number}") for part in parts.values()], unknown


def _is(what: str, code: str, part: Part | None, address: str) -> dict[str, Any]:
    return {"what": what, "code": code, "part": part.number if part else "", "address": address}


def _near(text: str) -> list[dict[str, Any]]:
    """Real numbers that a misread or mistyped one may have been."""
    known = (
        ("part", Part.objects.values_list("number", flat=True)),
        ("lot", Lot.objects.values_list("code", flat=True).distinct()),
        ("serial", Serial.objects.values_list("number", flat=True).distinct()),
        ("engine", Engine.objects.values_list("number", flat=True)),
        ("job", Job.objects.values_list("number", flat=True)),
    )
    return [{"what": what, "code": code} for what, codes in known for code in likely_numbers(text, codes)][:NEAR]
