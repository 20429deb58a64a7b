"""What an app says before something new lies on a cart or at a bench: whose these are, the stores do not know. Private to services."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from inventory.domain.errors import DomainError
from inventory.models import Place

#: Gets a cart or a bench, inside the transaction and before any other lock is taken; the refusal where nothing may come to it.
Question = Callable[[Place], DomainError | None]

_questions: list[Question] = []


def ask(question: Question) -> None:
    """Have this asked of every cart and bench."""
    if question not in _questions:
        _questions.append(question)


def refusal(place: Place, ways_out: Sequence[str]) -> DomainError | None:
    """Why nothing may come to this cart or bench, with what to do instead; None: it may."""
    for question in _questions:
        error = question(place)
        if error is not None:
            return DomainError(error.code, error.message, ways_out=(*error.ways_out, *ways_out), **error.values)
    return None
