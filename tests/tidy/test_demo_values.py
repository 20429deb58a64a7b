"""The program knows no value of the demo shop: part, family, operation, finding, engine, person, supplier."""

import json

import pytest

from tests.tidy.demo_values import SHOP, check, pattern
from tests.tidy.rules import Source, sources

KNOWN = pattern()
CODE = [source for source in sources() if source.path.split("/")[0] in {"manage.py", "inventory", "kits", "api"}]


def first(name: str, *keys: str | int) -> str:
    """One value of the shop, by its path in a file."""
    value = json.loads((SHOP / name).read_text())
    for key in keys:
        value = value[key]
    return str(value)


SAMPLES = {
    "part": first("parts.json", "parts", 0, "number"),
    "family": first("families/alder-4.json", "code"),
    "finding": first("families/alder-4.json", "findings", 0, "code"),
    "engine": first("families/alder-4.json", "engine_numbers", "prefix") + "020412",
    "parts line": first("procedures/P1.json", "lines", 0, "id"),
    "person": first("people.json", "people", 0, "name"),
    "supplier": first("suppliers.json", "suppliers", 0, "name"),
    "job": first("jobs.json", "jobs", 0, "job"),
}


@pytest.mark.parametrize("kind", SAMPLES)
def test_a_value_of_each_kind_is_caught(kind):
    text = f"x = 1\nif number == '{SAMPLES[kind]}': pass"
    assert [fault.line for fault in check(Source("kits/services/a.py", text), KNOWN)] == [2]


def test_other_words_are_left_alone():
    text = "number = 'Q-999'\nname = 'liner'\nlonger = '" + SAMPLES["part"] + "-X'\n"
    assert list(check(Source("kits/services/a.py", text), KNOWN)) == []


def test_no_value_of_the_demo_shop_is_known_to_the_program():
    found = [f"{source.path}:{fault.line} {fault.what}" for source in CODE for fault in check(source, KNOWN)]
    assert not found, "\n".join(found)
