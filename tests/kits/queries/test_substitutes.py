"""Parts issued in place of the listed ones."""

import pytest

from inventory.models import Part, Replacement, ReplacementPart
from inventory.services.join_parts import join_parts
from kits.queries.mixing import mixed_on_job
from kits.queries.scope import job_by_number
from kits.queries.shorts import shorts_of
from kits.queries.substitutes import substitute
from kits.services.hold_kit import hold_kit
from kits.services.jobs import FindingIn, record_findings
from kits.services.left_over import scrap_for_job
from tests.factories.acts import done, refused
from tests.factories.rebuilds import TODAY, book, hold, listed, shelve, take
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
    found = substitute(now, {"A-504": 1}, {"A-504": {"": 2}})
    assert [(part.number, pieces) for part, pieces in found["A-504"].parts] == [("A-504N", 2)]


#: Bolts of the demo shop's V engine: nine of a kind on each head.
HEADS_OFF = [("head-off", "BANK-LEFT"), ("head-off", "BANK-RIGHT")]


def both_heads(old, new, scope="bank", number="J1", findings=HEADS_OFF):
    """A V engine with both heads off, so many head bolts of the old and the new kind, which may not be mixed."""
    if not Part.objects.filter(number="H-501N").exists():
        PartFactory(number="H-501N", kind="fastener")
        notice("H-501", "H-501N", no_mix_on=scope)
    shelve({part: pieces for part, pieces in (("H-501", old), ("H-501N", new)) if pieces})
    return book(number, engine="H8-03412", operations=["P5"], findings=findings)


def bolts_by_bank(body):
    """Bank → kind → how many bolts are held for it."""
    found = {}
    for row in body["held"]:
        if row["wanted"] == "H-501":
            for position, _, amount in row["positions"]:
                kinds = found.setdefault(position.split("/")[0], {})
                kinds[row["part"]] = kinds.get(row["part"], 0) + amount
    return found


def lacking(body):
    return [(row["part"], row["amount"]) for row in body["shorts"] if row["wanted"] == "H-501"]


def test_each_bank_gets_one_kind_where_neither_kind_serves_both():
    body = hold(both_heads(10, 9))
    assert bolts_by_bank(body) == {"HEAD-LEFT": {"H-501": 9}, "HEAD-RIGHT": {"H-501N": 9}}
    assert lacking(body) == []
    # All that is mixed on no bank may stand on one engine: it goes to the bench and in.
    take(body)
    assert mixed_on_job(listed(job_by_number("J1"))) == []
    assert [row["part"] for row in shorts_of(job_by_number("J1"), TODAY)["shorts"] if row["part"] == "H-501"] == []


def test_one_kind_serves_the_engine_where_it_can():
    body = hold(both_heads(10, 18))
    assert bolts_by_bank(body) == {"HEAD-LEFT": {"H-501N": 9}, "HEAD-RIGHT": {"H-501N": 9}}


def test_one_kind_for_the_engine_is_still_one_where_the_notice_says_engine():
    body = hold(both_heads(10, 9, scope="engine"))
    assert {part for kinds in bolts_by_bank(body).values() for part in kinds} == {"H-501"}
    assert lacking(body) == [("H-501", 8)]


def test_a_bank_that_no_kind_serves_whole_is_short_of_the_listed_one_and_gets_no_two():
    body = hold(both_heads(7, 9))
    assert bolts_by_bank(body) == {"HEAD-LEFT": {"H-501N": 9}, "HEAD-RIGHT": {"H-501": 7}}
    assert lacking(body) == [("H-501", 2)]


def test_what_sits_on_the_other_bank_binds_nobody():
    """The left head has the new kind, held before; of the right one the listed kind is there, and it is taken."""
    job = both_heads(0, 9, findings=HEADS_OFF[:1])
    assert bolts_by_bank(hold(job)) == {"HEAD-LEFT": {"H-501N": 9}}
    shelve({"H-501": 9})
    done(record_findings, job="J1", findings=[FindingIn("head-off", "BANK-RIGHT")])
    body = hold(job)
    assert bolts_by_bank(body) == {"HEAD-RIGHT": {"H-501": 9}}
    assert lacking(body) == []


def test_a_bank_that_has_one_kind_gets_no_other_while_the_next_bank_may():
    job = both_heads(0, 9, findings=HEADS_OFF[:1])
    body = hold(job)
    take(body)
    thing = next(row["item"] for row in body["held"] if row["part"] == "H-501N")
    done(scrap_for_job, job="J1", item_id=thing, amount=1, origin="cart", reason="thread torn", who_pays="shop")
    done(record_findings, job="J1", findings=[FindingIn("head-off", "BANK-RIGHT")])
    shelve({"H-501": 20})
    error = refused("mixed", hold_kit, job="J1")
    assert (error.values["part"], error.values["there"]) == ("H-501", ["H-501N"])
    shelve({"H-501N": 1})
    body = hold(job)
    assert bolts_by_bank(body) == {"HEAD-LEFT": {"H-501N": 1}, "HEAD-RIGHT": {"H-501": 9}}
