"""Frozen documents are read once, by what they say."""

import pytest

from kits.models import FamilyRevision, ProcedureRevision
from kits.queries import documents
from kits.queries.documents import family_of, operation_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def test_a_document_is_read_once_and_told_apart_by_its_digest(monkeypatch):
    monkeypatch.setattr(documents, "_families", type(documents._families)())
    monkeypatch.setattr(documents, "_operations", type(documents._operations)())
    one = FamilyRevision.objects.get(family__code="Alder-4")
    other = FamilyRevision.objects.get(family__code="Rowan-6")
    assert family_of(one) is family_of(FamilyRevision.objects.get(pk=one.pk))
    assert (family_of(one).code, family_of(other).code) == ("Alder-4", "Rowan-6")
    row = ProcedureRevision.objects.get(procedure__code="P1")
    assert operation_of(row, family_of(one)) is operation_of(row, family_of(one))
    assert operation_of(row, family_of(one)).code == "P1"


def test_what_is_kept_is_bounded(monkeypatch):
    monkeypatch.setattr(documents, "_families", type(documents._families)())
    monkeypatch.setattr(documents, "_KEEP", 2)
    for row in FamilyRevision.objects.order_by("pk"):
        family_of(row)
    newest = list(FamilyRevision.objects.order_by("-pk").values_list("digest", flat=True)[:2])
    assert list(documents._families) == newest[::-1]
