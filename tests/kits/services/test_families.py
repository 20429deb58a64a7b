"""Entering families and procedures: frozen, one revision after the other."""

import copy

import pytest

from kits.models import EngineFamily, FamilyRevision, PartsLine, ProcedureRevision
from kits.services.families import enter_family, enter_procedure
from tests.factories.acts import done, refused
from tests.factories.engines import family_document as small_engine
from tests.fixtures.shop_files import family_document, procedure_document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def changed(document, **changes):
    return copy.deepcopy(document) | changes


def test_a_family_is_entered_with_its_positions():
    assert done(enter_family, document=small_engine()) == {
        "family": "Testbed-4",
        "revision": 1,
        "positions": 83,
        "unread_notices": [],
    }
    row = EngineFamily.objects.get(code="Testbed-4")
    assert (row.prefix, row.width, FamilyRevision.objects.get(family=row).document) == ("T4-", 5, small_engine())


def test_revisions_come_one_after_the_other():
    refused("revision-taken", enter_family, document=family_document("Alder-4"))
    error = refused("revision-taken", enter_family, document=changed(family_document("Alder-4"), revision=3))
    assert (error.values["next"], error.values["given"]) == (2, 3)
    done(enter_family, document=changed(family_document("Alder-4"), revision=2))
    assert FamilyRevision.objects.filter(family__code="Alder-4").count() == 2


def test_a_family_keeps_its_prefix_and_every_problem_is_named():
    other = changed(family_document("Alder-4"), revision=2)
    other["engine_numbers"] = {"prefix": "B4-", "first": 1, "width": 6}
    refused("prefix-differs", enter_family, document=other)
    broken = changed(small_engine(), name="", revision=0)
    error = refused("family-unusable", enter_family, document=broken)
    assert len(error.values["problems"]) >= 2


def test_a_procedure_names_leaf_parts_of_the_catalogue():
    document = changed(procedure_document("P1"), revision=2)
    body = done(enter_procedure, document=document)
    assert (body["procedure"], body["revision"], body["lines"]) == ("P1", 2, len(document["lines"]))
    revision = ProcedureRevision.objects.get(procedure__code="P1", revision=2)
    assert PartsLine.objects.filter(revision=revision).count() == len(document["lines"])
    assert revision.document == document


@pytest.mark.parametrize(
    ("code", "changes"),
    [
        ("revision-taken", {}),
        ("not-found", {"family": "Elm-9", "revision": 2}),
        ("procedure-unusable", {"revision": 2, "steps": []}),
    ],
)
def test_a_procedure_that_cannot_be_entered(code, changes):
    refused(code, enter_procedure, document=changed(procedure_document("P1"), **changes))
    assert ProcedureRevision.objects.filter(procedure__code="P1").count() == 1


def test_a_kit_or_an_unknown_part_in_a_line():
    for part, code in (("A-801", "kit-in-line"), ("A-999", "not-found")):
        document = changed(procedure_document("P1"), revision=2)
        document["lines"][0]["part"] = part
        error = refused(code, enter_procedure, document=document)
        assert error.values["parts"] == [part]


def test_a_procedure_of_a_family_without_a_revision():
    EngineFamily.objects.create(code="Elm-9", name="Elm", prefix="E9-")
    refused("not-found", enter_procedure, document=changed(procedure_document("P1"), family="Elm-9", code="P99"))
