"""How many pieces a use position takes at most."""

from __future__ import annotations

import pytest

from kits.domain.most_pieces import most_pieces
from kits.domain.procedures import Operation, parse_operation
from tests.factories.engines import family, operation_documents


def told(**amounts: str) -> list[Operation]:
    """The operations of the small family, with other amounts in the lines that end so."""
    documents = operation_documents()
    for document in documents.values():
        for line in document["lines"]:
            line["amount"] = amounts.get(line["id"].partition("-")[2], line.get("amount"))
    kept = [one | {"lines": [_without_none(line) for line in one["lines"]]} for one in documents.values()]
    return [parse_operation(one, family()) for one in kept]


def _without_none(line: dict[str, object]) -> dict[str, object]:
    return {key: value for key, value in line.items() if value is not None}


@pytest.mark.parametrize(
    ("part", "position", "most"),
    [
        ("COVER-RUBBER", "COVER-LEFT/gasket", 4),  # a joint that is sealed with four pieces
        ("CORK", "COVER-RIGHT/gasket", 4),  # of a part that no line names there it takes what the lines give
        ("SHIM-5", "CYL-2/shim", 3),  # three thin shims, or one thick one
        ("SHIM-9", "CYL-2/shim", 1),
        ("SHIM-7", "CYL-2/shim", 3),
        ("RING", "CYL-2/ring", 1),
        ("SEALANT", "SUMP/bead", 1),  # measured out: no line counts pieces there
        ("OIL", "OIL/fill", 1),
        ("CAMSHAFT", "CAMSHAFT/camshaft", 1),  # no line names it: the map has one place for each thing
    ],
)
def test_the_lines_say_how_many_a_position_takes(part: str, position: str, most: int) -> None:
    assert most_pieces(told(C="4 EA", thin="3 EA"), position, part) == most


def test_the_procedure_that_gives_most_speaks() -> None:
    two, four = told(C="2 EA"), told(C="4 EA")
    assert most_pieces([*four, *two], "COVER-LEFT/gasket", "COVER-RUBBER") == 4
    assert most_pieces([*two, *four], "COVER-LEFT/gasket", "COVER-RUBBER") == 4
    assert most_pieces([], "COVER-LEFT/gasket", "COVER-RUBBER") == 1
