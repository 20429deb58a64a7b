"""Rows of parts, beside the catalogue."""

import pytest

from inventory.domain.import_kinds import PARTS
from inventory.domain.import_rows import Verdict
from tests.factories.tables import asked, refused, row


def test_a_part_is_accepted_with_what_it_is_kept_as():
    judged = row(
        PARTS, number="X-900", name="filter", unit="pcs", kind="service part", weight="1.2 kg", price="7.90", pack="2"
    )
    assert judged.verdict is Verdict.ACCEPTED
    kept = {
        name: judged.values[name]
        for name in ("compare_key", "base", "kind", "tracked by", "weight_mg", "pack", "price")
    }
    assert kept == {
        "compare_key": "X900",
        "base": "piece",
        "kind": "service part",
        "tracked by": "nothing",
        "weight_mg": 1_200_000,
        "pack": 2,
        "price": 790,
    }


def test_a_kind_that_is_not_known_is_kept_to_be_sorted_and_said():
    judged = row(PARTS, number="X-900", name="filter", unit="EA", kind="oddment")
    assert (judged.verdict, judged.values["kind"]) == (Verdict.ACCEPTED, "")
    assert "to be sorted" in judged.warnings[0]


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        ({"number": "", "name": "n", "unit": "EA"}, "cell-missing"),
        ({"number": "X-9", "name": "", "unit": "EA"}, "cell-missing"),
        ({"number": "X-9", "name": "n", "unit": "furlong"}, "unit-unknown"),
        ({"number": "---", "name": "n", "unit": "EA"}, "part-number-unreadable"),
        ({"number": "X-9", "name": "n" * 201, "unit": "EA"}, "text-too-long"),
        ({"number": "X-9", "name": "n", "unit": "LTR", "tracked_by": "serial"}, "part-unusable"),
        ({"number": "X-9", "name": "n", "unit": "EA", "tracked_by": "sometimes"}, "part-unusable"),
        ({"number": "X-9", "name": "n", "unit": "EA", "compound": "c" * 21}, "text-too-long"),
        ({"number": "X-9", "name": "n", "unit": "EA", "weight": "12 mm"}, "quantity-wrong-dimension"),
        ({"number": "X-9", "name": "n", "unit": "EA", "pack": "0"}, "part-unusable"),
        ({"number": "X-9", "name": "n", "unit": "EA", "replaced_by": "x 9"}, "replacement-loop"),
        ({"number": "X-9", "name": "n", "unit": "EA", "replaced_on": "2024-01-01"}, "cell-missing"),
        ({"number": "X-111", "name": "n", "unit": "PR", "tracked_by": "lot"}, "part-unusable"),
        ({"number": "X-111", "name": "n", "unit": "EA", "tracked_by": "nothing"}, "part-unusable"),
    ],
)
def test_parts_that_nothing_makes_right(cells, code):
    judged = row(PARTS, **cells)
    assert (judged.verdict, refused(judged)) == (Verdict.REFUSED, [code])


def test_a_weight_without_a_unit_is_asked_about_and_answered():
    cells = {"number": "X-9", "name": "n", "unit": "EA", "weight": "1.2"}
    assert asked(row(PARTS, **cells)) == [("no-unit", "weight", "")]
    answered = row(PARTS, answers={"weight": "1.2 kg"}, **cells)
    assert (answered.verdict, answered.values["weight_mg"]) == (Verdict.ACCEPTED, 1_200_000)


def test_a_number_with_the_key_of_another_record_is_asked_about():
    judged = row(PARTS, number="x111", name="ring", unit="EA", tracked_by="lot")
    assert asked(judged) == [("number-known", "number", "X-111")]
    same = row(PARTS, answers={"number": "X-111"}, number="x111", name="ring", unit="EA", tracked_by="lot")
    assert same.verdict is Verdict.ACCEPTED


def test_an_answer_is_read_like_a_cell_and_may_be_wrong_too():
    judged = row(PARTS, answers={"pack": "2E+05"}, number="X-9", name="n", unit="EA", pack="1E+02")
    assert refused(judged) == ["cell-unreadable"]
