"""Parts issued in place of the listed ones."""

import pytest

from inventory.models import Part, Replacement, ReplacementPart
from inventory.services.join_parts import join_parts
from kits.queries.substitutes import substitute
from kits.services.hold_kit import hold_kit
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, hold, listed, shelve, take
from tests.factories.stores import PartFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def notice(old, new, **more):
    row = Replacement.objects.create(
        old=Part.objects.get(number=old), way=more.pop("way", "one way"), fate="use up", **more
    )
    ReplacementPart.objects.create(replacement=row, part=Part.objects.get(number=new))
    return row


def test_the_replacement_is_issued_for_what_the_shelves_lack_piece_for_piece():
    PartFactory(number="A-504N", kind="fastener")
    notice("A-504", "A-504N")
    shelve({"A-504": 1})
    shelve({"A-504N": 4})
    job = book(findings=[("main-bolt-rejected", f"MAIN-{n}/bolt-1") for n in (1, 2)])
    found = substitute(listed(job), {"A-504": 2})
    assert sum(pieces for _, pieces in found["A-504"].parts) == 2
    assert found["A-504"].because
    assert substitute(listed(job), {"A-504": 1}) == {}
    body = hold(job)
    assert {row["wanted"] for row in body["held"]} == {"A-504"}
    assert "A-504N" in {row["part"] for row in body["held"]}
    take(body)
    refused("nothing-to-hold", hold_kit, job="J1")


def test_another_record_of_the_number_serves_inside_an_either_or_group_too():
    def again(number, pieces):
        part = Part.objects.get(number=number)
        part.pk, part.number = None, number.replace("-", " ")
        part.save()
        shelve({part.number: pieces})
        done(join_parts, joined=part.number, kept=number, reason="typed twice")
        return part.number

    gasket, bolt = again("A-203", 1), again("A-504", 2)
    job = book(findings=[("cylinder-chosen", "CYL-1"), *(("main-bolt-rejected", f"MAIN-{n}/bolt-1") for n in (1, 2))])
    grouped = {line.part for line in listed(job).settled.lines if line.candidate.choice}
    assert "A-203" in grouped
    assert "A-504" not in grouped
    found = substitute(listed(job), {"A-203": 1, "A-504": 2})
    assert {part: [(one.number, pieces) for one, pieces in swap.parts] for part, swap in found.items()} == {
        "A-203": [(gasket, 1)],
        "A-504": [(bolt, 2)],
    }
    body = hold(job)
    assert {(row["part"], row["wanted"]) for row in body["held"]} >= {(gasket, "A-203"), (bolt, "A-504")}
    assert {row["part"] for row in body["shorts"]} & {"A-203", "A-504"} == set()


def test_a_replacement_that_the_engine_number_forbids_is_not_taken():
    PartFactory(number="A-504N", kind="fastener")
    notice("A-504", "A-504N", engine_from="A4-020600")
    shelve({"A-504N": 4})
    findings = [("main-bolt-rejected", "MAIN-1/bolt-1")]
    assert substitute(listed(book(findings=findings)), {"A-504": 1}) == {}
    above = book("J2", engine="A4-020700", findings=findings)
    assert [(part.number, pieces) for part, pieces in substitute(listed(above), {"A-504": 1})["A-504"].parts] == [
        ("A-504N", 1)
    ]


def test_what_may_not_be_mixed_is_chosen_for_the_whole_list():
    """The first step alone could be served with the old one; then the rest could not."""
    PartFactory(number="A-504N", kind="fastener")
    notice("A-504", "A-504N", no_mix_on="engine")
    shelve({"A-504": 1})
    shelve({"A-504N": 4})
    now = listed(book(findings=[("main-bolt-rejected", f"MAIN-{n}/bolt-1") for n in (1, 2)]))
    assert substitute(now, {"A-504": 1}) == {}
    found = substitute(now, {"A-504": 1}, {"A-504": 2})
    assert [(part.number, pieces) for part, pieces in found["A-504"].parts] == [("A-504N", 2)]
