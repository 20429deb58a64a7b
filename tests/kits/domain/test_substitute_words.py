"""When an owner has to agree to a part instead of the listed one, and what is refused without that."""

from datetime import date

import pytest

from kits.domain.substitute_words import lacking, not_agreed, why_asked
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
        (True, None, "the engine is under class"),
        (False, None, ""),
    ],
)
def test_an_owner_is_asked_under_class_and_while_the_term_runs(classed, term, why):
    assert why_asked(classed, term) == why


def test_the_newest_word_on_a_pair_counts():
    said = [(("A", "A2"), False), (("C", "C2"), True), (("A", "A2"), True), (("C", "C2"), False), (("B2", "B"), True)]
    pairs = [("C", "C2"), ("A", "A2"), ("B", "B2")]
    assert lacking(pairs, said, {}) == {("B", "B2"): False, ("C", "C2"): True}
    assert lacking([("A", "A2")], said, {}) == lacking([], said, {}) == {}


def test_two_records_of_one_number_are_one_part():
    """A 2 was joined to A2, and A to A-1: a word on either record is a word on both, and one in place of the other asks nobody."""
    kept = {"A 2": "A2", "A": "A-1"}
    said = [(("A-1", "A2"), True)]
    assert lacking([("A", "A 2"), ("A2", "A 2"), ("A", "A-1")], said, kept) == {}
    assert lacking([("A", "A 2")], said, {}) == {("A", "A 2"): False}
    # The newest word counts, under whichever record it was said.
    assert lacking([("A-1", "A2")], [*said, (("A", "A 2"), False)], kept) == {("A-1", "A2"): True}


def test_every_pair_without_a_yes_is_named_with_ways_out():
    error = not_agreed({("B", "B2"): False, ("C", "C2"): True}, "the engine is under class", "Return it.")
    assert error.code == "substitute-not-agreed"
    assert error.message == (
        "The owner has not agreed (the engine is under class): B2 in place of B; C2 in place of C: the owner said no."
    )
    assert error.ways_out == ("Ask the owner, and record the word.", "Return it.")
    assert error.values == {
        "pairs": [{"listed": "B", "instead": "B2"}, {"listed": "C", "instead": "C2"}],
    }
