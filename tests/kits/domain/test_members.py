"""Names with sizes, as they are typed."""

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.units import Dimension
from kits.domain.members import Member, read_member


@pytest.mark.parametrize(
    ("text", "member"),
    [
        ("shim: 0.05 mm", Member("shim", 50_000, 50_000, 50_000)),
        (" flange : 0.463 in to 0.465 in ", Member("flange", 11_760_200, 11_760_200, 11_811_000)),
        ("plate: 9 mm +- 0.01 mm", Member("plate", 9_000_000, 8_990_000, 9_010_000)),
        ("plate: 9 mm ± 10 um", Member("plate", 9_000_000, 8_990_000, 9_010_000)),
        ("top to bottom: 9 mm", Member("top to bottom", 9_000_000, 9_000_000, 9_000_000)),
    ],
)
def test_the_three_forms(text, member):
    assert read_member(text, Dimension.LENGTH, "stack-unreadable") == member


@pytest.mark.parametrize(
    "text", ["", "9 mm", ": 9 mm", "flange:", "f" * 61 + ": 9 mm", "f: 9 mm to 8 mm", "f: 1 um +- 2 um"]
)
def test_what_is_none(text):
    with pytest.raises(DomainError) as caught:
        read_member(text, Dimension.LENGTH, "stack-unreadable")
    assert caught.value.code == "stack-unreadable"


@pytest.mark.parametrize("text", ["f: 9 g", "f: 9 mm to 10", "f: 9", "f: 9 mm +-"])
def test_amounts_are_refused_as_amounts_are(text):
    with pytest.raises(DomainError) as caught:
        read_member(text, Dimension.LENGTH, "stack-unreadable")
    assert caught.value.code.split("-")[0] in ("unit", "quantity")
