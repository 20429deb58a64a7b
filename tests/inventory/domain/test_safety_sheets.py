"""Which parts need a safety data sheet, and what makes a record of one usable."""

from datetime import date, timedelta

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.safety_sheets import LONGEST_LINK, check_safety_sheet, is_chemical

TODAY = date(2025, 1, 15)
DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("kind", "chemical"),
    [("sealant", True), ("Fluid", True), (" lubricant ", True), ("gasket", False), ("", False), ("O-ring", False)],
)
def test_chemicals_are_known_by_their_kind(kind, chemical):
    assert is_chemical(kind) is chemical


@pytest.mark.parametrize(
    ("wrong", "usable"),
    [
        ({}, True),
        ({"kind": "gasket"}, False),
        ({"link": "  "}, False),
        ({"link": "x" * LONGEST_LINK}, True),
        ({"link": "x" * (LONGEST_LINK + 1)}, False),
        ({"issued_on": TODAY}, True),
        ({"issued_on": TODAY + DAY}, False),
        ({"last": TODAY - 2 * DAY}, True),
        ({"last": TODAY - DAY}, True),
        ({"last": TODAY}, False),
    ],
)
def test_a_record_of_a_sheet(wrong, usable):
    given = {"kind": "fluid", "link": "office", "issued_on": TODAY - DAY, "today": TODAY, "last": None} | wrong
    try:
        check_safety_sheet("OIL", **given)
    except DomainError as error:
        assert (error.code, usable) == ("safety-sheet-unusable", False)
    else:
        assert usable
