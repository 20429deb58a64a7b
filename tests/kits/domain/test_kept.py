"""Until when a lot's piece is kept."""

from datetime import date

import pytest

from kits.domain.kept import EngineTerm, Kept, kept_for

OVER = EngineTerm("E-1", date(2025, 1, 10), True)
NEXT = EngineTerm("E-2", date(2026, 2, 28), False)
LAST = EngineTerm("E-3", date(2026, 3, 1), False)
OPEN = EngineTerm("E-4", None, False)


@pytest.mark.parametrize(
    ("terms", "decided"),
    [
        ([], Kept(True, None, "it was fitted in no engine")),
        ([OVER], Kept(True, None, "the terms of all 1 engines with it have ended")),
        ([LAST, OVER, NEXT], Kept(False, date(2026, 3, 1), "the term of E-3 runs until 2026-03-01")),
        ([OPEN, LAST], Kept(False, None, "no end of a term is on record for E-4")),
        ([EngineTerm("E-5", date(2027, 1, 1), True), NEXT], Kept(False, date(2026, 2, 28), "the term of E-2 runs until 2026-02-28")),
    ],
)  # fmt: skip
def test_it_is_kept_until_the_last_term_has_ended(terms, decided):
    """Invented engines; one whose meter reached the limit of hours is over before its months are."""
    assert kept_for(terms) == decided
