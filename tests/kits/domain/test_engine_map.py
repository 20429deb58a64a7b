"""The map of a family: names, order, containment, patterns, and every refusal."""

import json
from copy import deepcopy
from pathlib import Path

import pytest

from inventory.domain.errors import DomainError
from kits.domain.engine_map import parse_engine_map
from tests.factories.engines import family_document

FAMILIES = Path(__file__).resolve().parents[3] / "fixtures" / "shop" / "families"


@pytest.fixture(name="small")
def _small():
    return parse_engine_map(family_document())


def test_counts_every_place_once(small):
    # 4 cylinders × (set, ring, shim, 2 rod bolts, shells) + 3 mains + 8 valves × (seal, lifter) + 2 banks × (gasket, 10 bolts,
    # cover) + sump (bead, washer, 12 bolts) + fill + camshaft, counted by hand
    assert len(small.positions) == 4 * 6 + 3 + 8 * 2 + 2 * 12 + 14 + 2 == 83
    assert len({position.name for position in small.positions}) == 83


def test_names_are_padded_to_the_highest_number_of_their_series(small):
    assert small.expand("HEAD-LEFT/bolt-*")[0] == "HEAD-LEFT/bolt-01"
    assert small.expand("ROD-2/bolt-*") == ("ROD-2/bolt-1", "ROD-2/bolt-2")
    document = family_document()
    document["valves_per_cylinder"] = 3
    document["groups"][3] |= {"last": 12}
    document["groups"][4] |= {"last": 12}
    twelve = parse_engine_map(document)
    assert twelve.places("valve")[0] == "VALVE-01"
    assert twelve.outward("LIFTER-04/lifter") == ("LIFTER-04/lifter", "VALVE-04", "CYL-2", "BANK-LEFT", "ENGINE")


def test_map_order_is_the_documents_order_and_numbers_sort_as_they_count(small):
    names = [position.name for position in small.positions]
    assert names[:4] == ["CYL-1/set", "CYL-1/ring", "CYL-1/shim", "CYL-2/set"]
    assert sorted(names, key=small.order) == names
    bolts = [name for name in names if name.startswith("HEAD-LEFT/bolt")]
    assert bolts == sorted(bolts)


def test_who_holds_whom(small):
    assert small.outward("VALVE-3/stem-seal") == ("VALVE-3/stem-seal", "VALVE-3", "CYL-2", "BANK-LEFT", "ENGINE")
    assert small.outward("MAIN-2/shells") == ("MAIN-2/shells", "MAIN-2", "ENGINE")
    assert small.outward("HEAD-RIGHT/bolt-07") == ("HEAD-RIGHT/bolt-07", "BANK-RIGHT", "ENGINE")
    assert small.outward("SUMP/bead") == ("SUMP/bead", "ENGINE")
    assert small.contains("CYL-2", "ROD-2/shells") is True
    assert small.contains("CYL-1", "ROD-2/shells") is False
    assert small.contains("BANK-RIGHT", "VALVE-4") is False
    assert small.contains("VALVE-4", "BANK-LEFT") is False


def test_projection_goes_to_all_held_or_to_the_holder(small):
    assert small.project("CYL-3", "bank") == ("BANK-RIGHT",)
    assert small.project("VALVE-8", "cylinder") == ("CYL-4",)
    assert small.project("SUMP/bolt-03", "engine") == ("ENGINE",)
    assert small.project("ENGINE", "cylinder") == ("CYL-1", "CYL-2", "CYL-3", "CYL-4")
    assert small.project("BANK-LEFT", "valve") == ("VALVE-1", "VALVE-2", "VALVE-3", "VALVE-4")
    assert small.project("CYL-2", "cylinder") == ("CYL-2",)
    assert small.project("MAIN-1", "valve") == ()


@pytest.mark.parametrize(
    ("pattern", "expected"),
    [
        ("CYL-*/set", ["CYL-1/set", "CYL-2/set", "CYL-3/set", "CYL-4/set"]),
        ("HEAD-*/bolt-07", ["HEAD-LEFT/bolt-07", "HEAD-RIGHT/bolt-07"]),
        ("HEAD-*/gasket", ["HEAD-LEFT/gasket", "HEAD-RIGHT/gasket"]),
        ("ROD-3/bolt-*", ["ROD-3/bolt-1", "ROD-3/bolt-2"]),
        (["SUMP/bolt-02", "SUMP/bolt-01", "SUMP/bolt-02"], ["SUMP/bolt-01", "SUMP/bolt-02"]),
        ("OIL/fill", ["OIL/fill"]),
    ],
)
def test_patterns(small, pattern, expected):
    assert list(small.expand(pattern)) == expected


@pytest.mark.parametrize(
    "pattern",
    ["CYL-5/set", "HEAD/bolt-07", "HEAD-LEFT/bolt-7", "OIL-*/fill", "*/set", "C*/set", "CYL-*/*", "CYL-*", "", "/", "CYL-*/set-*", "cyl-1/set"],
)  # fmt: skip
def test_a_pattern_that_fits_nothing_is_refused(small, pattern):
    with pytest.raises(DomainError) as caught:
        small.expand(pattern)
    assert caught.value.code == "position-unknown"
    assert caught.value.values == {"position": pattern}


def _problems(document):
    with pytest.raises(DomainError) as caught:
        parse_engine_map(document)
    assert caught.value.code == "family-unusable"
    return [(problem["where"], problem["detail"]) for problem in caught.value.values["problems"]]


def test_without_a_numbering_end_the_family_cannot_be_used():
    # ISO 1204 exists because an engine's cylinders can be counted from either end
    document = family_document()
    del document["numbering_end"]
    assert _problems(document) == [
        ("numbering_end", "not stated at which end No. 1 is: the family cannot be used"),
    ]


def test_every_problem_is_named_not_the_first():
    document = family_document()
    document["numbering_end"] = " "
    document["banks"][1]["cylinders"] = [3, 5]
    document["groups"][0]["names"].append({"name": "set"})
    document["groups"][2]["last"] = 4
    document["groups"][-1]["names"] = [{"name": "Camshaft 1"}]
    assert [where for where, _ in _problems(document)] == [
        "numbering_end", "banks", "MAIN", "CAMSHAFT name 1", "CYL-1/set", "CYL-2/set", "CYL-3/set",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        (("mains",), True, "mains"),
        (("mains",), "3", "mains"),
        (("valves_per_cylinder",), -1, "valves_per_cylinder"),
        (("groups",), None, "groups"),
        (("groups",), {}, "groups"),
        (("groups", 0), "CYL", "group 1"),
        (("groups", 0, "scope"), "piston", "CYL"),
        (("groups", 0, "colour"), "red", "group 1"),
        (("groups", 0, "group"), "CYL-1", "CYL-1"),
        (("groups", 0, "last"), 10**9, "CYL"),
        (("groups", 5, "bank"), "MIDDLE", "HEAD-LEFT"),
        (("groups", 9, "bank"), "LEFT", "SUMP"),
        (("groups", 9, "first"), 1, "SUMP"),
        (("groups", 9, "names", 2, "series"), [3, 1], "SUMP name 3"),
        (("groups", 9, "names", 2, "series"), [1, "12"], "SUMP name 3"),
        (("groups", 9, "names", 0, "side"), "water", "SUMP name 1"),
        (("banks", 0, "name"), "-", "banks"),
        (("banks", 0, "cylinders"), ["1"], "bank 1"),
    ],
)
def test_a_wrong_value_is_a_named_problem_and_never_a_crash(path, value, where):
    document = deepcopy(family_document())
    at = document
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    assert where in [place for place, _ in _problems(document)]


@pytest.mark.parametrize(
    ("family", "positions"),
    # counted by hand from the shop's own sheet of use positions (fixtures/prose/positions.csv), in all 692
    [("alder-4", 167), ("rowan-6", 211), ("hornbeam-v8", 221), ("larch-3", 93)],
)
def test_the_demo_families_have_their_known_number_of_positions(family, positions):
    document = json.loads((FAMILIES / f"{family}.json").read_text(encoding="utf-8"))
    assert len(parse_engine_map(document).positions) == positions


def test_the_hottest_that_a_place_gets_is_read_in_millikelvin():
    document = family_document()
    group = next(one for one in document["groups"] if one["group"] == "VALVE")
    group["names"][0]["hottest"] = "150 °C"
    found = {position.name: position.hottest_mk for position in parse_engine_map(document).positions}
    assert (found["VALVE-3/stem-seal"], found["CYL-1/ring"]) == (423_150, None)
    group["names"][0]["hottest"] = "150 mm"
    with pytest.raises(DomainError) as refused:
        parse_engine_map(document)
    assert "'hottest': " in refused.value.message
