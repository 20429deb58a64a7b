"""Problem documents (RFC 9457): every refusal of the service has this one shape, whoever refused.

`type` leads to the published table of codes, `code` is its key, `values` holds what was wrong, `ways_out` what can be done, and
`lines` every refused line of a batch.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from api.rest.words import CODES_PAGE, MEDIA_TYPE
from inventory.domain.error_codes import CODES
from inventory.domain.errors import DomainError, ManyErrors
from inventory.services.run import plain

__all__ = ["CODES_PAGE", "MEDIA_TYPE", "of_domain", "problem", "refuse"]


def refuse(code: str, message: str, *, ways_out: tuple[str, ...] = (), **values: Any) -> DomainError:
    """An error of the edge, before any service was called; the same kind as the rules raise."""
    return DomainError(code, message, ways_out=ways_out, **values)


def problem(
    code: str,
    detail: str,
    *,
    values: Mapping[str, Any] | None = None,
    ways_out: Sequence[str] = (),
    lines: Sequence[Mapping[str, Any]] = (),
) -> dict[str, Any]:
    """The document of one refusal; KeyError for a code that is not published."""
    meaning = CODES[code]
    return {
        "type": f"{CODES_PAGE}#{code}",
        "title": meaning.title,
        "status": meaning.status,
        "detail": detail,
        "code": code,
        "values": plain(dict(values or {})),
        "ways_out": list(ways_out),
        "lines": plain(list(lines)),
    }


def of_domain(error: DomainError) -> dict[str, Any]:
    """The document of a refusal by a rule; a refused batch names each of its lines."""
    values = dict(error.values)
    lines: list[dict[str, Any]] = []
    if isinstance(error, ManyErrors):
        values.pop("lines", None)
        lines = [
            {
                "line": number,
                "code": inner.code,
                "detail": inner.message,
                "values": inner.values,
                "ways_out": list(inner.ways_out),
            }
            for number, inner in error.errors
        ]
    return problem(error.code, error.message, values=values, ways_out=error.ways_out, lines=lines)
