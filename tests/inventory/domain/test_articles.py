"""The article goes by the sound. Source: common practice of English."""

import pytest

from inventory.domain.articles import a
from inventory.domain.places import PlaceKind


@pytest.mark.parametrize(
    ("word", "said"),
    [
        (PlaceKind.ENGINE, "an engine"),
        (PlaceKind.OUTSIDE, "an outside work"),
        (PlaceKind.CRATE, "an old-unit crate"),
        (PlaceKind.BENCH, "a bench"),
        ("O-ring", "an O-ring"),
        ("unit", "a unit"),
        ("hour", "an hour"),
        ("", "a "),
    ],
)
def test_the_article_goes_by_the_sound(word, said):
    assert a(word) == said
