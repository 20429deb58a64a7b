"""The words by which the list of a job takes the parts that a result chose."""

from __future__ import annotations

from collections.abc import Iterable

from kits.domain.choices import place_over
from kits.domain.judging import Chosen
from kits.domain.requirements import Explosion
from kits.domain.settled import Recorded


def words_for(explosion: Explosion, chosen: Iterable[Chosen]) -> tuple[Recorded, ...]:
    """For every choice of the list that has a chosen part among its candidates: the alternative with that part, over its place.

    A position where the list asks for nothing, or for one part only, needs no word. In the order of the chosen parts, none twice.
    """
    family = explosion.family
    words: dict[tuple[str, str], Recorded] = {}
    for one in chosen:
        for (position, _), requirement in explosion.requirements.items():
            if one.position and position != one.position:
                continue
            for candidate in requirement.candidates:
                if candidate.choice and candidate.part == one.part:
                    place = place_over(family, family.choices[candidate.choice], position)
                    words.setdefault(
                        (candidate.choice, place), Recorded(candidate.choice, place, candidate.alternative)
                    )
    return tuple(words.values())
