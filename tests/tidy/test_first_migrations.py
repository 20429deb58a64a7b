"""The first migrations are what the models say, each table made once and whole."""

import pytest

from tests.tidy.first_migrations import OURS, operations, written
from tests.tidy.rules import ROOT


@pytest.mark.parametrize("label", OURS)
def test_the_first_migration_is_what_would_be_written(label):
    stands = (ROOT / label / "migrations" / "0001_initial.py").read_text(encoding="utf-8")
    assert stands == written(label), "write it anew: python -m tests.tidy.first_migrations"


def test_a_table_is_made_after_the_tables_it_points_at():
    names = [one.name for one in operations("inventory")]
    assert len(names) == len(set(names))
    assert names.index("Part") < names.index("Item") < names.index("Movement")
