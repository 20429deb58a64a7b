"""When an owner has to agree to a part instead of the listed one, and what is refused without that."""

from datetime import date

import pytest

from inventory.domain.errors import DomainError
from kits.domain.substitute_words import refuse_not_agreed, why_asked
from kits.domain.terms import Term

ENDS = date(2026, 12, 31)
RUNS = "the engine's term runs to 2026-12-31"


@pytest.mark.parametrize(
    ("classed", "term", "why"),
    [
        (False, Term(False, None, ""), ""),
        (False, Term(True, True, "", ENDS), RUNS),
        # The meters say nothing yet: nobody may act as if the term were over.
        (False, Term(True, None, "", ENDS), f"{RUNS}, as far as is known"),
        (False, Term(True, False, "", ENDS), ""),
        # The family's document knows no term.
        (False, Term(True, None, ""), ""),
        (True, Term(True, False, "", ENDS), "the engine is under class"),
    ],
)
def test_an_owner_is_asked_under_class_and_while_the_term_runs(classed, term, why):
    assert why_asked(classed, term) == why


def test_every_pair_without_a_yes_is_named():
    pairs = [("A", "A2"), ("B", "B2"), ("C", "C2")]
    words = {("A", "A2"): True, ("C", "C2"): False, ("B2", "B"): True}
    with pytest.raises(DomainError) as caught:
        refuse_not_agreed(pairs, words, "the engine is under class")
    assert caught.value.code == "substitute-not-agreed"
    assert caught.value.message == (
        "The owner has not agreed (the engine is under class): B2 in place of B; C2 in place of C: the owner said no."
    )
    assert caught.value.values == {
        "pairs": [{"listed": "B", "instead": "B2"}, {"listed": "C", "instead": "C2"}],
    }
    refuse_not_agreed(pairs[:1], words, "the engine is under class")
