"""Carried between shelves and quarantine of a site; released from quarantine by a second person."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.domain.errors import ManyErrors
from inventory.domain.places import PlaceKind
from inventory.models import Lot, Movement
from inventory.services import things
from inventory.services.correct import correct
from inventory.services.receive import ReceiveLine, receive
from inventory.services.stops import stop_lot
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer
from tests.factories.acts import done, held, item, refused, standing
from tests.factories.stores import (
    NOON,
    PartFactory,
    PersonFactory,
    SupplierFactory,
    bench,
    cart,
    quarantine,
    shelf,
    site,
    stamp,
    stock,
)
from tests.factories.stores_kits import closed_kits, kit

pytestmark = pytest.mark.django_db


def rings(amount: int = 10, actor=None):
    stock(PartFactory(number="R-1"), amount, lot="B1", actor=actor)
    shelf("R2")
    quarantine("Q1")
    things.make_place("van", PlaceKind.VAN, site=None)
    return item("R-1", "lot=B1")


def test_what_goes_to_another_site_or_by_the_van_is_sent_by_a_note():
    ring = rings()
    shelf("Y1", site("QUAY"))
    error = refused("other-site", transfer, lines=[TransferLine(ring.pk, 4, "R1", "Y1")])
    [(_, inner)] = error.errors
    assert (inner.values["from_site"], inner.values["to_site"]) == ("TS", "QUAY")
    refused("wrong-place", transfer, lines=[TransferLine(ring.pk, 4, "R1", "van")])
    assert standing() == [("R-1", "lot=B1", "R1", 10)]


def test_what_is_held_does_not_leave_and_the_refusal_names_who_has_it():
    ring = rings()
    hold = held(ring, cart("cart J1"), 7, needed_on=date(2025, 2, 1))
    error = refused("not-there", transfer, lines=[TransferLine(ring.pk, 4, "R1", "R2")])
    [(number, inner)] = error.errors
    assert (number, inner.values["there"], inner.values["held"]) == (1, 10, 7)
    assert inner.values["holders"] == [{"hold": hold.pk, "for": "cart J1", "amount": 7, "needed_on": "2025-02-01"}]
    done(transfer, lines=[TransferLine(ring.pk, 3, "R1", "R2")])
    assert standing() == [("R-1", "lot=B1", "R1", 7), ("R-1", "lot=B1", "R2", 3)]


def test_every_refused_line_is_named_and_nothing_moves():
    ring = rings()
    bench("bench 1")
    with pytest.raises(ManyErrors) as refused_:
        transfer(
            actor=PersonFactory(),
            stamp=stamp(),
            lines=[
                TransferLine(ring.pk, 6, "R1", "R2"),
                TransferLine(ring.pk, 5, "R1", "R2", to_spot="bin 2"),
                TransferLine(0, 1, "R1", "R2"),
                TransferLine(ring.pk, 1, "R1", "bench 1"),
                TransferLine(ring.pk, 1, "R1", "Q1"),
                TransferLine(ring.pk, 1, "R1", "R9"),
                TransferLine(ring.pk, 1, "R1", "R1"),
                TransferLine(ring.pk, "1,5 EA", "R1", "R2"),
            ],
        )
    assert [(number, error.code) for number, error in refused_.value.errors] == [
        (2, "not-there"),
        (3, "not-found"),
        (4, "wrong-place"),
        (5, "reason-missing"),
        (6, "not-found"),
        (7, "wrong-place"),
        (8, "quantity-unreadable"),
    ]
    assert standing() == [("R-1", "lot=B1", "R1", 10)]
    refused("nothing-given", transfer, lines=[])


def test_ten_lines_cost_as_many_queries_as_two():
    ring = rings(20)
    actor = PersonFactory()
    counts = []
    for names in ("ab", "cdefghijkl"):
        lines = [TransferLine(ring.pk, 1, "R1", "R2", to_spot=name) for name in names]
        with CaptureQueriesContext(connection) as queries:
            transfer(actor=actor, stamp=stamp(), lines=lines)
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_released_by_a_second_person_only():
    first, second = PersonFactory(), PersonFactory()
    ring = rings(actor=first)
    done(transfer, actor=first, lines=[TransferLine(ring.pk, 5, "R1", "Q1")], note="bag torn")
    out = ReleaseLine(ring.pk, 5, "Q1", "R1")
    refused("release-needed", transfer, actor=second, lines=[out], note="looked good")
    refused("second-person-needed", release_quarantine, actor=first, lines=[out])
    done(release_quarantine, actor=second, lines=[out], note="looked at every one")
    assert standing() == [("R-1", "lot=B1", "R1", 10)]


def test_only_who_brought_in_what_lies_there_now_counts():
    first, second = PersonFactory(), PersonFactory()
    ring = rings()
    done(transfer, actor=first, lines=[TransferLine(ring.pk, 5, "R1", "Q1")], note="bag torn")
    done(release_quarantine, actor=second, lines=[ReleaseLine(ring.pk, 5, "Q1", "R1")])
    day = NOON + timedelta(days=1)
    done(transfer, actor=second, lines=[TransferLine(ring.pk, 2, "R1", "Q1")], note="bag torn", stamp=stamp(day))
    out = ReleaseLine(ring.pk, 2, "Q1", "R1")
    refused("second-person-needed", release_quarantine, actor=second, lines=[out], stamp=stamp(day))
    done(release_quarantine, actor=first, lines=[out], stamp=stamp(NOON + timedelta(days=2)))


def test_a_move_within_quarantine_does_not_hide_who_brought_it_in():
    first, second = PersonFactory(), PersonFactory()
    ring = rings()
    quarantine("Q2")
    done(transfer, actor=first, lines=[TransferLine(ring.pk, 5, "R1", "Q1")], note="bag torn")
    done(transfer, actor=second, lines=[TransferLine(ring.pk, 5, "Q1", "Q2")], note="dry place")
    refused("second-person-needed", release_quarantine, actor=first, lines=[ReleaseLine(ring.pk, 5, "Q2", "R1")])
    done(release_quarantine, actor=second, lines=[ReleaseLine(ring.pk, 5, "Q2", "R1")])


def test_a_stopped_lot_is_not_released():
    ring = rings()
    done(transfer, lines=[TransferLine(ring.pk, 5, "R1", "Q1")], note="bag torn")
    done(stop_lot, lot_id=ring.lot_id, reason="leaks reported")
    refused("stopped", release_quarantine, lines=[ReleaseLine(ring.pk, 5, "Q1", "R1")])


def test_a_lot_without_its_date_is_released_with_the_date_only():
    PartFactory(number="R-1", life={"from": "cure", "years": 7})
    shelf("R1")
    quarantine("Q1")
    receive(
        actor=PersonFactory(),
        stamp=stamp(),
        supplier=SupplierFactory().code,
        place="R1",
        quarantine="Q1",
        lines=[ReceiveLine("R-1", 5, lot="B1")],
    )
    ring = item("R-1", "lot=B1")
    refused("undated", release_quarantine, lines=[ReleaseLine(ring.pk, 5, "Q1", "R1")])
    refused("cure-date-future", release_quarantine, lines=[ReleaseLine(ring.pk, 5, "Q1", "R1", cure_code="3Q25")])
    body = done(release_quarantine, lines=[ReleaseLine(ring.pk, 5, "Q1", "R1", cure_code="3Q22")])
    # Group B of ISO 2230: 7 years, counted here from the first day of the quarter.
    assert body["lines"][0]["expires_on"] == "2029-07-01"
    assert Lot.objects.get(code="B1").expires_on == date(2029, 7, 1)
    assert standing() == [("R-1", "lot=B1", "R1", 5)]


def test_a_transfer_is_taken_back():
    ring = rings()
    act = transfer(actor=PersonFactory(), stamp=stamp(), lines=[TransferLine(ring.pk, 4, "R1", "R2")])
    done(correct, act_id=act.act_id, reason="wrong shelf")
    assert standing() == [("R-1", "lot=B1", "R1", 10)]
    assert Movement.objects.count() == 3


def test_a_closed_kit_that_went_on_the_shelf_undated_comes_back_from_quarantine_undated():
    kit("K-1", {"R-1": 2})
    closed_kits("K-1", 2, lot="K-A")
    quarantine("Q1")
    box = item("K-1", "lot=K-A").pk
    done(transfer, lines=[TransferLine(box, 2, "R1", "Q1")], note="a torn label")
    body = done(release_quarantine, lines=[ReleaseLine(box, 2, "Q1", "R1")], note="it was the other one")
    assert standing() == [("K-1", "lot=K-A", "R1", 2)]
    assert body["lines"][0]["expires_on"] is None
