"""Why another part is not taken for a job: its engine's number first, by lines and by notices; nothing where nothing is known."""

from datetime import date

import pytest

from inventory.models import Part
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement
from kits.models import Engine
from kits.queries.why_not import LOOKED_INTO, by_number, reasons
from tests.factories.acts import done
from tests.factories.rebuilds import book, listed, shelve
from tests.factories.stores import PartFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

DAY = date(2025, 1, 10)
# Worked example of the demo shop (invented): the old gasket fits below A4-020450 only.
NUMBER = "A-201 fits below A4-020450 only; this engine is A4-020454."


def pk(number):
    return Part.objects.get(number=number).pk


def above_the_change():
    return book("J1028", engine="A4-020454", findings=[("head-off", "ENGINE")])


def test_the_number_says_why_by_part_number_and_by_lot():
    shelve({"A-201": 1, "A-502": 10})
    why = reasons(above_the_change(), DAY)
    assert [why(text, pk("A-203")) for text in ("a 201", "A-201/1")] == [NUMBER, NUMBER]


def test_of_an_engine_that_was_changed_in_the_field_the_number_says_nothing():
    job = above_the_change()
    Engine.objects.filter(pk=job.engine_id).update(field_modified=True)
    job.engine.refresh_from_db()
    assert reasons(job, DAY)("A-201", pk("A-203")) == ""
    assert by_number(listed(job), Part.objects.get(number="A-201")) == ""


def test_a_notice_says_it_too():
    PartFactory(number="A-111N", kind="O-ring")
    line = ReplacementIn("A-111", [NewPart("A-111N")], fate="use only below a number", engine_below="A4-020450")
    done(add_replacement, line=line)
    why = reasons(above_the_change(), DAY)
    assert why("A-111", pk("A-203")) == "A-111 fits below A4-020450 only; this engine is A4-020454."


def test_a_part_of_no_such_number_is_told_what_the_list_says():
    why = reasons(above_the_change(), DAY)
    assert why("R-201", pk("A-203")) == "R-201 is not on the list of this job."
    # It is wanted, at another line.
    assert why("A-204", pk("A-203")) == ""


def test_nothing_is_said_of_what_is_not_known_of_the_line_s_own_part_and_of_several():
    shelve({"A-203": 1, "A-201": 1})
    for number in ("A-203", "A-201"):
        Part.objects.get(number=number).lots.update(code="SAME")
    why = reasons(above_the_change(), DAY)
    assert [why(text, pk("A-203")) for text in ("no such thing", "A-203", "SAME")] == ["", "", ""]


def test_a_pick_of_nothing_but_wrong_scans_costs_no_more_than_the_first_of_them(django_assert_max_num_queries):
    why, wanted = reasons(above_the_change(), DAY), pk("A-203")
    said = [why(f"A{'-' * dashes}201", wanted) for dashes in range(LOOKED_INTO)]
    with django_assert_max_num_queries(0):
        assert why("A 201", wanted) == ""
    assert said == [NUMBER] * LOOKED_INTO
