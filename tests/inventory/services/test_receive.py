"""Receiving through the service: what stands where afterwards, and what is refused."""

import uuid
from datetime import date, timedelta

import pytest

from inventory.domain.errors import DomainError, ManyErrors
from inventory.models import Act, Balance, Lot, Movement, Refusal, ShopSetting
from inventory.services.break_set import break_set
from inventory.services.receive import ReceiveLine, SetLabel, receive
from inventory.services.stops import free_lot, stop_lot
from inventory.services.transfer import ReleaseLine, release_quarantine
from tests.factories.acts import done, refused
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, quarantine, shelf, stamp
from tests.factories.stores_kits import closed_kits, kit

pytestmark = pytest.mark.django_db


def send(*lines: ReceiveLine, key=None, actor=None, **more):
    return receive(
        actor=actor or PersonFactory(),
        stamp=stamp(key=key),
        supplier=SupplierFactory().code,
        place=shelf().code,
        lines=lines,
        **more,
    )


def standing() -> list[tuple[str, str, str, int]]:
    return sorted(
        Balance.objects.filter(amount__gt=0, real=True).values_list(
            "part__number", "item__identity", "place__code", "amount"
        )
    )


def test_a_lot_stands_on_the_shelf_with_its_expiry_and_the_rule_that_gave_it():
    ring = PartFactory(number="O-1", life={"from": "cure", "years": 7})
    done = send(ReceiveLine("O-1", "20 EA", lot="B1", cure_code="3Q22", total_coins=4200))
    assert standing() == [("O-1", "lot=B1", "R1", 20)]
    lot = Lot.objects.get(part=ring)
    # Group B of ISO 2230: 7 years, counted here from the first day of the quarter.
    assert lot.expires_on == date(2029, 7, 1)
    assert "first day" in lot.expiry_rule
    assert done.body["lines"][0]["typed"] == "20 EA"


def test_rubber_without_a_cure_date_is_refused_or_goes_to_quarantine():
    PartFactory(number="O-1", life={"from": "cure", "years": 7})
    with pytest.raises(ManyErrors) as refused:
        send(ReceiveLine("O-1", 20, lot="B1"))
    assert refused.value.code == "undated"
    assert standing() == []
    quarantine("Q1")
    send(ReceiveLine("O-1", 20, lot="B1"), quarantine="Q1")
    assert standing() == [("O-1", "lot=B1", "Q1", 20)]


def test_what_is_past_its_day_is_refused_or_goes_to_quarantine_and_stays_there():
    # NOON is 15 January 2025; the last day of use is inside.
    PartFactory(number="O-1", life={"printed": True})
    late = ReceiveLine("O-1", 20, lot="B1", printed_on=date(2025, 1, 14))
    with pytest.raises(ManyErrors) as caught:
        send(ReceiveLine("O-1", 20, lot="B2", printed_on=date(2025, 1, 15)), late)
    assert [(number, error.code) for number, error in caught.value.errors] == [(2, "quarantine-needed")]
    assert caught.value.errors[0][1].message == "O-1: it is past its day, 2025-01-14."
    assert standing() == []
    quarantine("Q1")
    body = send(ReceiveLine("O-1", 20, lot="B2", printed_on=date(2025, 1, 15)), late, quarantine="Q1").body
    assert standing() == [("O-1", "lot=B1", "Q1", 20), ("O-1", "lot=B2", "R1", 20)]
    assert [(one["why"], one["quarantined"]) for one in body["lines"]] == [
        ("", ""),
        ("past its day", "it is past its day, 2025-01-14"),
    ]
    # Another bag of it, without a date of its own, is of the same lot.
    send(ReceiveLine("O-1", 5, lot="B1"), quarantine="Q1")
    assert ("O-1", "lot=B1", "Q1", 25) in standing()
    row = Lot.objects.get(code="B1")
    out = [ReleaseLine(row.items.get().pk, 20, "Q1", "R1")]
    error = refused("expired", release_quarantine, lines=out)
    assert error.message == "line 1: O-1, lot B1 is past its day, 2025-01-14."


def test_every_refused_line_is_named_and_nothing_is_received():
    PartFactory(number="P-1")
    PartFactory(number="S-1", tracked_by="set", unit="SET")
    with pytest.raises(ManyErrors) as refused:
        send(
            ReceiveLine("P-1", 4, lot="L"), ReceiveLine("P-2", 4), ReceiveLine("P-1", 0, lot="L"), ReceiveLine("S-1", 1)
        )
    assert [(number, error.code) for number, error in refused.value.errors] == [
        (2, "not-found"),
        (3, "amount-not-positive"),
        (4, "serial-missing"),
    ]
    assert Movement.objects.count() == 0
    assert Refusal.objects.get().code == "not-found"


def test_the_same_key_moves_stock_once_and_gives_the_first_answer_again():
    PartFactory(number="P-1")
    key, actor = uuid.uuid4(), PersonFactory()
    first = send(ReceiveLine("P-1", 4, lot="L"), key=key, actor=actor)
    again = send(ReceiveLine("P-1", 4, lot="L"), key=key, actor=actor)
    assert again.body == first.body
    assert (first.replayed, again.replayed) == (False, True)
    assert standing() == [("P-1", "lot=L", "R1", 4)]
    assert Act.objects.count() == 1


def test_the_same_key_with_other_content_is_a_named_conflict():
    PartFactory(number="P-1")
    key, actor = uuid.uuid4(), PersonFactory()
    send(ReceiveLine("P-1", 4, lot="L"), key=key, actor=actor)
    with pytest.raises(DomainError) as refused:
        send(ReceiveLine("P-1", 5, lot="L"), key=key, actor=actor)
    assert refused.value.code == "key-reused"
    assert standing() == [("P-1", "lot=L", "R1", 4)]


def test_a_failed_attempt_does_not_use_up_its_key():
    key, actor = uuid.uuid4(), PersonFactory()
    with pytest.raises(ManyErrors):
        send(ReceiveLine("P-1", 4, lot="L"), key=key, actor=actor)
    PartFactory(number="P-1")
    send(ReceiveLine("P-1", 4, lot="L"), key=key, actor=actor)
    assert standing() == [("P-1", "lot=L", "R1", 4)]


def test_a_set_is_one_thing_and_is_received_once():
    PartFactory(number="S-1", tracked_by="set", unit="SET")
    send(ReceiveLine("S-1", 1, serial="S-0441", set_label=SetLabel(weight_mg=416_000, weighed="with pin")))
    with pytest.raises(DomainError) as refused:
        send(ReceiveLine("S-1", 1, serial="S-0441"))
    assert refused.value.code == "serial-elsewhere"
    assert standing() == [("S-1", "serial=S-0441", "R1", 1)]


def test_a_serial_that_looks_like_one_on_record_is_asked_about():
    """A letter O for a zero: the set that is known, misread, or another one; a person says which."""
    PartFactory(number="S-1", tracked_by="set", unit="SET")
    send(ReceiveLine("S-1", 1, serial="S-0441", set_label=SetLabel()))
    with pytest.raises(DomainError) as refused:
        send(ReceiveLine("S-1", 1, serial="S-O441", set_label=SetLabel()))
    assert (refused.value.code, refused.value.values["known"]) == ("spelling-ambiguous", ["S-0441"])
    PartFactory(number="S-2", tracked_by="set", unit="SET")
    send(ReceiveLine("S-2", 1, serial="S-O441", set_label=SetLabel()))  # of another part it is another one
    send(ReceiveLine("S-1", 1, serial="S-O441", set_label=SetLabel(), another_serial=True))
    assert [row[:2] for row in sorted(standing())] == [
        ("S-1", "serial=S-0441"), ("S-1", "serial=S-O441"), ("S-2", "serial=S-O441"),
    ]  # fmt: skip


def test_a_lot_that_looks_like_one_on_record_is_asked_about():
    """A letter I for a one: taken for a new lot, a stop of the one on record would pass this bag by."""
    PartFactory(number="P-1")
    send(ReceiveLine("P-1", 4, lot="SB-2341"))
    with pytest.raises(DomainError) as refused:
        send(ReceiveLine("P-1", 2, lot="SB-234I"))
    assert (refused.value.code, refused.value.values["known"]) == ("spelling-ambiguous", ["SB-2341"])
    assert standing() == [("P-1", "lot=SB-2341", "R1", 4)]
    PartFactory(number="P-2")
    send(ReceiveLine("P-2", 1, lot="SB-234I"))  # of another part it is another one
    send(ReceiveLine("P-1", 2, lot="SB-234I", another_lot=True))
    send(ReceiveLine("P-1", 1, lot="sb 234i"))  # both are on record now, and this is one of them
    assert [row[:2] + row[3:] for row in sorted(standing())] == [
        ("P-1", "lot=SB-2341", 4), ("P-1", "lot=SB-234I", 3), ("P-2", "lot=SB-234I", 1),
    ]  # fmt: skip


@pytest.mark.parametrize("code", ["A\n1", "A\t1", "A\x1d1", "A\x7f1"])
def test_a_lot_with_a_control_character_inside_is_refused(code):
    """No label shows it, and nobody could scan it again."""
    PartFactory(number="P-1")
    with pytest.raises(DomainError) as refused:
        send(ReceiveLine("P-1", 4, lot=code))
    assert refused.value.code == "part-number-unreadable"
    assert Lot.objects.count() == 0


def test_an_inner_lot_that_looks_like_one_on_record_is_asked_about():
    kit("K-1", {"P-1": 2})
    send(ReceiveLine("P-1", 4, lot="SB-2341"))
    with pytest.raises(DomainError) as refused:
        send(ReceiveLine("K-1", 1, lot="K-A", inner_lots={"P-1": "SB-234I"}))
    assert (refused.value.code, refused.value.values["known"]) == ("spelling-ambiguous", ["SB-2341"])
    send(ReceiveLine("K-1", 1, lot="K-A", inner_lots={"P-1": "SB-234I"}, another_lot=True))
    assert sorted(Lot.objects.filter(part__number="P-1").values_list("code", flat=True)) == ["SB-2341", "SB-234I"]


def test_two_cure_quarters_are_two_lots():
    PartFactory(number="O-1", life={"from": "cure", "years": 7})
    send(ReceiveLine("O-1", 16, lot="B1", cure_code="3Q22"))
    with pytest.raises(DomainError) as refused:
        send(ReceiveLine("O-1", 4, lot="B1", cure_code="4Q22"))
    assert refused.value.code == "lot-differs"


def test_an_act_from_the_future_is_refused():
    PartFactory(number="P-1")
    with pytest.raises(DomainError) as refused:
        receive(
            actor=PersonFactory(),
            stamp=stamp(NOON + timedelta(days=1), recorded_at=NOON),
            supplier=SupplierFactory().code,
            place=shelf().code,
            lines=[ReceiveLine("P-1", 1, lot="L")],
        )
    assert refused.value.code == "from-the-future"


def test_the_day_of_the_cure_quarter_that_counts_is_the_shops_setting():
    ShopSetting.objects.create(name="shelf_life", value="lenient")
    ring = PartFactory(number="O-1", life={"from": "cure", "years": 7})
    send(ReceiveLine("O-1", 20, lot="B1", cure_code="3Q22"))
    # The same lot as above, from the last day of the quarter.
    assert Lot.objects.get(part=ring).expires_on == date(2029, 9, 30)


def test_more_of_a_lot_that_is_stopped_lies_in_quarantine_until_it_was_freed():
    PartFactory(number="R-1")
    send(ReceiveLine("R-1", 10, lot="A-1"))
    lot = Lot.objects.get()
    stop = stop_lot(actor=PersonFactory(), stamp=stamp(), lot_id=lot.pk, reason="soft").body["stop"]
    with pytest.raises(ManyErrors) as caught:
        send(ReceiveLine("R-1", 5, lot="B"), ReceiveLine("R-1", 5, lot="a 1"))
    assert [(line, error.code) for line, error in caught.value.errors] == [(2, "quarantine-needed")]
    quarantine("Q1")
    body = send(ReceiveLine("R-1", 4, lot="B"), ReceiveLine("R-1", 5, lot="a 1"), quarantine="Q1").body
    assert [(one["lot"], one["place"], one["why"]) for one in body["lines"]] == [
        ("B", "R1", ""),
        ("A-1", "Q1", "stopped"),
    ]
    its = body["lines"][1]["item"]
    refused("stopped", release_quarantine, lines=[ReleaseLine(its, 5, "Q1", "R1")])
    free_lot(actor=PersonFactory(), stamp=stamp(), lot_id=lot.pk, stop_id=stop, reason="a wrong gauge")
    done(release_quarantine, lines=[ReleaseLine(its, 5, "Q1", "R1")])
    assert standing() == [("R-1", "lot=A-1", "R1", 15), ("R-1", "lot=B", "R1", 4)]


def test_a_box_with_a_stopped_lot_inside_lies_in_quarantine_too():
    kit("K-1", {"R-1": 1})
    closed_kits("K-1", 2, lot="K-A", inner={"R-1": "B1"})
    stop_lot(actor=PersonFactory(), stamp=stamp(), lot_id=Lot.objects.get(code="B1").pk, reason="soft")
    quarantine("Q1")
    lines = [
        ReceiveLine("K-1", 1, lot="K-B", inner_lots={"R-1": "B1"}),
        ReceiveLine("K-1", 1, lot="K-C", inner_lots={"R-1": "B2"}),
    ]
    body = send(*lines, quarantine="Q1").body
    assert [(one["lot"], one["place"], one["why"]) for one in body["lines"]] == [
        ("K-B", "Q1", "stopped"),
        ("K-C", "R1", ""),
    ]


def test_a_broken_set_that_comes_again_is_refused_at_its_line():
    PartFactory(number="S-1", kind="matched set", tracked_by="set", unit="SET")
    quarantine("Q1")
    send(ReceiveLine("S-1", 1, serial="A-1"))
    broken = {"damaged": "liner", "no_photo": "none taken", "reason": "dropped", "orphan_place": "Q1"}
    done(break_set, part="S-1", serial="A-1", **broken)
    with pytest.raises(ManyErrors) as refused:
        send(ReceiveLine("S-1", 1, serial="A-2"), ReceiveLine("S-1", 1, serial="A-1"))
    assert [(line, error.code) for line, error in refused.value.errors] == [(2, "set-broken")]
    send(ReceiveLine("S-1", 1, serial="A-2"))
