"""How a number looks to a tired eye is said alike by the rule and by both databases, and found by an index."""

from itertools import product

import pytest

from inventory.domain.part_numbers import look_of
from inventory.models import Lot, Part, Serial
from inventory.models.looks import Look, look_sql
from inventory.queries import by_hand
from tests.factories.moves import plans
from tests.factories.stores import PartFactory

pytestmark = pytest.mark.django_db


def test_the_databases_read_a_key_as_the_rule_does():
    """Brute force over every word of three characters that look alike, and two that look like nothing else."""
    part = PartFactory(number="X-1")
    words = ["".join(word) for word in product("0O1IL5S8BA7", repeat=3)]
    Lot.objects.bulk_create(Lot(part=part, code=word, compare_key=word) for word in words)
    stored = Lot.objects.annotate(look=Look("compare_key")).values_list("compare_key", "look")
    assert dict(stored) == {word: look_of(word) for word in words}
    assert look_of("0O1IL5S8BA7") == "001115588A7"


@pytest.mark.parametrize(("model", "index"), [(Lot, "lot_by_look"), (Serial, "serial_by_look"), (Part, "part_by_look")])
def test_an_index_finds_what_looks_so(model, index):
    """By the query of a service, and by a join of a statement by hand."""
    join = f"SELECT l.id FROM {model._meta.db_table} l WHERE {look_sql('l.compare_key')} = {look_sql('%s')}"
    assert index in plans(lambda: list(model.objects.alias(look=Look("compare_key")).filter(look="58")))
    assert index in plans(lambda: by_hand.rows(join, ["SB"]))
