"""`ring-sizes`, `ring-identifications`, `groove-checks`, `rubber-decisions`, `parts/{number}/ring-substitutes`.

Worked example of the demo shop (independent script): 108.3 across, flattened 3.55 x 3.41, groove 108.6 under 114.5, 4.8 wide.
"""

import pytest

from tests.api.contract.shops import UNLABELLED
from tests.api.rest.clients import ShopClient
from tests.api.rest.described import DescribedClient
from tests.factories.engines import family_document
from tests.factories.stores import PartFactory, PersonFactory

pytestmark = pytest.mark.django_db

GROOVE = {"groove_diameter": "108.6 mm", "bore": "114.5 mm", "width": "4.8 mm"}


@pytest.fixture
def reader():
    return DescribedClient(PersonFactory())


def ring(number, compound, inside="107.54", section="3.53", shape="round", **more):
    facts = {"id_mm": inside, "section_mm": section, "shape": shape}
    return PartFactory(number=number, compound=compound, kind="O-ring", ring=facts, **more)


def test_a_size_by_its_dash_number_and_by_its_measures(reader):
    (found,) = reader.rows("ring-sizes", search="AS568-154")
    assert found == {
        "size": "AS568-154",
        "system": "AS568",
        "words": "inch 94.92 x 2.62 (AS568-154)",
        "inside_nm": 94_920_000,
        "inside_tolerance_nm": 710_000,
        "section_nm": 2_620_000,
        "section_tolerance_nm": 80_000,
        "inside_thou": 3737,
        "section_thou": 103,
        "how_sure": "tables agree",
    }
    assert reader.rows("ring-sizes", search="94.92 x 2.62") == [found]
    (metric,) = reader.rows("ring-sizes", search="108 x 3.5")
    assert (metric["system"], metric["inside_tolerance_nm"], metric["inside_thou"]) == ("metric", 880_000, None)
    assert reader.rows("ring-sizes", search="051") == []


def test_all_sizes_in_pages_forwards_and_backwards(reader):
    names, address = [], "/api/v1/ring-sizes?page_size=200"
    while address:
        page = reader.get(address).json()
        names += [one["size"] for one in page["results"]]
        address = page["next"]
    assert (len(names), len(set(names)), names[0], names[-1]) == (537, 537, "AS568-001", "130 x 4")
    assert [one["size"] for one in reader.rows("ring-sizes", ordering="-table", page_size=2)] == ["130 x 4", "128 x 4"]
    assert len(reader.read("ring-sizes", system="metric", page_size=200).json()["results"]) == 168


def test_the_worked_example_two_candidates_and_no_identification(reader):
    body = reader.read("ring-identifications", **UNLABELLED).json()
    assert body["answer"] == "cannot tell apart"
    assert [(one["size"]["size"], one["misfit"]) for one in body["candidates"]] == [
        ("108 x 3.5", "0.50"),
        ("AS568-244", "3.68"),
    ]
    assert [(one["size"]["size"], one["misfit"]) for one in body["next"]][:1] == [("110 x 3.5", "11.19")]
    weighed = body["candidates"][1]["weighed"]
    assert (weighed["volume_mm3"], weighed["density_g_per_cm3"], weighed["like"]) == ("3415", "1.86", ["FKM"])
    assert "stays unknown" in body["sentence"]
    assert "manual" in body["caution"]


def test_swell_adds_candidates_and_a_square_ring_is_not_judged(reader):
    dry = reader.read("ring-identifications", **UNLABELLED).json()["candidates"]
    wet = reader.read("ring-identifications", may_be_swollen="true", **UNLABELLED).json()["candidates"]
    names = [{one["size"]["size"] for one in found} for found in (dry, wet)]
    assert names[0] < names[1]
    assert {one["swell_percent"] for one in wet if one["size"]["size"] in names[0]} == {"0.00"}
    for more in ({"shape": "square"}, {"in_groove": "true"}):
        body = reader.read("ring-identifications", **UNLABELLED, **more).json()
        assert (body["answer"], body["candidates"], body["next"]) == ("not judged", [], [])


HOSTILE = [
    ({"inside_diameter": "108,3 mm"}, 422, "quantity-unreadable"),
    ({"inside_diameter": "9**9**9 mm"}, 422, "quantity-unreadable"),
    ({"inside_diameter": "108.3"}, 422, "quantity-unreadable"),
    ({"inside_diameter": "108.3 g"}, 422, "quantity-wrong-dimension"),
    ({"inside_diameter": "108.3 furlong"}, 422, "quantity-unit-unknown"),
    ({"inside_diameter": "-1 mm"}, 422, "quantity-negative"),
    ({"inside_diameter": "1" * 41}, 400, "parameter-wrong"),
    ({"inside_diameter": ""}, 400, "parameter-wrong"),
    ({"inside_diameter": None}, 400, "parameter-wrong"),
    ({"section_uncertainty": "0 mm"}, 422, "ring-unreadable"),
    ({"weight": "0 g"}, 422, "ring-unreadable"),
    ({"shape": "oval"}, 400, "parameter-wrong"),
    ({"in_groove": "yes"}, 400, "parameter-wrong"),
    ({"colour": "green"}, 400, "parameter-unknown"),
]


@pytest.mark.parametrize(("more", "status", "code"), HOSTILE)
def test_what_is_no_measure_is_refused_by_name(reader, more, status, code):
    wanted = {name: value for name, value in (UNLABELLED | more).items() if value is not None}
    answer = reader.read("ring-identifications", **wanted)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    if code.startswith("quantity"):
        assert answer.json()["values"]["parameter"] == "inside_diameter"


def test_nobody_reads_without_logging_in():
    for address in (
        "ring-sizes",
        "ring-identifications",
        "groove-checks",
        "rubber-decisions",
        "parts/X/ring-substitutes",
    ):
        assert ShopClient().read(address).json()["code"] == "not-logged-in"


def test_the_worked_groove(reader):
    body = reader.read("groove-checks", size="AS568-244", **GROOVE).json()
    assert (body["suits"], body["reasons"], body["model"]) == ("yes", [], "constant volume")
    assert [body[name]["shown"] for name in ("stretch", "squeeze", "fill")] == ["0.99 %", "16.0 %", "68.5 %"]
    assert (round(body["stretched_section_nm"] / 1000), body["depth_nm"]) == (3513, 2_950_000)
    metric = reader.read("groove-checks", inside_diameter="108 mm", section="3.5 mm", **GROOVE).json()
    assert [metric[name]["shown"] for name in ("stretch", "squeeze")] == ["0.56 %", "15.5 %"]
    # The two tolerances of the ring are in it: 107.54 +-0.76, 3.53 +-0.10.
    assert float(body["squeeze"]["least"]) < 16.0 < float(body["squeeze"]["most"])


def test_a_groove_on_record_heat_swell_and_the_shops_limits(reader, manager):
    from inventory.models import ShopSetting

    ring("OR-1", "FKM")
    document = family_document()
    document["facts"] = document.get("facts", {}) | {"grooves": [{"part": "OR-1", **GROOVE}]}
    assert manager.send("engine-families", {"document": document}).status_code == 201
    family = document["code"]
    on_record = reader.read("groove-checks", part="OR-1", family=family).json()
    assert on_record == reader.read("groove-checks", part="OR-1").json()
    assert on_record == reader.read("groove-checks", size="-244", **GROOVE).json()
    hot = reader.read("groove-checks", part="OR-1", temperature="120 °C", swell="25 %").json()
    assert (hot["suits"], len(hot["reasons"])) == ("no", 1)
    assert hot["reasons"][0].startswith("The fill is ")
    cold = reader.read(
        "groove-checks", part="OR-1", temperature="-20 °C", rubber_growth="160", metal_growth="11"
    ).json()
    assert float(cold["fill"]["middle"]) < float(on_record["fill"]["middle"])
    ShopSetting.objects.create(name="ring_least_squeeze", value="0.18")
    assert reader.read("groove-checks", part="OR-1").json()["suits"] == "no"


@pytest.mark.parametrize(
    ("asked", "status", "code"),
    [
        ({}, 400, "parameter-wrong"),
        ({"size": "-244", "part": "OR-1"}, 400, "parameter-wrong"),
        ({"size": "-244"}, 400, "parameter-wrong"),
        ({"size": "-244", "groove_diameter": "108.6 mm"}, 400, "parameter-wrong"),
        ({"size": "051", **GROOVE}, 422, "ring-size-unknown"),
        ({"size": "large", **GROOVE}, 422, "ring-size-unreadable"),
        ({"part": "OR-1"}, 400, "parameter-wrong"),
        ({"part": "NONE", **GROOVE}, 404, "not-found"),
        ({"part": "SQUARE", **GROOVE}, 422, "ring-unreadable"),
        ({"part": "BOLT", **GROOVE}, 422, "ring-unreadable"),
        ({"part": "OR-1", "family": "None-9"}, 404, "not-found"),
        ({"inside_diameter": "108 mm", **GROOVE}, 400, "parameter-wrong"),
        ({"inside_diameter": "108 mm", "section": "9 mm", **GROOVE}, 422, "ring-unreadable"),
        ({"size": "-244", **GROOVE, "bore": "100 mm"}, 422, "groove-unreadable"),
        ({"size": "-244", **GROOVE, "swell": "0.1"}, 400, "parameter-wrong"),
        ({"size": "-244", **GROOVE, "swell": "101 %"}, 422, "ring-unreadable"),
        ({"size": "-244", **GROOVE, "temperature": "900 °C"}, 422, "ring-unreadable"),
        ({"size": "-244", **GROOVE, "temperature": "hot"}, 422, "quantity-unreadable"),
        ({"size": "-244", **GROOVE, "rubber_growth": "1.6e-4"}, 400, "parameter-wrong"),
    ],
)
def test_a_check_that_cannot_be_made_says_why(reader, asked, status, code):
    ring("OR-1", "FKM")
    ring("SQUARE", "FKM", shape="square")
    PartFactory(number="BOLT")
    answer = reader.read("groove-checks", **asked)
    assert (answer.status_code, answer.json()["code"]) == (status, code)


# EPDM never in oil, soap not oil on EPDM: a seal maker's page (read); heat: from memory.
@pytest.mark.parametrize(
    ("asked", "allowed", "line"),
    [
        ({"side": "coolant"}, True, "Allowed: EPDM suits coolant."),
        ({"side": "oil"}, False, "Not allowed: EPDM never goes on the oil side (mineral oil swells it)."),
        ({"side": "coolant", "temperature": "131 °C"}, False, "Not allowed: EPDM stands no more than 130 °C."),
        ({"lubricant": "SOAP-1"}, True, "Allowed: EPDM: water-based soap is fine."),
        (
            {"side": "coolant", "lubricant": "engine oil"},
            False,
            "Not allowed: EPDM: no mineral oil; use silicone grease or water-based soap.",
        ),
    ],
)
def test_rubber_in_one_line(reader, asked, allowed, line):
    ring("OR-1", "EPDM")
    PartFactory(number="SOAP-1", kind="lubricant", lubricant="water-based soap")
    body = reader.read("rubber-decisions", part="OR-1", **asked).json()
    assert (body["part"], body["compound"], body["allowed"], body["line"]) == ("OR-1", "EPDM", allowed, line)
    assert len(body["questions"]) == len(asked) - ("temperature" in asked)


@pytest.mark.parametrize(
    ("asked", "status", "code"),
    [
        ({"part": "OR-1"}, 400, "parameter-wrong"),
        ({"part": "OR-1", "temperature": "90 °C"}, 400, "parameter-wrong"),
        ({"side": "oil"}, 400, "parameter-wrong"),
        ({"part": "OR-1", "side": "-"}, 400, "parameter-wrong"),
        ({"part": "NONE", "side": "oil"}, 404, "not-found"),
        ({"part": "OR-1", "lubricant": "butter"}, 422, "lubricant-unknown"),
        ({"part": "OR-1", "side": "oil", "temperature": "-300 °C"}, 422, "quantity-negative"),
    ],
)
def test_a_decision_that_cannot_be_made_says_why(reader, asked, status, code):
    ring("OR-1", "EPDM")
    answer = reader.read("rubber-decisions", **asked)
    assert (answer.status_code, answer.json()["code"]) == (status, code)


def test_a_part_of_no_known_compound_is_not_allowed(reader):
    ring("OR-1", "")
    body = reader.read("rubber-decisions", part="OR-1", side="oil", lubricant="soap").json()
    assert (body["allowed"], [one["allowed"] for one in body["questions"]]) == (False, [False, False])


def test_substitutes_by_side_heat_and_groove(reader, manager, django_assert_max_num_queries):
    ring("OR-1", "FKM")
    ring("OR-2", "EPDM")
    ring("OR-3", "HNBR", "108", "3.5")
    ring("OR-4", "FKM")
    PartFactory(number="BOLT")
    document = family_document()
    document["facts"] = document.get("facts", {}) | {"grooves": [{"part": "OR-1", **GROOVE}]}
    assert manager.send("engine-families", {"document": document}).status_code == 201
    with django_assert_max_num_queries(8):
        body = reader.read("parts/OR-1/ring-substitutes", side="oil").json()
    assert (body["part"], body["measures"], body["side"], body["groove"]) == ("OR-1", "107.54 x 3.53", "oil", True)
    assert [(one["part"], one["suits"], one["same_size"]) for one in body["substitutes"]] == [
        ("OR-4", True, True),
        ("OR-3", True, False),
        ("OR-2", False, True),
    ]
    why = [reason["sentence"] for reason in body["substitutes"][1]["reasons"]]
    assert why == ["Another size, 108 x 3.5 for 107.54 x 3.53; both fit the groove on record.", "HNBR suits oil."]
    hot = reader.read("parts/OR-1/ring-substitutes", side="oil", temperature="160 °C").json()
    assert [one["part"] for one in hot["substitutes"] if one["suits"]] == ["OR-4"]
    # The map states both fluids at the ring of a cylinder.
    both = reader.read("parts/OR-1/ring-substitutes", family=document["code"], position="CYL-1/ring").json()
    assert (both["side"], [one["part"] for one in both["substitutes"] if one["suits"]]) == ("both", ["OR-3"])


@pytest.mark.parametrize(
    ("number", "asked", "status", "code"),
    [
        ("OR-1", {}, 400, "parameter-wrong"),
        ("OR-1", {"side": "air"}, 400, "parameter-wrong"),
        ("OR-1", {"position": "CYL-1/ring"}, 400, "parameter-wrong"),
        ("OR-1", {"side": "oil", "family": "None-9", "position": "CYL-1/ring"}, 400, "parameter-wrong"),
        ("OR-1", {"family": "None-9", "position": "CYL-1/ring"}, 404, "not-found"),
        ("NONE", {"side": "oil"}, 404, "not-found"),
        ("BOLT", {"side": "oil"}, 422, "ring-unreadable"),
        ("OR-1", {"side": "oil", "temperature": "9**9 °C"}, 422, "quantity-unreadable"),
    ],
)
def test_substitutes_that_cannot_be_judged_say_why(reader, number, asked, status, code):
    ring("OR-1", "FKM")
    PartFactory(number="BOLT")
    answer = reader.read(f"parts/{number}/ring-substitutes", **asked)
    assert (answer.status_code, answer.json()["code"]) == (status, code)


def test_a_position_that_is_none_and_two_different_grooves(reader, manager):
    ring("OR-1", "FKM")
    document = family_document()
    rows = [{"part": "OR-1", **GROOVE}, {"part": "OR-1", **GROOVE, "width": "5 mm"}]
    document["facts"] = document.get("facts", {}) | {"grooves": rows}
    assert manager.send("engine-families", {"document": document}).status_code == 201
    asked = {"family": document["code"], "position": "CYL-9/ring"}
    assert reader.read("parts/OR-1/ring-substitutes", **asked).json()["code"] == "position-unknown"
    assert reader.read("parts/OR-1/ring-substitutes", side="oil").json()["code"] == "groove-unreadable"
