"""`?unit=`: in every read that has amounts, by one rule; what the unit does not measure stays as it is."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

import pytest
from django.urls import resolve
from drf_spectacular.generators import SchemaGenerator

from api.rest.amounts import in_unit
from inventory.domain.units import BY_CODE
from inventory.models import Lot

pytestmark = pytest.mark.django_db

#: One US gallon is 231 cubic inches and 128 fluid ounces, an inch 25.4 mm. Source: NIST Handbook 44, appendix C
FLUID_OUNCE_UL = Fraction(231, 128) * Fraction("25.4") ** 3


def amounts_in(value: Any) -> list[dict[str, Any]]:
    """Every object in an answer that has an amount of base units."""
    if isinstance(value, list):
        return [found for one in value for found in amounts_in(one)]
    if not isinstance(value, dict):
        return []
    here = [value] if isinstance(value.get("amount"), int) and value.get("base") else []
    return here + [found for one in value.values() for found in amounts_in(one)]


@pytest.fixture
def sealed(rebuild):
    """A bead was laid and fitted, and what was left in the tube is scrapped: something poured everywhere."""
    rebuild.with_joint().gate()
    laid = rebuild.did(rebuild.technician, "jobs/J-1/joints/SUMP/beads", rebuild.bead_body())
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", {"fittings": laid["fit"]})
    rebuild.tube = laid["fit"][0]["item"]
    return rebuild


def test_every_read_that_has_poured_amounts_shows_them_in_the_unit_asked_for(sealed):
    engine = sealed.manager.read("jobs/J-1").json()["engine"]
    lot = Lot.objects.get(part__number="SEALANT").pk
    paths = [
        "jobs/J-1/list", "jobs/J-1/to-return", f"engines/{engine}/contents", f"engines/{engine}/story",
        f"items/{sealed.tube}", f"items/{sealed.tube}/history", f"lots/{lot}/whereabouts", "places/bench J-1/contents",
        "balances", "jobs/J-1/build-sheet", f"pick-lists/{sealed.said['held']['pick_list']}",
    ]  # fmt: skip
    for path in paths:
        plain, asked = (sealed.manager.read(path, **more).json() for more in ({}, {"unit": "OZA"}))
        before, after = amounts_in(plain), amounts_in(asked)
        assert [one["amount"] for one in before] == [one["amount"] for one in after]
        poured = [one for one in after if one["base"] == "microlitre"]
        assert poured, path
        for one in poured:
            number, unit = one["shown"].split(" ", 1)
            assert unit == "US fl oz", (path, one)
            # The nearest thousandth of an ounce.
            assert abs(Fraction(number) * FLUID_OUNCE_UL - one["amount"]) <= FLUID_OUNCE_UL / 2000, (path, one)
        counted = [[one["shown"] for one in rows if one["base"] == "piece"] for rows in (before, after)]
        assert counted[0] == counted[1], path


def test_the_printed_list_shows_it_too(sealed):
    path = f"pick-lists/{sealed.said['held']['pick_list']}"
    pages = [sealed.manager.read(path, format="html", **more).content.decode() for more in ({}, {"unit": "OZA"})]
    assert ["US fl oz" in page for page in pages] == [False, True]


def test_what_is_lacking_is_shown_in_the_unit_asked_for(rebuild):
    """Four litres are listed, one is there."""
    counted = {
        "place": "R2",
        "lines": [{"part": "OIL", "counted": "1 L", "counted_again": "1000 mL"}],
        "second": rebuild.storekeeper.person.username,
        "reason": "a drum that leaked",
    }
    rebuild.did(rebuild.manager, "counts", counted)
    rebuild.booked()
    for more, short, free in (({}, "3 L", "1 L"), ({"unit": "mL"}, "3000.00 mL", "1000.00 mL")):
        rows = rebuild.manager.read("jobs/J-1/shorts", **more).json()["shorts"]
        (oil,) = [row for row in rows if row["part"] == "OIL"]
        assert (oil["short"], oil["short_shown"], oil["free_shown"]) == (3_000_000, short, free)
    steps = rebuild.manager.read("jobs/J-1/startable", unit="mL").json()["steps"]
    (missing,) = [one for step in steps for one in step["missing"] if one["part"] == "OIL"]
    assert (missing["amount"], missing["shown"]) == (4_000_000, "4000.00 mL")


def reads_with(name: str) -> dict[str, tuple[str, set[str]]]:
    """Reads whose answer has an object with `name` and `base`: operation → address, names of its query parameters."""
    document = SchemaGenerator().get_schema(public=True)
    shapes = document["components"]["schemas"]

    def has(schema: Any, seen: frozenset[str]) -> bool:
        if isinstance(schema, list):
            return any(has(one, seen) for one in schema)
        if not isinstance(schema, dict):
            return False
        if "$ref" in schema:
            called = schema["$ref"].rpartition("/")[2]
            return called not in seen and has(shapes[called], seen | {called})
        return {name, "base"} <= schema.get("properties", {}).keys() or any(has(one, seen) for one in schema.values())

    return {
        get["operationId"]: (path, {one["name"] for one in get.get("parameters", ())})
        for path, operations in document["paths"].items()
        if (get := operations.get("get"))
        and has(get["responses"]["200"].get("content", {}).get("application/json", {}).get("schema", {}), frozenset())
    }


def test_no_read_with_amounts_is_left_out():
    found = reads_with("amount")
    assert len(found) >= 15
    assert [name for name, (_, parameters) in found.items() if "unit" not in parameters] == []


def test_a_unit_that_is_not_known_is_refused_by_every_one_of_them_before_anything_is_read(manager):
    for name, (path, _) in (reads_with("amount") | reads_with("free_shown")).items():
        filled = re.sub(r"\{[^}]*\}", "1", path)
        assert resolve(filled)
        answer = manager.read(filled.removeprefix("/api/v1/"), unit="furlong")
        assert (answer.status_code, answer.json()["code"]) == (422, "unit-unknown"), name


def test_only_what_the_unit_measures_is_changed():
    thousand = {"amount": 1000, "base": "microlitre", "shown": "1 MLT"}
    short = {"short": 1_000_000, "short_shown": "1 LTR", "free": 0, "free_shown": "0 MLT", "base": "microlitre"}
    told = [
        thousand, short, {"amount": 12, "base": "piece", "shown": "12"}, {"amount": 5, "base": "coin"},
        {"amount": 2000, "base": "milligram"}, {"amount": None, "base": "microlitre", "shown": ""},
    ]  # fmt: skip
    litre = BY_CODE["LTR"]
    assert in_unit(told, litre) == [
        thousand | {"shown": "0.001 L"},
        short | {"short_shown": "1.000 L", "free_shown": "0.000 L"},
        told[2],
        told[3],
        told[4] | {"shown": "2 g"},
        told[5],
    ]
    assert in_unit(told, BY_CODE["DZN"])[:4] == told[:4]
    assert in_unit(told, None)[:4] == told[:4]
    assert thousand["shown"] == "1 MLT"
