"""Limits of a family's document for the built engine: read once, every problem named."""

import pytest

from inventory.domain.units import Dimension
from kits.domain.build_facts import AfterRun, BuildFacts, LeakLimits, RunLimit, read_build_facts
from kits.domain.reading import Reader
from tests.factories.engines import family

GOOD = {
    "piston_checks": ["crown", "ring tops"],
    "leak_test": {
        "pressure_least": "0.5 bar", "pressure_most": "1.0 bar", "hold_least": "10 min", "drop_most": "5 kPa", "when": "lifted", "before": ["SUMP/bead", "SUMP/washer"],
        "from": "page 62",
    },
    "first_run": {
        "values": [
            {"name": "oil pressure", "low": "1 bar", "high": "500 kPa"},
            {"name": "coolant temperature", "high": "95 °C"},
            {"name": "power", "low": "52 kW"},
        ],
        "from": "page 84",
    },
    "after_first_run": [
        {"what": "oil", "days": 60, "hours": "50 h", "parts": [{"part": "X", "amount": "1 EA"}], "from": "page 89"}
    ],
}  # fmt: skip

SUMP = frozenset({"SUMP/bead", "SUMP/washer"})


def read(facts):
    """(what was read, problems as "where: detail")."""
    reader = Reader()
    found = read_build_facts(facts, {"lifted": object()}, family().map, reader)
    return found, [f"{one.where}: {one.detail}" for one in reader.problems]


def test_everything_is_read_in_base_units():
    assert read(GOOD) == (
        BuildFacts(
            piston_items=("crown", "ring tops"),
            leak=LeakLimits(50_000, 100_000, 600, 5_000, "lifted", "page 62", SUMP),
            run=(
                RunLimit("oil pressure", Dimension.PRESSURE, "BAR", 100_000, 500_000),
                RunLimit("coolant temperature", Dimension.TEMPERATURE, "CEL", None, 368_150),
                RunLimit("power", Dimension.POWER, "KWT", 52_000, None),
            ),
            run_source="page 84",
            after=(AfterRun("oil", 60, 50, (("X", "1 EA"),), "page 89"),),
        ),
        [],
    )


def test_a_silent_document_limits_nothing():
    assert read({}) == (BuildFacts(), [])


@pytest.mark.parametrize(
    ("name", "value", "where"),
    [
        ("leak_test", GOOD["leak_test"] | {"when": "melted"}, "leak_test"),
        ("leak_test", GOOD["leak_test"] | {"drop_most": "0.5 bar"}, "leak_test"),
        ("leak_test", GOOD["leak_test"] | {"pressure_least": "1.0 bar"}, "leak_test"),
        ("leak_test", {key: one for key, one in GOOD["leak_test"].items() if key != "pressure_least"}, "leak_test"),
        ("leak_test", GOOD["leak_test"] | {"hold_least": "10 bar"}, "leak_test"),
        ("leak_test", GOOD["leak_test"] | {"torque": "1"}, "leak_test"),
        ("leak_test", GOOD["leak_test"] | {"before": "SUMP/lid"}, "leak_test"),
        ("leak_test", GOOD["leak_test"] | {"before": []}, "leak_test"),
        ("leak_test", GOOD["leak_test"] | {"when": ""}, "leak_test"),
        ("first_run", {"values": [], "from": "x"}, "first_run"),
        ("first_run", {"values": [{"name": "a"}], "from": "x"}, "first_run 1"),
        ("first_run", {"values": [{"name": "a", "low": "2 bar", "high": "1 bar"}], "from": "x"}, "first_run 1"),
        ("first_run", {"values": [{"name": "a", "low": "2 bar", "high": "9 °C"}], "from": "x"}, "first_run 1"),
        ("first_run", {"values": [{"name": "a", "low": "3,5 bar"}], "from": "x"}, "first_run 1"),
        ("first_run", {"values": [{"name": "a", "low": 2}], "from": "x"}, "first_run 1"),
        (
            "first_run",
            {"values": [{"name": "a", "low": "2 bar"}, {"name": "a", "low": "2 bar"}], "from": "x"},
            "first_run 2",
        ),
        ("after_first_run", [{"what": "a", "from": "x"}], "after_first_run 1"),
        ("piston_checks", ["a", "a"], "facts"),
    ],
)
def test_what_makes_no_sense_is_named_where_it_stands(name, value, where):
    _, problems = read(GOOD | {name: value})
    assert [one.partition(": ")[0] for one in problems] == [where]
