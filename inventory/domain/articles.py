"""The indefinite article before a word that is put into a sentence."""

from __future__ import annotations

#: First letters that are spoken as another sound: a unit, a user, a one-way valve; an hour.
_CONSONANT = ("eu", "one", "uni", "use")
_SILENT = ("hour",)


def a(word: object) -> str:
    """The word with its article: "a bench", "an engine", "an outside work". For words, not for codes, which are spelled out."""
    said = str(word)
    small = said.lower()
    vowel = small.startswith(("a", "e", "i", "o", "u", *_SILENT)) and not small.startswith(_CONSONANT)
    return f"{'an' if vowel else 'a'} {said}"
