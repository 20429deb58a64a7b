"""Rows of each kind of table, beside what is on record."""

import pytest

from inventory.domain.import_cells import Cell
from inventory.domain.import_kinds import LOTS, PARTS, PRICES, SETS, STOCK, SUPPLIERS
from inventory.domain.import_rows import Verdict, wanted_keys
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


# Stock
def test_amounts_without_a_unit_are_pieces_where_none_in_the_file_names_one():
    others = [{"amount": "7"}]
    judged = row(STOCK, others, part="x 111", place="R1", amount="4", lot="L1")
    assert (judged.verdict, judged.values["base_amount"], judged.values["part"]) == (Verdict.ACCEPTED, 4, "X-111")


def test_amounts_without_a_unit_among_others_with_one_are_asked_about():
    others = [{"amount": "7 EA"}]
    judged = row(STOCK, others, part="X-111", place="R1", amount="4", lot="L1")
    assert asked(judged) == [("no-unit", "amount", "4 EA")]
    assert (
        row(STOCK, others, answers={"amount": "4 EA"}, part="X-111", place="R1", amount="4", lot="L1").values[
            "base_amount"
        ]
        == 4
    )


def test_what_is_poured_never_has_a_number_alone():
    assert asked(row(STOCK, part="X-706", place="R1", amount="4")) == [("no-unit", "amount", "4 LTR")]
    assert row(STOCK, part="X-706", place="R1", amount="4", unit="mL").values["base_amount"] == 4000


def test_pieces_of_what_is_counted_by_the_pair_are_asked_about():
    judged = row(STOCK, part="X-401", place="R1", amount="4 pcs")
    assert asked(judged) == [("another-unit", "amount", "")]
    assert row(STOCK, answers={"amount": "2 PR"}, part="X-401", place="R1", amount="4 pcs").values["base_amount"] == 2


def test_a_number_whose_zeros_are_missing_is_looked_up_with_them():
    judged = row(STOCK, part="412", place="R1", amount="4")
    assert asked(judged) == [("zeros-eaten", "part", "00412")]
    assert row(STOCK, answers={"part": "00412"}, part="412", place="R1", amount="4").values["part"] == "00412"
    assert "00412" in wanted_keys(STOCK, [{"part": Cell("412")}])


@pytest.mark.parametrize(
    ("cells", "codes"),
    [
        ({"part": "Y-1", "amount": "4"}, ["not-found"]),
        ({"part": "X-111", "amount": "4"}, ["lot-missing"]),
        ({"part": "X-101", "amount": "1"}, ["serial-missing"]),
        ({"part": "X-101", "amount": "2", "serial": "S1"}, ["amount-too-large"]),
        ({"part": "00412", "amount": "4", "serial": "S1"}, ["serial-not-kept"]),
        ({"part": "00412", "amount": "4", "lot": "L1"}, ["lot-not-kept"]),
        ({"part": "00412", "amount": "4", "place": "R9"}, ["not-found"]),
        ({"part": "00412", "amount": "4 mL"}, ["quantity-wrong-dimension"]),
        ({"part": "00412", "amount": "4,5"}, ["quantity-unreadable"]),
        ({"part": "00412", "amount": ""}, ["cell-missing"]),
    ],
)
def test_stock_that_nothing_makes_right(cells, codes):
    judged = row(STOCK, **({"place": "R1"} | cells))
    assert (judged.verdict, refused(judged)) == (Verdict.REFUSED, codes)


# Lots
def test_a_day_ahead_is_asked_about_where_day_and_month_may_be_changed_about():
    others = [{"received on": "13/01/2024"}]
    judged = row(LOTS, others, part="X-111", lot="L1", received_on="03/04/2025")
    assert asked(judged) == [("day-swapped", "received on", "2025-03-04")] or refused(judged) == ["from-the-future"]
    swapped = row(LOTS, others, part="X-111", lot="L1", received_on="01/12/2025")
    assert asked(swapped) == [("day-swapped", "received on", "2025-01-12")]
    assert refused(row(LOTS, others, part="X-111", lot="L1", received_on="16/01/2025")) == ["from-the-future"]


@pytest.mark.parametrize(
    ("cells", "codes"),
    [
        ({"lot": "L1", "cured": "5Q23"}, ["cure-date-unreadable"]),
        ({"lot": "L1", "supplier": "NOBODY"}, ["not-found"]),
        ({"part": "00412", "lot": "L1"}, ["lot-not-kept"]),
    ],
)
def test_lots_that_nothing_makes_right(cells, codes):
    assert refused(row(LOTS, **({"part": "X-111"} | cells))) == codes


def test_the_other_kinds():
    assert row(SUPPLIERS, code="SALT", name="Salt").verdict is Verdict.ACCEPTED
    assert refused(row(SUPPLIERS, code="S" * 41, name="Salt")) == ["text-too-long"]
    assert row(PRICES, supplier="SALT", part="X-111", price="2.10").values["price"] == 210
    assert refused(row(PRICES, supplier="SALT", part="X-111", price="2.10", pack="0")) == ["part-unusable"]
    its = {"part": "X-101", "serial": "S1", "place": "R1"}
    judged = row(SETS, **its, **{"weight without pin": "320 g"}, bore="93.005 mm", piston="92.905 mm")
    names = ("weight_mg", "weighed", "bore_nm", "piston_nm")
    assert [judged.values[name] for name in names] == [320_000, "without pin", 93_005_000, 92_905_000]
    assert refused(row(SETS, **its, weight="416 g")) == ["weight-unsaid"]
    assert refused(row(SETS, **its, **{"weight with pin": "416 g", "weight without pin": "320 g"})) == ["weight-unsaid"]
    assert refused(row(SETS, part="X-101", serial="S1", place="R1", bore="92.9 mm", piston="92.9 mm")) == [
        "cell-unreadable"
    ]
    assert refused(row(SETS, part="X-111", serial="S1", place="R1")) == ["part-unusable"]
