"""Parts that go in instead of the listed ones, where the owner of the engine has to agree to that first.

An engine inside its term, or under the rules of a class society, stays what its papers say unless its owner agrees (common practice).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from inventory.domain.errors import DomainError
from kits.domain.terms import Term

#: (listed part, the part instead).
Pair = tuple[str, str]


def why_asked(classed: bool, term: Term) -> str:
    """Why the owner has to be asked, in words; empty: nobody has to be. A term of which nothing is decided yet counts as running."""
    if classed:
        return "the engine is under class"
    if term.begun and term.ends_on is not None and term.within is not False:
        return f"the engine's term runs to {term.ends_on}" + ("" if term.within else ", as far as is known")
    return ""


def refuse_not_agreed(pairs: Iterable[Pair], words: Mapping[Pair, bool], why: str) -> None:
    """DomainError "substitute-not-agreed" names every pair to which the owner did not agree.

    words  the owner's newest word on each pair
    """
    lacking = sorted({pair for pair in pairs if not words.get(pair)})
    if not lacking:
        return
    said = [
        f"{instead} in place of {listed}" + (": the owner said no" if (listed, instead) in words else "")
        for listed, instead in lacking
    ]
    raise DomainError(
        "substitute-not-agreed",
        f"The owner has not agreed ({why}): {'; '.join(said)}.",
        ways_out=("Ask the owner, and record the word.", "Wait for the listed part."),
        pairs=[{"listed": listed, "instead": instead} for listed, instead in lacking],
    )
