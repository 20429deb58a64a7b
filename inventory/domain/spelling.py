"""Lot codes and serial numbers as people write them: `AB-12`, `ab 12` and `AB12` are one lot until somebody says otherwise.

Pure. The label itself is kept as it was written first; its key is only ever used to find it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Collection

from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import LEFT_OUT, LIKE_LATIN, MAX_CHARACTERS


def label_key(text: str) -> str:
    """Upper case, compatibility forms made plain (NFKC), letters of other scripts that print like Latin ones as these; spaces, dashes, dots,
    slashes and what nobody sees (Unicode category Cf) left out; at most 60 characters, never empty. Where `compare_key` reads a number, it
    is the same.

    A label of nothing but such marks is its own key.
    """
    plain = unicodedata.normalize("NFKC", text).upper().translate(LEFT_OUT).translate(LIKE_LATIN)
    seen = "".join(char for char in plain if unicodedata.category(char) != "Cf")
    return (seen or text)[:MAX_CHARACTERS]


def spelled(text: str, known: Collection[str], *, what: str, another: bool = False) -> str | None:
    """Which of the labels on record, all of one key, is meant by `text`; None for a new one.

    what     "lot" or "serial", for the words
    another  a person says that it is another one than what is on record in another spelling
    DomainError "spelling-ambiguous" where several were kept apart and none is written just so.
    """
    if text in known:
        return text
    if another or not known:
        return None
    if len(known) > 1:
        raise DomainError(
            "spelling-ambiguous",
            f"{what} {text}: {' and '.join(sorted(known))} are on record and were kept apart.",
            ways_out=("Write it as one of them.", f"If it is yet another, say so (another_{what})."),
            label=text,
            known=sorted(known),
        )
    return next(iter(known))
