"""Old stock of a withdrawn number: blocked wherever it lies, off the shelves in one act, and what comes later goes aside too."""

from datetime import date

import pytest

from inventory.domain.errors import ManyErrors
from inventory.models import Part, Replacement
from inventory.queries.stock import on_shelves
from inventory.services.join_parts import join_parts
from inventory.services.receive import ReceiveLine, receive
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement, withdraw_replacement
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer
from inventory.services.withdraw_stock import withdraw_stock
from tests.factories.acts import done, ends, held, item, picked, refused, shorts, standing
from tests.factories.stores import PartFactory, SupplierFactory, cart, quarantine, shelf, site, stock

pytestmark = pytest.mark.django_db


def old_and_new():
    """Ten old ones in two lots on two shelves of one site, three more at another site."""
    old = PartFactory(number="OLD")
    PartFactory(number="NEW")
    quarantine("Q1")
    stock(old, 6, lot="A", place=shelf("R1"))
    stock(old, 4, lot="B", place=shelf("R2"))
    stock(old, 3, lot="A", place=shelf("S1", site("OTHER")))
    return old


def notice(fate="withdrawn", **more):
    return done(add_replacement, line=ReplacementIn("OLD", [NewPart("NEW")], fate=fate, **more))


def test_the_notice_ends_the_holds_with_named_shorts_and_blocks_what_is_left_where_it_lies():
    old = old_and_new()
    late = held(item("OLD", "lot=A"), cart("cart J1"), 2, needed_on=date(2025, 3, 1))
    early = held(item("OLD", "lot=B"), cart("cart J2"), 1, shelf="R2")
    gone_out = held(item("OLD", "lot=B"), cart("cart J3"), 2, shelf="R2")
    picked(gone_out, 2)
    body = notice(condition="cracks")
    assert shorts() == [(late.pk, 2), (early.pk, 1)]
    assert [(one["for"], one["amount"]) for one in body["shorts"]] == [("cart J1", 2), ("cart J2", 1)]
    assert f"withdrawn by replacement {body['replacement']}: cracks" in body["shorts"][0]["why"]
    assert ends() == sorted([(late.pk, "made impossible"), (early.pk, "made impossible"), (gone_out.pk, "picked")])
    assert {row.stopped for row in on_shelves([old.pk])} == {True}


@pytest.mark.parametrize(("fate", "more"), [("use up", {}), ("use only below a number", {"engine_below": "T4-00450"})])
def test_old_stock_that_may_be_used_up_stays_and_its_holds_stand(fate, more):
    old = old_and_new()
    held(item("OLD", "lot=A"), cart("cart J1"), 2)
    assert notice(fate, **more)["shorts"] == []
    assert ends() == []
    assert {row.stopped for row in on_shelves([old.pk])} == {False}
    error = refused("not-withdrawn", withdraw_stock, part="OLD", place="Q1")
    assert error.ways_out
    stock(old, 2, lot="C")


def test_all_of_a_site_goes_to_its_quarantine_in_one_act_and_the_rest_is_named():
    old_and_new()
    picked(held(item("OLD", "lot=B"), cart("cart J3"), 2, shelf="R2"), 2)
    notice()
    body = done(withdraw_stock, part="OLD", place="Q1")
    assert [(one["identity"], one["amount"], one["place"]) for one in body["moved"]] == [
        ("lot=A", 6, "R1"),
        ("lot=B", 2, "R2"),
    ]
    assert standing() == [
        ("OLD", "lot=A", "Q1", 6),
        ("OLD", "lot=A", "S1", 3),
        ("OLD", "lot=B", "Q1", 2),
        ("OLD", "lot=B", "cart J3", 2),
    ]
    assert body["elsewhere"]["totals"] == {"cart": 2, "shelf": 3}
    refused("nothing-there", withdraw_stock, part="OLD", place="Q1")
    refused("wrong-place", withdraw_stock, part="OLD", place="R1")
    refused("not-found", withdraw_stock, part="OLT", place="Q1")


def test_holds_of_a_notice_from_before_end_with_the_move():
    old = old_and_new()
    hold = held(item("OLD", "lot=A"), cart("cart J1"), 2)
    Replacement.objects.create(old=old, way="one way", fate="withdrawn")
    body = done(withdraw_stock, part="OLD", place="Q1", reason="cracks")
    assert [(one["hold"], one["amount"]) for one in body["shorts"]] == [(hold.pk, 2)]


def test_what_comes_later_goes_aside_and_never_to_a_shelf():
    old_and_new()
    line = [ReceiveLine("OLD", 5, lot="D"), ReceiveLine("NEW", 1, lot="N")]
    number = notice()["replacement"]
    given = {"supplier": SupplierFactory().code, "place": "R1", "lines": line}
    error = refused("part-withdrawn", receive, **given)
    assert isinstance(error, ManyErrors)
    assert [at for at, _ in error.errors] == [1]
    body = done(receive, quarantine="Q1", **given)
    assert [(one["place"], bool(one["quarantined"])) for one in body["lines"]] == [("Q1", True), ("R1", False)]
    fresh = item("OLD", "lot=D")
    refused("part-withdrawn", release_quarantine, lines=[ReleaseLine(fresh.pk, 5, "Q1", "R1")])
    refused("part-withdrawn", transfer, lines=[TransferLine(item("OLD", "lot=A").pk, 1, "R1", "R2")])
    # The notice does not count any more: a second person releases what was set aside.
    done(withdraw_replacement, replacement_id=number, reason="a misprint")
    done(release_quarantine, lines=[ReleaseLine(fresh.pk, 5, "Q1", "R1")])


def test_another_record_of_the_number_is_withdrawn_with_it():
    old = old_and_new()
    twin = PartFactory(number="O-L-D")
    stock(twin, 7, lot="Z")
    done(join_parts, joined="O-L-D", kept="OLD", reason="typed twice")
    hold = held(item("O-L-D", "lot=Z"), cart("cart J1"), 2)
    notice()
    assert ends() == [(hold.pk, "made impossible")]
    assert {row.stopped for row in on_shelves([old.pk, twin.pk])} == {True}
    done(withdraw_stock, part="O-L-D", place="Q1")
    assert ("O-L-D", "lot=Z", "Q1", 7) in standing()
    assert ("OLD", "lot=A", "Q1", 6) in standing()
    assert Part.objects.count() == 3
