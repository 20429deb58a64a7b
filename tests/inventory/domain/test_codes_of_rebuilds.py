"""The codes of jobs, engines and procedures."""

from itertools import pairwise

from inventory.domain.codes_of_rebuilds import OF_REBUILDS
from tests.inventory.domain.literals import literals


def test_the_table_is_sorted_so_that_a_code_is_found() -> None:
    assert all(before < after for before, after in pairwise(OF_REBUILDS))


def test_what_the_stores_answer_with_is_not_among_them() -> None:
    assert sorted(set(OF_REBUILDS) & literals("inventory")) == []
