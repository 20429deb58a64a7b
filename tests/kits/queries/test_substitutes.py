"""Parts issued in place of the listed ones, and rubber that a place forbids."""

import pytest

from inventory.models import Part, Replacement, ReplacementPart
from kits.domain.engine_numbers import parse_engine_number
from kits.queries.substitutes import fits_number, rubber_forbids, substitute, wrong_rubber
from kits.services.hold_kit import hold_kit
from tests.factories.acts import refused
from tests.factories.rebuilds import book, hold, listed, shelve, take
from tests.factories.stores import PartFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def notice(old, new, **more):
    row = Replacement.objects.create(
        old=Part.objects.get(number=old), way=more.pop("way", "one way"), fate="use up", **more
    )
    ReplacementPart.objects.create(replacement=row, part=Part.objects.get(number=new))
    return row


def test_the_replacement_is_issued_for_what_the_shelves_lack_piece_for_piece():
    PartFactory(number="A-504N", kind="fastener")
    notice("A-504", "A-504N")
    shelve({"A-504": 1})
    shelve({"A-504N": 4})
    job = book(findings=[("main-bolt-rejected", f"MAIN-{n}/bolt-1") for n in (1, 2)])
    found = substitute(listed(job), {"A-504": 2})
    assert sum(pieces for _, pieces in found["A-504"].parts) == 2
    assert found["A-504"].because
    assert substitute(listed(job), {"A-504": 1}) == {}
    body = hold(job)
    assert {row["wanted"] for row in body["held"]} == {"A-504"}
    assert "A-504N" in {row["part"] for row in body["held"]}
    take(body)
    refused("nothing-to-hold", hold_kit, job="J1")


def test_a_replacement_that_the_engine_number_forbids_is_not_taken():
    PartFactory(number="A-504N", kind="fastener")
    notice("A-504", "A-504N", engine_from="A4-020600")
    shelve({"A-504N": 4})
    findings = [("main-bolt-rejected", "MAIN-1/bolt-1")]
    assert substitute(listed(book(findings=findings)), {"A-504": 1}) == {}
    above = book("J2", engine="A4-020700", findings=findings)
    assert [(part.number, pieces) for part, pieces in substitute(listed(above), {"A-504": 1})["A-504"].parts] == [
        ("A-504N", 1)
    ]


@pytest.mark.parametrize(
    ("key", "fits"),
    [
        ("below A4-020543", False),
        ("below A4-020544", True),
        ("from A4-020543", True),
        ("from A4-020544", False),
        ("from nowhere", False),
    ],
)
def test_ranges_of_notices(key, fits):
    assert fits_number(key, parse_engine_number("A4-020543", {"A4-": 6}), 6) is fits


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
    assert bool(rubber_forbids(part, side, "SOMEWHERE")) is forbidden


def test_no_line_of_the_demo_shop_is_forbidden_and_a_wrong_one_is_named_once():
    findings = [("liner-lifted", f"CYL-{n}") for n in range(1, 7)] + [("crank-out", "ENGINE")]
    job = book(engine="R6-7309", operations=["P4"], findings=findings)
    assert wrong_rubber(listed(job)) == []
    Part.objects.filter(number="R-113").update(compound="EPDM")
    assert [(row["part"], row["position"]) for row in wrong_rubber(listed(job))] == [("R-113", "CYL-1/groove-lower")]
