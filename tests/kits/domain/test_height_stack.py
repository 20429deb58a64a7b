"""New parts of the demo shop's families: what their facts come to. Limits and nominals are worked examples of the demo shop (invented)."""

from dataclasses import replace

import pytest

from inventory.domain.errors import DomainError
from kits.domain.families import parse_family
from kits.domain.height_stack import height_stack
from kits.domain.stacks import Standing
from tests.fixtures.shop_files import FAMILY_FILES, family_document


@pytest.mark.parametrize("family", FAMILY_FILES)
def test_nominal_parts_make_the_printed_height_and_new_ones_are_measured(family):
    found = height_stack(parse_family(family_document(family)).facts)
    assert found.found.nominal_nm == found.printed_nm
    inside = family in ("Rowan-6", "Larch-3")
    assert found.standing is (Standing.INSIDE if inside else Standing.MEASURE)
    assert found.found.low_nm < found.found.nominal_nm < found.found.high_nm


def test_on_the_base_ring_it_is_stated_with():
    # Liner 61.000 less ledge 61.840 on the 0.90 ring: 0.060.
    found = height_stack(parse_family(family_document("Larch-3")).facts)
    assert [(one.name, one.sign, one.nominal_nm) for one in found.members][-1] == ("base ring", 1, 900_000)
    assert found.found.nominal_nm == 60_000


def test_without_its_facts_there_is_none():
    facts = parse_family(family_document("Larch-3")).facts
    for lacking in ("liner_height", "block_depth", "protrusion"):
        with pytest.raises(DomainError) as caught:
            height_stack(replace(facts, **{lacking: None}))
        assert caught.value.code == "no-limit"
