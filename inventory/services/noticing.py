"""What a replacement notice has to keep to, whoever enters it. Private to services.

Which texts are engine numbers is known to who keeps engines, and says so (`read_numbers_by`) in its `services/notices.py`: the stores
know no engines.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from inventory.domain.errors import DomainError
from inventory.models import Part

#: Gets an engine number as typed; gives it as its family writes it, or raises DomainError.
Reads = Callable[[str], str]

_reads: list[Reads] = []


def read_numbers_by(reads: Reads) -> None:
    """Have engine numbers of notices read by this."""
    if reads not in _reads:
        _reads.append(reads)


def engine_number(typed: str) -> str:
    """An engine number of a notice as it is kept; empty stays empty. DomainError "engine-number-unreadable"."""
    for reads in _reads if typed.strip() else ():
        typed = reads(typed)
    return typed


def refuse_other_measure(old: Part, news: Iterable[Part]) -> None:
    """DomainError "replacement-unusable" where a part would be replaced by one that is kept by another measure: pieces by litres."""
    other = next((new for new in news if new.base != old.base), None)
    if other is not None:
        raise DomainError(
            "replacement-unusable",
            f"{old.number} is kept by the {old.base}, {other.number} by the {other.base}: one does not become the other.",
            ways_out=("Enter the part again under a number of its own, by the measure in which it is issued.",),
            old=old.number,
            new=other.number,
        )
