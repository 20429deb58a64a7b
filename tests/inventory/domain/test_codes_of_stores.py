"""The codes of the stores and of the way in."""

from itertools import pairwise

from inventory.domain.codes_of_stores import OF_STORES
from tests.inventory.domain.literals import literals


def test_the_table_is_sorted_so_that_a_code_is_found() -> None:
    assert all(before < after for before, after in pairwise(OF_STORES))


def test_what_only_jobs_answer_with_is_not_among_them() -> None:
    assert sorted(set(OF_STORES) - literals("inventory", "api")) == []
