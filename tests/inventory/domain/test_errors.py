"""The two errors that carry a code of the published table."""

import pytest

from inventory.domain.errors import DomainError, ManyErrors


def test_an_error_carries_its_code_its_sentence_and_the_values_it_refused() -> None:
    error = DomainError(
        "wrong-scan", "Line 3 names lot A, lot B was scanned.", ways_out=("Scan lot A.",), line=3, lot="B"
    )
    assert (error.code, error.status, error.values) == ("wrong-scan", 422, {"line": 3, "lot": "B"})
    assert (str(error), error.ways_out) == (error.message, ("Scan lot A.",))
    assert repr(error) == "DomainError('wrong-scan', 'Line 3 names lot A, lot B was scanned.', {'line': 3, 'lot': 'B'})"


def test_a_code_that_is_not_published_is_a_defect() -> None:
    with pytest.raises(KeyError):
        DomainError("no-such-code", "A sentence.")


def test_a_refused_batch_says_every_refused_line() -> None:
    first = DomainError("expired", "Lot A is past its use-by.", lot="A")
    second = DomainError("not-there", "Shelf 1 holds 2.", amount=2)
    both = ManyErrors(((2, first), (7, second)))
    assert (both.code, both.status) == ("expired", 422)
    assert both.message == "line 2: Lot A is past its use-by.; line 7: Shelf 1 holds 2."
    assert both.values == {
        "lines": [
            {"line": 2, "code": "expired", "detail": "Lot A is past its use-by.", "values": {"lot": "A"}},
            {"line": 7, "code": "not-there", "detail": "Shelf 1 holds 2.", "values": {"amount": 2}},
        ]
    }
    assert both.errors == ((2, first), (7, second))
