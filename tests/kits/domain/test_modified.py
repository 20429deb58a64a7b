"""What the number of a changed engine decided is asked, choice by choice, until a person has said it."""

from __future__ import annotations

from kits.domain.choices import settle
from kits.domain.engine_numbers import parse_engine_number
from kits.domain.explosion import explode
from kits.domain.families import parse_family
from kits.domain.findings import Finding
from kits.domain.modified import number_questions
from kits.domain.procedures import parse_operation
from kits.domain.settled import Recorded
from tests.fixtures.shop_files import family_document, procedure_document

FAMILY = parse_family(family_document("Alder-4"))
P1 = parse_operation(procedure_document("P1"), FAMILY)


def questions(number, *recorded):
    explosion = explode(
        FAMILY,
        [P1],
        [Finding("head-off", "ENGINE"), Finding("oil-drained", "ENGINE")],
        parse_engine_number(number, {"A4-": 6}),
    )
    return number_questions(explosion, settle(explosion, {}, recorded), recorded)


def test_one_question_for_a_choice_above_and_below_the_change():
    # Demo shop: the head joint changed at A4-020450.
    for number in ("A4-020543", "A4-020443"):
        found = questions(number)
        expected = [("number-in-doubt", "HEAD/gasket", True)] if number == "A4-020543" else []
        assert [(one.kind, one.position, one.needs_person) for one in found] == expected


def test_a_recorded_word_answers_it():
    assert questions("A4-020543", Recorded("head-joint", "ENGINE", "new")) == ()
    assert questions("A4-020443", Recorded("head-joint", "ENGINE", "old")) == ()
    assert len(questions("A4-020543", Recorded("upper-half", "MAIN-1/upper-half", "1"))) == 1
