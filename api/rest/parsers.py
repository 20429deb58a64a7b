"""Reading request bodies: JSON only, and no JSON that two readers could understand differently.

Refused, always naming where: NaN and Infinity, a key that stands twice (RFC 8259 section 4 leaves open which counts), whole
numbers beyond 2^53 (RFC 7493 section 2.2), NUL and lone surrogates in text (no database can store them), too deep nesting, too
many bytes.
"""

from __future__ import annotations

import json
import math
import re
from decimal import Decimal
from typing import Any

from rest_framework.parsers import BaseParser

from api.rest.problems import refuse
from inventory.domain.quantities import MAX_BASE_AMOUNT
from inventory.domain.text import shown

MAX_BYTES = 2 * 1024 * 1024
MAX_DEPTH = 20
#: Longer numbers are refused before Python makes an integer of them, which takes time that grows with the square.
MAX_NUMBER_CHARACTERS = 40
MAX_EXPONENT = 30
_SURROGATE = re.compile("[\ud800-\udfff]")


class StrictJSONParser(BaseParser):
    """`application/json`, strictly; numbers with a point or an exponent become Decimal."""

    media_type = "application/json"

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Any = None) -> Any:
        """The body as Python values; DomainError "bad-request" or "body-too-large"."""
        raw = stream.read(MAX_BYTES + 1)
        if len(raw) > MAX_BYTES:
            raise refuse("body-too-large", f"The body is larger than {MAX_BYTES} bytes.", most_bytes=MAX_BYTES)
        return read_json(raw)


def read_json(raw: bytes) -> Any:
    """Strict JSON of bytes; DomainError "bad-request"."""
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise refuse("bad-request", f"The body is not UTF-8 at byte {error.start}.", byte=error.start) from None
    try:
        value = json.loads(
            text,
            object_pairs_hook=_object,
            parse_constant=_constant,
            parse_int=_whole,
            parse_float=_number,
        )
    except json.JSONDecodeError as error:
        raise refuse(
            "bad-request",
            f"The body is not JSON: {error.msg} in line {error.lineno}, column {error.colno}.",
            line=error.lineno,
            column=error.colno,
        ) from None
    except RecursionError:
        raise _too_deep() from None
    check_storable(value)
    return value


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made: dict[str, Any] = {}
    for name, value in pairs:
        if name in made:
            raise refuse("bad-request", f'"{shown(name)}" stands twice in one object.', field=shown(name))
        made[name] = value
    return made


def _constant(word: str) -> Any:
    raise refuse("bad-request", f"{word} is not a number.", value=word)


def _whole(text: str) -> int:
    if len(text) > MAX_NUMBER_CHARACTERS or abs(int(text)) > MAX_BASE_AMOUNT:
        raise refuse(
            "bad-request",
            f"{shown(text)} is beyond 2^53: readers of JSON do not agree on such a number.",
            value=shown(text),
        )
    return int(text)


def _number(text: str) -> Decimal:
    value = Decimal(text) if len(text) <= MAX_NUMBER_CHARACTERS else Decimal("Infinity")
    if not math.isfinite(value) or (value and abs(value.adjusted()) > MAX_EXPONENT):
        raise refuse("bad-request", f"{shown(text)} is not a number that can be kept exactly.", value=shown(text))
    return value


def _too_deep() -> Exception:
    return refuse("bad-request", f"The body is nested deeper than {MAX_DEPTH}.", most_depth=MAX_DEPTH)


def check_storable(value: Any) -> None:
    """DomainError "bad-request" naming the first text (or key) that no database can store, or nesting beyond MAX_DEPTH."""
    waiting: list[tuple[str, Any, int]] = [("", value, 1)]
    while waiting:
        path, one, depth = waiting.pop()
        if isinstance(one, str):
            check_text(one, path or "body")
        elif isinstance(one, dict | list):
            if depth > MAX_DEPTH:
                raise _too_deep()
            inner = one.items() if isinstance(one, dict) else enumerate(one, 1)
            for name, each in inner:
                if isinstance(name, str):
                    check_text(name, f"{path} (name of a field)".strip())
                waiting.append((f"{path}.{name}" if path else str(name), each, depth + 1))


def check_text(text: str, where: str) -> None:
    """DomainError "bad-request" for NUL or a lone surrogate; `where` names the field."""
    if "\0" in text:
        raise refuse("bad-request", f"{shown(where)}: there is a NUL character in it.", field=shown(where))
    if _SURROGATE.search(text):
        raise refuse("bad-request", f"{shown(where)}: there is half a surrogate pair in it.", field=shown(where))
