"""The published table of codes.

Source of the HTTP statuses: RFC 9110 section 15, RFC 6585 (428, 429), as Python's `http.HTTPStatus` has them.
"""

from http import HTTPStatus
from itertools import pairwise

from inventory.domain.codes_of_rebuilds import OF_REBUILDS
from inventory.domain.codes_of_stores import OF_STORES
from inventory.domain.error_codes import CODES
from tests.inventory.domain.literals import literals

#: What each status is used for in this house; a code with another status has no meaning for a caller.
MEANT = {400, 401, 403, 404, 405, 406, 409, 412, 413, 415, 422, 428, 429, 500, 503}


def test_the_published_table_has_every_code_once_in_order() -> None:
    assert len(CODES) == len(OF_STORES) + len(OF_REBUILDS)
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
