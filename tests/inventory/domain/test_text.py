"""What is shown back of a typed text can always be stored and printed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.text import shown


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("12 mL", "12 mL"),
        ("12\x00mL", "12\N{REPLACEMENT CHARACTER}mL"),
        ("a\ud800b\n", "a\N{REPLACEMENT CHARACTER}b\N{REPLACEMENT CHARACTER}"),
        ("x" * 41, "x" * 40 + "…"),
        ("x" * 40, "x" * 40),
        (None, "None"),
        (["a"], "['a']"),
        (12, "12"),
    ],
)
def test_what_is_shown(text: object, words: str) -> None:
    assert shown(text) == words


@settings(max_examples=200, deadline=None)
@given(st.text(st.characters(), max_size=60), st.integers(1, 50))
def test_it_is_short_printable_and_writable(text: str, limit: int) -> None:
    words = shown(text, limit)
    assert len(words) <= limit + 1 and words.isprintable()
    assert words.encode("utf-8").decode() == words
    if text.isprintable() and len(text) <= limit:
        assert words == text
