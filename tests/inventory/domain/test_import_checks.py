"""Rows of each kind of table, beside what is on record."""

from dataclasses import replace

import pytest

from inventory.domain.import_kinds import LOTS, PRICES, SETS, STOCK, SUPPLIERS
from inventory.domain.import_rows import Verdict
from tests.factories.tables import KNOWN, RING, asked, refused, row


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
        ({"part": "00412", "amount": "4.5"}, ["quantity-not-whole"]),
        ({"part": "00412", "amount": "4,5,6"}, ["quantity-unreadable"]),
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


# Undated
AGES = replace(
    KNOWN,
    parts={"X111": replace(RING, needs_date=True)},
    places=frozenset({"R1", "Q1"}),
    quarantines=frozenset({"Q1"}),
    labels={("lot", "X-111", "01D"): {"OLD": "OLD"}, ("lot", "X-111", "DATED"): {"DATED": "DATED"}},
    undated=frozenset({("X-111", "OLD")}),
)


@pytest.mark.parametrize(
    ("lot", "place", "questions"),
    [
        ("NEW", "R1", [("undated", "place", "Q1")]),
        ("OLD", "R1", [("undated", "place", "Q1")]),
        ("DATED", "R1", []),
        ("NEW", "Q1", []),
    ],
)
def test_what_ages_and_has_no_date_is_asked_about_on_a_shelf(lot, place, questions):
    assert asked(row(STOCK, known=AGES, part="X-111", place=place, amount="4", lot=lot)) == questions


def test_an_undated_lot_may_be_answered_into_quarantine_and_nowhere_else():
    cells = {"part": "X-111", "place": "R1", "amount": "4", "lot": "NEW"}
    judged = row(STOCK, known=AGES, answers={"place": "Q1"}, **cells)
    assert (judged.verdict, judged.values["place"]) == (Verdict.ACCEPTED, "Q1")
    assert refused(row(STOCK, known=AGES, answers={"place": "R1"}, **cells)) == ["undated"]
    two = replace(AGES, places=frozenset({"R1", "Q1", "Q2"}), quarantines=frozenset({"Q1", "Q2"}))
    assert asked(row(STOCK, known=two, **cells)) == [("undated", "place", "")]


def test_express_has_its_days_and_its_price_or_neither():
    cells = {"supplier": "SALT", "part": "X-111", "price": "2.10"}
    judged = row(PRICES, express_days="2", express_price="14.00", **cells)
    assert (judged.values["express days"], judged.values["express price"]) == (2, 1400)
    assert refused(row(PRICES, express_days="2", **cells)) == ["part-unusable"]
    assert refused(row(PRICES, lead_days="3651", **cells)) == ["part-unusable"]
    unpriced = row(PRICES, supplier="SALT", part="X-111", price="")
    assert (unpriced.verdict, len(unpriced.warnings)) == (Verdict.ACCEPTED, 1)


def test_a_day_beside_its_rule_was_counted_and_else_it_is_printed():
    days = {"part": "X-111", "lot": "L1", "expires_on": "2029-07-01", "printed_on": "2030-01-01"}
    ruled, plain = row(LOTS, expiry_rule="7 years from cure", **days), row(LOTS, **(days | {"printed_on": ""}))
    said = [(one.values["printed"], one.values["counted"]) for one in (ruled, plain)]
    assert said == [("2030-01-01", "2029-07-01"), ("2029-07-01", None)]
