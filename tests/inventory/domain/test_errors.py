"""The published table of codes, and the two errors that carry them.

Source of the HTTP statuses: RFC 9110 section 15, RFC 6585 (428, 429), as Python's `http.HTTPStatus` has them.
"""

import ast
from http import HTTPStatus
from itertools import pairwise
from pathlib import Path

import pytest

from inventory.domain.errors import CODES, DomainError, ManyErrors

ROOT = Path(__file__).resolve().parents[3]
#: What each status is used for in this house; a code with another status has no meaning for a caller.
MEANT = {400, 401, 403, 404, 405, 406, 409, 412, 413, 415, 422, 428, 429, 500, 503}
CODE_FILES = sorted(
    path
    for top in ("inventory", "kits", "api")
    for path in (ROOT / top).rglob("*.py")
    if "migrations" not in path.parts
)


def literals() -> set[str]:
    """Every text that stands in the program outside the table itself."""
    found: set[str] = set()
    for path in CODE_FILES:
        if path != ROOT / "inventory" / "domain" / "errors.py":
            nodes = ast.walk(ast.parse(path.read_text()))
            found |= {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    return found


def test_the_table_is_sorted_so_that_a_code_is_found_and_entered_once() -> None:
    assert all(before < after for before, after in pairwise(CODES))


def test_codes_are_lower_case_words_joined_by_dashes() -> None:
    wrong = [code for code in CODES if not all(word.isalpha() and word.islower() for word in code.split("-"))]
    assert wrong == []


def test_every_status_is_a_registered_one_and_means_something_here() -> None:
    assert {code.status for code in CODES.values()} <= {status.value for status in HTTPStatus} & MEANT


def test_every_code_is_a_sentence() -> None:
    assert [code.title for code in CODES.values() if not (code.title[0].isupper() and code.title.endswith("."))] == []


def test_no_code_is_published_that_nothing_answers_with() -> None:
    assert sorted(set(CODES) - literals()) == []


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
