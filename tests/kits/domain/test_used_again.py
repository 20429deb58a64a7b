"""Joints that are made twice, and whether what was closed in once goes in again.

Worked example of the demo shop (invented): the head of a Larch-3 is fitted for a trial with soft test pieces under it, to measure how far
the pistons stand off; its gasket is still one.
"""

import json

import pytest

from inventory.domain.catalogue import KINDS
from kits.domain.choices import settle
from kits.domain.engine_numbers import parse_engine_number
from kits.domain.explosion import explode
from kits.domain.findings import Finding
from kits.domain.procedures import CLASSES, parse_operation
from kits.domain.settled import totals
from kits.domain.used_again import CRUSHED, used_again
from tests.kits.domain.test_demo_lists import SHOP, family

LARCH = family("larch-3")
HEAD = {"finding": "head-off", "at": "any"}
PIECES = {
    "id": "P6-30-0", "step": 30, "tray": 3, "part": "TEST-PIECES", "at": "HEAD/gasket", "amount": "1 EA", "how": "count", "when": HEAD,
    "class": "always-new", "make": 1, "because": "trial fit: how far the pistons stand off",
}  # fmt: skip


def document(gasket_makes=(1,), pieces=()):
    """P6 of the demo shop, its gasket at these makes of the joint, and the test pieces."""
    told = json.loads((SHOP / "procedures" / "P6.json").read_text(encoding="utf-8"))
    lines = []
    for line in told["lines"]:
        if line["at"] == "HEAD/gasket":
            lines += [line | {"id": f"{line['id']}-{make}", "make": make} for make in gasket_makes]
        else:
            lines.append(line)
    return told | {"lines": [*lines, *pieces]}


def at_the_head(told):
    number = parse_engine_number("L3-00911", {LARCH.numbering.prefix: LARCH.numbering.width})
    explosion = explode(LARCH, [parse_operation(told, LARCH)], [Finding("head-off", "ENGINE")], number)
    return {
        key: {one.part for one in its.candidates}
        for key, its in explosion.requirements.items()
        if key[0] == "HEAD/gasket"
    }


def test_a_trial_fit_on_soft_test_pieces_still_takes_one_gasket():
    assert at_the_head(document()) == {("HEAD/gasket", 1): {"L-201", "L-202"}}
    assert at_the_head(document(gasket_makes=(2,), pieces=(PIECES,))) == {
        ("HEAD/gasket", 1): {"TEST-PIECES"},
        ("HEAD/gasket", 2): {"L-201", "L-202"},
    }


def test_a_gasket_that_is_crushed_in_a_trial_counts_again_only_where_the_procedure_says_so():
    assert list(at_the_head(document(gasket_makes=(1, 2)))) == [("HEAD/gasket", 1), ("HEAD/gasket", 2)]
    assert list(at_the_head(document(gasket_makes=(1, 2, 3)))) == [("HEAD/gasket", make) for make in (1, 2, 3)]


def test_every_make_is_counted_in_the_totals():
    number = parse_engine_number("L3-00911", {LARCH.numbering.prefix: LARCH.numbering.width})
    cover = json.loads((SHOP / "procedures" / "P6.json").read_text(encoding="utf-8"))
    once = next(line for line in cover["lines"] if line["at"] == "ROCKER-COVER/gasket")
    twice = cover | {"lines": [*cover["lines"], once | {"id": "again", "make": 2}]}

    def covers(told):
        explosion = explode(LARCH, [parse_operation(told, LARCH)], [Finding("head-off", "ENGINE")], number)
        return {one.part: one.amount for one in totals(settle(explosion, {}))}[once["part"]]

    assert (covers(cover), covers(twice)) == (1, 2)


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("line_class", CLASSES)
def test_the_answer_by_class(line_class, kind):
    answer = used_again(line_class, kind)
    assert answer.yes is (line_class == "inspect" or (line_class == "measured" and kind not in CRUSHED))
    assert answer.reason


def test_what_is_crushed_is_a_kind_of_the_catalogue():
    assert CRUSHED <= KINDS
