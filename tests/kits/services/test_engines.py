"""An engine that was changed in the field: its number alone does not decide."""

import pytest

from kits.models import Engine
from kits.services.engines import mark_field_modified
from kits.services.hold_kit import hold_kit
from kits.services.jobs import record_choice
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, held, hold, listed, shelve

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def test_what_the_number_decided_waits_for_a_person():
    shelve({"A-203": 1, "A-502": 10})
    job = book(findings=[("head-off", "ENGINE"), ("liner-lifted", "CYL-1")])
    assert [one for one in listed(job).conflicts if one.needs_person] == []
    mark = {"engine": "A4-020543", "modified": True, "reason": "other block fitted in 2019"}
    assert done(mark_field_modified, **mark) == {"engine": "A4-020543", "field_modified": True}
    questions = [one for one in listed(job).conflicts if one.needs_person]
    assert [(one.kind, one.position) for one in questions] == [("number-in-doubt", "HEAD/gasket")]
    refused("list-not-ready", hold_kit, job="J1")
    done(record_choice, job="J1", choice="head-joint", place="ENGINE", alternative="new", reason="seen: steel gasket")
    assert held(hold(job, steps=["P1/50"])) == {"A-203": 1, "A-502": 10}


def test_the_mark_needs_a_reason_and_is_made_once():
    book()
    mark = {"engine": "A4-020543", "modified": True}
    refused("reason-missing", mark_field_modified, **mark, reason=" ")
    refused("not-found", mark_field_modified, engine="A4-999999", modified=True, reason="seen")
    done(mark_field_modified, **mark, reason="seen")
    refused("nothing-changed", mark_field_modified, **mark, reason="seen")
    done(mark_field_modified, engine="A4-020543", modified=False, reason="looked at again")
    assert Engine.objects.get().field_modified is False
