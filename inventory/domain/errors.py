"""The one error that the rules of the house raise.

Every refusal carries a code from `error_codes.CODES`, a sentence for a person, and the offending values. The REST layer renders it as
RFC 9457 `application/problem+json`.
"""

from __future__ import annotations

from typing import Any

from inventory.domain.error_codes import CODES


class DomainError(Exception):
    """A rule said no.

    code     a key of `CODES` (KeyError at construction otherwise: an unpublished code is a defect)
    message  a sentence for a person, naming the value
    values   the offending values, JSON-ready
    ways_out what can be done about it, sentences
    """

    def __init__(self, code: str, message: str, *, ways_out: tuple[str, ...] = (), **values: Any) -> None:
        CODES[code]
        super().__init__(message)
        self.code = code
        self.message = message
        self.values = values
        self.ways_out = ways_out

    @property
    def status(self) -> int:
        """HTTP status of the code."""
        return CODES[self.code].status

    def __repr__(self) -> str:
        return f"DomainError({self.code!r}, {self.message!r}, {self.values!r})"


class ManyErrors(DomainError):
    """A refused batch: says every refused line, not the first. `errors` is a tuple of (line number from 1, DomainError)."""

    def __init__(self, errors: tuple[tuple[int, DomainError], ...]) -> None:
        first = errors[0][1]
        super().__init__(
            first.code,
            "; ".join(f"line {number}: {error.message}" for number, error in errors),
            lines=[
                {"line": number, "code": error.code, "detail": error.message, "values": error.values}
                for number, error in errors
            ],
        )
        self.errors = errors
