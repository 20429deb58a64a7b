"""The published table of codes.

Source of the HTTP statuses: RFC 9110 section 15, RFC 6585 (428, 429), as Python's `http.HTTPStatus` has them.
"""

import ast
from http import HTTPStatus
from itertools import pairwise
from pathlib import Path

from inventory.domain.error_codes import CODES

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
        if path != ROOT / "inventory" / "domain" / "error_codes.py":
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
