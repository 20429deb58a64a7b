"""The spans that a family states, by themselves; what they are asked for is in test_bands.py."""

import pytest

from kits.domain.expected import read_spans
from kits.domain.reading import Reader


def test_spans_are_read_in_base_units():
    reader = Reader()
    found = read_spans(
        {"spans": {"ring-gap": {"low": "0.30 mm", "high": "1.20 mm"}, "weight": {"low": "410 g", "high": "410 g"}}},
        reader,
    )
    assert (dict(found), reader.problems) == (
        {"ring-gap": (300_000, 1_200_000), "weight": (410_000, 410_000)},
        [],
    )
    assert read_spans({}, reader) == {}


@pytest.mark.parametrize(
    ("entry", "where"),
    [
        ({"low": "1.20 mm", "high": "0.30 mm"}, "facts, spans, ring-gap"),
        ({"low": "0.30 mm"}, "facts, spans, ring-gap, high"),
        ({"low": "0.30 g", "high": "1.20 mm"}, "facts, spans, ring-gap, low"),
    ],
)
def test_what_is_wrong_with_one_is_named_and_the_others_are_read(entry, where):
    reader = Reader()
    found = read_spans({"spans": {"ring-gap": entry, "weight": {"low": "400 g", "high": "425 g"}}}, reader)
    assert dict(found) == {"weight": (400_000, 425_000)}
    assert [problem.where for problem in reader.problems] == [where]
