"""A part is found by what somebody at a bench calls it."""

import pytest

from kits.queries.catalogue import parts_said

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        # the demo shop's own example (invented)
        ("Rowan lower liner ring", ["R-113"]),
        ("Alder base ring", ["A-111"]),
        ("alder-4 HEAD gasket steel", ["A-203"]),
        ("liner base o-ring", ["A-111", "L-121", "L-122"]),
        ("valve stem seal cyl", []),
        ("gasket", []),
        ("Rowan base ring", []),
        ("", []),
        ("% _", []),
    ],
)
def test_every_word_stands_in_its_name_its_place_or_its_family(text, numbers):
    assert sorted(part.number for part in parts_said(text) if not part.kind.startswith("kit")) == numbers
