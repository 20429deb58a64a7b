"""Whether an opened tube would go onto the cart as one thing."""

from types import SimpleNamespace

import pytest

from kits.services.whole_tubes import InTube, part_of_tube

HOLD = SimpleNamespace(pk=7, amount=20_000, part="SEALANT", label="T-1")
FREE, SHARED, LENT = (InTube(25_000, 20_000, False), InTube(25_000, 25_000, False), InTube(25_000, 20_000, True))


@pytest.mark.parametrize(
    ("inside", "counted", "way"),
    [
        (InTube(20_000, 20_000, False), None, None),
        (InTube(20_000, 20_000, False), 20_000, None),
        (InTube(20_000, 20_000, False), 19_999, "Weigh it"),
        (InTube(20_000, 20_000, False), 25_000, "Weigh it"),
        (FREE, None, None),
        (FREE, 25_000, None),
        (FREE, 20_000, "Weigh it"),
        (FREE, 24_999, "Weigh it"),
        (SHARED, None, "others hold of it too"),
        (SHARED, 25_000, "others hold of it too"),
        (LENT, None, "close the loan"),
        (InTube(20_000, 20_000, True), None, None),
    ],
)
def test_all_of_it_or_why_not(inside: InTube, counted: int | None, way: str | None) -> None:
    error = part_of_tube(HOLD, counted, {7: inside})
    assert (error is None) == (way is None)
    if error is not None and way is not None:
        assert error.code == "not-whole" and way in error.ways_out[0]


def test_what_is_no_opened_tube_is_counted_as_anything() -> None:
    assert part_of_tube(HOLD, 1, {}) is None
