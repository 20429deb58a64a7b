"""Replacement notices as they join parts."""

import pytest

from inventory.models import Replacement, ReplacementPart
from inventory.queries.replacements import joined_parts
from tests.factories.stores import PartFactory

pytestmark = pytest.mark.django_db


def test_parts_are_joined_over_any_number_of_notices_either_way(django_assert_num_queries):
    parts = [PartFactory() for _ in range(6)]
    for old, new, withdrawn in ((0, 1, False), (2, 1, False), (2, 3, False), (3, 4, True)):
        row = Replacement.objects.create(old=parts[old], way="one way", withdrawn=withdrawn)
        ReplacementPart.objects.create(replacement=row, part=parts[new])
    ids = [part.pk for part in parts]
    with django_assert_num_queries(1):
        assert joined_parts([ids[0]]) == {ids[1], ids[2], ids[3]}
    assert joined_parts([ids[3], ids[1]]) == {ids[0], ids[2]}
    assert joined_parts([ids[5]]) == joined_parts([]) == set()
