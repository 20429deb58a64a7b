"""Showing back what somebody typed, safely: refusals are stored and printed, and some characters cannot be stored.

PostgreSQL refuses U+0000 in text and lone surrogates cannot be written as UTF-8, so a refusal that quoted them as typed
would itself fail.
"""

from __future__ import annotations

#: The mark that stands for a character that cannot be shown (Unicode: REPLACEMENT CHARACTER).
UNSHOWABLE = "\N{REPLACEMENT CHARACTER}"


def shown(text: object, limit: int = 40) -> str:
    """At most `limit` characters of `text`, each unprintable one replaced; an ellipsis says that more was typed."""
    whole = text if isinstance(text, str) else repr(text)
    head = "".join(char if char.isprintable() else UNSHOWABLE for char in whole[:limit])
    return head + "…" if len(whole) > limit else head
