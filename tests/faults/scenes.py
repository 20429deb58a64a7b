"""What each registered scene is: a stage that is set by real acts, and one more act, to be tried again and again."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count
from typing import Any

from inventory.services.run import Done
from tests.factories.stores import PersonFactory, stamp

Play = Callable[[], Done]
Scene = Callable[[], Play]

#: service -> the stages on which it is tried, each with a name
SCENES: dict[Callable[..., Done], list[tuple[str, Scene]]] = {}
_numbers = count(1)


def scene(service: Callable[..., Done]) -> Callable[[Callable[[], dict[str, Any]]], Callable[[], dict[str, Any]]]:
    """Registers a stage for a service: a function that sets it and returns what the service is to be called with.

    The act gets an actor and a key of its own, the same in every attempt.
    """

    def register(stage: Callable[[], dict[str, Any]]) -> Callable[[], dict[str, Any]]:
        def build() -> Play:
            given = stage()
            given.setdefault("actor", PersonFactory())
            given.setdefault("stamp", stamp())
            return lambda: service(**given)

        SCENES.setdefault(service, []).append((stage.__name__, build))
        return stage

    return register


def fresh(what: str) -> str:
    """A name that no other scene has."""
    return f"{what}{next(_numbers)}"
