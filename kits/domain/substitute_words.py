"""Parts that go in instead of the listed ones, where the owner of the engine has to agree to that first.

An engine inside its term, or under the rules of a class society, stays what its papers say unless its owner agrees (common practice).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from inventory.domain.errors import DomainError
from kits.domain.terms import Term

#: (listed part, the part instead).
Pair = tuple[str, str]


def why_asked(classed: bool, term: Term | None) -> str:
    """Why the owner has to be asked, in words; empty: nobody has to be. A term of which nothing is decided yet counts as running.

    term  None: nobody looked, because the class decides
    """
    if classed:
        return "the engine is under class"
    if term is not None and term.begun and term.ends_on is not None and term.within is not False:
        return f"the engine's term runs to {term.ends_on}" + ("" if term.within else ", as far as is known")
    return ""


def lacking(pairs: Iterable[Pair], said: Iterable[tuple[Pair, bool]], kept: Mapping[str, str]) -> dict[Pair, bool]:
    """Pairs to which the owner did not agree → whether the owner said no to them.

    said  every word, oldest first: the newest on a pair counts
    kept  number of a joined record → of the one that is kept: two records of one number are one part
    """

    def plain(pair: Pair) -> Pair:
        listed, instead = pair
        return kept.get(listed, listed), kept.get(instead, instead)

    words = {plain(pair): agreed for pair, agreed in said}
    asked = {pair: plain(pair) for pair in sorted(set(pairs))}
    return {pair: one in words for pair, one in asked.items() if one[0] != one[1] and not words.get(one)}


def not_agreed(pairs: Mapping[Pair, bool], why: str, *otherwise: str) -> DomainError:
    """DomainError "substitute-not-agreed" that names these pairs.

    pairs  as `lacking` finds them; otherwise: what can be done besides asking the owner
    """
    said = [
        f"{instead} in place of {listed}" + (": the owner said no" if no else "")
        for (listed, instead), no in pairs.items()
    ]
    return DomainError(
        "substitute-not-agreed",
        f"The owner has not agreed ({why}): {'; '.join(said)}.",
        ways_out=("Ask the owner, and record the word.", *otherwise),
        pairs=[{"listed": listed, "instead": instead} for listed, instead in pairs],
    )
