"""What an app asks before something is bought straight to a bench: whose bench that is, the stores do not know. Private to services."""

from __future__ import annotations

from collections.abc import Callable

from inventory.models import Place

#: Gets a bench, inside the transaction and before any other lock is taken; raises DomainError where nothing may come to it.
Question = Callable[[Place], None]

_questions: list[Question] = []


def ask(question: Question) -> None:
    """Have this asked of every bench."""
    if question not in _questions:
        _questions.append(question)


def ask_all(bench: Place) -> None:
    """That something may come to this bench."""
    for question in _questions:
        question(bench)
