"""What a row of a table names, found on record."""

import pytest

from inventory.domain.import_cells import Cell, gather
from inventory.domain.import_kinds import STOCK
from inventory.domain.import_known import Row, document, known_part, measure
from inventory.domain.import_rows import wanted_keys
from inventory.domain.units import Dimension
from tests.factories.tables import KNOWN, RING, TODAY, asked, row


def test_a_number_whose_zeros_are_missing_is_looked_up_with_them():
    judged = row(STOCK, part="412", place="R1", amount="4")
    assert asked(judged) == [("zeros-eaten", "part", "00412")]
    assert row(STOCK, answers={"part": "00412"}, part="412", place="R1", amount="4").values["part"] == "00412"
    assert "00412" in wanted_keys(STOCK, [{"part": Cell("412")}])


def a_row(**values):
    return Row(STOCK, KNOWN, gather([], STOCK.reads), TODAY, {}, values=values)


def test_a_part_is_found_however_its_number_is_written():
    found = a_row(part="x 111")
    assert (known_part(found), found.values["part"], found.errors) == (RING, "X-111", [])
    lost = a_row(part="Y-1")
    assert (known_part(lost), [error.code for error in lost.errors]) == (None, ["not-found"])


@pytest.mark.parametrize("text", ["[1]", "{", "NaN", '{"a": NaN}', "7"])
def test_several_words_in_a_cell_are_an_object_or_refused(text):
    found = a_row(life=text)
    assert (document(found, "life"), [error.code for error in found.errors]) == ({}, ["cell-unreadable"])
    assert document(a_row(life='{"from": "cure"}'), "life") == {"from": "cure"}


def test_a_measure_has_its_unit():
    assert measure(a_row(weight="1.2 kg"), "weight", Dimension.MASS) == 1_200_000
    bare = a_row(weight="1.2")
    assert (measure(bare, "weight", Dimension.MASS), [doubt.code for doubt in bare.doubts]) == (None, ["no-unit"])
