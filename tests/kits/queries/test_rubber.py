"""Rubber that a place forbids, and what rubber is fitted with."""

import pytest

from inventory.domain.rubber import Lubricant
from inventory.models import Part
from kits.domain.engine_map import Position
from kits.queries.rubber import is_rubber, lubricants_of, rubber_forbids, wrong_rubber
from tests.factories.rebuilds import book, listed
from tests.factories.stores import PartFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


@pytest.mark.parametrize(
    ("number", "compound", "side", "forbidden"),
    [
        ("A-111", "HNBR", "both", False),
        ("A-111", "EPDM", "oil", True),
        ("A-111", "", "oil", True),
        ("A-111", "", "-", False),
        ("A-210", "", "oil", True),
        # A paper or steel gasket carries no compound; one of cork says so and is asked.
        ("A-203", "", "coolant", False),
        ("A-205", "EPDM", "oil", True),
        ("A-502", "", "oil", False),
    ],
)
def test_rubber_by_kind_compound_and_side(number, compound, side, forbidden):
    # The words for EPDM and HNBR: usual trade practice for sealing rubbers, from memory.
    part = Part.objects.get(number=number)
    part.compound = compound
    assert bool(rubber_forbids(part, place(side))) is forbidden


def place(side, hottest=None):
    """A position of that side; hottest in whole °C."""
    hottest_mk = None if hottest is None else hottest * 1000 + 273_150
    return Position("HEAD/seal", "HEAD", None, None, "seal", None, side, "ENGINE", hottest_mk)


@pytest.mark.parametrize(
    ("compound", "side", "hottest", "forbidden"),
    [
        # The limits of NBR and HNBR: usual trade practice for sealing rubbers, from memory. The limit itself passes.
        ("NBR", "oil", 100, False),
        ("NBR", "oil", 101, True),
        ("HNBR", "oil", 101, False),
        ("NBR", "-", 101, True),
        ("NBR", "-", None, False),
        # What nobody knows of stands no heat either.
        ("", "-", 60, True),
        ("", "-", None, False),
    ],
)
def test_rubber_against_the_heat_of_its_place(compound, side, hottest, forbidden):
    part = Part.objects.get(number="A-111")
    part.compound = compound
    assert bool(rubber_forbids(part, place(side, hottest))) is forbidden


def test_no_line_of_the_demo_shop_is_forbidden_and_a_wrong_one_is_named_once():
    findings = [("liner-lifted", f"CYL-{n}") for n in range(1, 7)] + [("crank-out", "ENGINE")]
    job = book(engine="R6-7309", operations=["P4"], findings=findings)
    assert wrong_rubber(listed(job)) == []
    Part.objects.filter(number="R-113").update(compound="EPDM")
    assert [(row["part"], row["position"]) for row in wrong_rubber(listed(job))] == [("R-113", "CYL-1/groove-lower")]


def test_what_is_rubber():
    rubber = [is_rubber(Part.objects.get(number=number)) for number in ("A-111", "A-210", "A-205", "A-502", "A-203")]
    assert rubber == [True, True, True, False, False]


def test_a_lubricant_is_a_word_or_a_part_that_is_said_to_be_one(django_assert_num_queries):
    PartFactory(number="SOAP-1", kind="lubricant", lubricant="water-based soap")
    PartFactory(number="GREASE-1", kind="lubricant")
    with django_assert_num_queries(1):
        found = lubricants_of(["engine oil", "SOAP-1", "GREASE-1", "butter", "G-706"])
    assert found == {
        "engine oil": Lubricant.MINERAL_OIL,
        "SOAP-1": Lubricant.SOAP,
        "GREASE-1": None,
        "butter": None,
        "G-706": Lubricant.MINERAL_OIL,
    }
    with django_assert_num_queries(0):
        assert lubricants_of(["dry"]) == {"dry": Lubricant.DRY}
