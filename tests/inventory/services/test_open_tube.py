"""Tubes opened and weighed."""

from datetime import UTC, date, datetime, timedelta

import pytest

from inventory.models import Tube
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.open_tube import open_tube, weigh_tube
from inventory.services.scrap import scrap
from inventory.services.stops import stop_lot
from inventory.services.transfer import TransferLine, transfer
from tests.factories.acts import done, ends, gone, held, item, refused, standing
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, shelf, stamp, stock

pytestmark = pytest.mark.django_db


def tubes(amount: int = 2, made_on: date | None = date(2024, 7, 1), **changes):
    """Closed tubes of 50 mL: 18 months closed, 60 days once opened."""
    words = {
        "number": "X-1",
        "unit": "TU",
        "life": {"closed_months": 18, "open_days": 60},
        "net_ul": 50_000,
        "empty_mg": 11_500,
        "density_mg_per_ml": 1320,
    }
    part = PartFactory(**{**words, **changes})
    stock(part, amount, lot="T1", made_on=made_on)
    return item("X-1", "lot=T1")


def test_one_piece_becomes_its_content_in_microlitres_with_the_earlier_use_by():
    closed = tubes()
    body = done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    assert standing() == [("X-1", "lot=T1", "R1", 1), ("X-1", "lot=T1|tube=TUBE-9", "R1", 50_000)]
    # 15 January 2025 and 60 days; closed the tube is good until 1 January 2026.
    assert (body["use_by"], body["opened_on"], body["content_ul"]) == ("2025-03-16", "2025-01-15", 50_000)
    assert Tube.objects.get().use_by == date(2025, 3, 16)


def test_near_its_end_the_closed_life_counts():
    closed = tubes(made_on=date(2023, 8, 1))
    body = done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    assert body["use_by"] == "2025-02-01"


def test_an_opened_tube_goes_whole():
    closed = tubes()
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    tube = item("X-1", "lot=T1|tube=TUBE-9")
    shelf("R2")
    refused("not-whole", transfer, lines=[TransferLine(tube.pk, "10 mL", "R1", "R2")])
    done(transfer, lines=[TransferLine(tube.pk, "50 mL", "R1", "R2")])
    assert ("X-1", "lot=T1|tube=TUBE-9", "R2", 50_000) in standing()


def test_weighing_posts_the_difference():
    closed = tubes()
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    # Worked example of the demo shop: (26.2 g − 11.5 g) / 1.32 g/mL = 11.14 mL.
    body = done(weigh_tube, tube="TUBE-9", weight="26.2 g")
    assert (body["on_books_ul"], body["content_ul"], body["difference_ul"]) == (50_000, 11_136, -38_864)
    assert gone("count difference") == [("X-1", "lot=T1|tube=TUBE-9", 38_864)]
    assert done(weigh_tube, tube="TUBE-9", weight=26_200)["difference_ul"] == 0
    # No tube fills by itself: it is another tube, or another scale.
    error = refused("reason-missing", weigh_tube, tube="TUBE-9", weight="27 g")
    assert "held 11136 µL on 2025-01-15 and holds 11742 µL now" in error.message
    assert done(weigh_tube, tube="TUBE-9", weight="27 g", reason="the scale was not set")["difference_ul"] == 606
    assert ("X-1", "lot=T1|tube=TUBE-9", "R1", 11_742) in standing()


def test_a_tube_of_which_less_was_drawn_than_the_books_say_holds_more_and_nobody_is_asked():
    closed = tubes()
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    done(weigh_tube, tube="TUBE-9", weight="66.0 g")
    tube = item("X-1", "lot=T1|tube=TUBE-9")
    done(scrap, item_id=tube.pk, amount=20_000, place="R1", reason="bead", who_pays="shop", no_photo="none")
    assert done(weigh_tube, tube="TUBE-9", weight="60.0 g")["difference_ul"] > 0


def test_weighing_less_than_is_held_ends_the_hold():
    closed = tubes()
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    tube = item("X-1", "lot=T1|tube=TUBE-9")
    small, large = held(tube, cart("cart J1"), 8_000), held(tube, cart("cart J2"), 20_000, needed_on=date(2025, 2, 9))
    [short] = done(weigh_tube, tube="TUBE-9", weight="26.2 g")["shorts"]
    assert (short["for"], short["amount"], ends()) == ("cart J2", 20_000, [(large.pk, "made impossible")])
    assert small.amount <= 11_136


def test_a_tube_that_was_used_up_on_the_books_is_found_again_where_it_lies():
    closed = tubes()
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    done(weigh_tube, tube="TUBE-9", weight="11.5 g")
    refused("not-there", weigh_tube, tube="TUBE-9", weight="12 g")
    refused("reason-missing", weigh_tube, tube="TUBE-9", weight="12 g", place="R1")
    again = done(weigh_tube, tube="TUBE-9", weight="12 g", place="R1", reason="the wrong tube was weighed")
    assert again["content_ul"] == 379


def test_weights_that_cannot_be():
    closed = tubes()
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    refused("weight-below-empty", weigh_tube, tube="TUBE-9", weight="11 g")
    refused("weight-too-large", weigh_tube, tube="TUBE-9", weight="262 g")
    refused("quantity-wrong-dimension", weigh_tube, tube="TUBE-9", weight="26 mL")
    refused("not-found", weigh_tube, tube="TUBE-8", weight="26 g")
    assert ("X-1", "lot=T1|tube=TUBE-9", "R1", 50_000) in standing()


def test_a_tube_without_its_empty_weight_is_not_weighed():
    closed = tubes(empty_mg=None)
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    refused("tube-content-unknown", weigh_tube, tube="TUBE-9", weight="26 g")


def test_what_is_not_opened():
    closed = tubes()
    stock(PartFactory(number="P-1"), lot="L")
    refused("tube-content-unknown", open_tube, item_id=item("P-1", "lot=L").pk, place="R1", tube_number="TUBE-9")
    refused("nothing-given", open_tube, item_id=closed.pk, place="R1", tube_number=" ")
    shelf("R2")
    refused("not-there", open_tube, item_id=closed.pk, place="R2", tube_number="TUBE-9")
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    refused("tube-number-used", open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    refused(
        "tube-content-unknown", open_tube, item_id=item("X-1", "lot=T1|tube=TUBE-9").pk, place="R1", tube_number="T"
    )
    done(stop_lot, lot_id=closed.lot_id, reason="does not cure")
    refused("stopped", open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-10")
    assert ("X-1", "lot=T1", "R1", 1) in standing()


def test_the_number_of_an_opening_that_was_taken_back_serves_again():
    closed = tubes()
    words = {"item_id": closed.pk, "place": "R1", "tube_number": "TUBE-9"}
    first = open_tube(actor=PersonFactory(), stamp=stamp(), **words)
    done(correct, act_id=first.act_id, reason="not opened after all", stamp=stamp(NOON + timedelta(days=1)))
    assert standing() == [("X-1", "lot=T1", "R1", 2)]
    done(open_tube, stamp=stamp(datetime(2025, 2, 1, 12, tzinfo=UTC)), **words)
    assert Tube.objects.get().opened_on == date(2025, 2, 1)


def test_opening_the_last_held_tube_ends_the_hold():
    closed = tubes(1)
    hold = held(closed, cart("cart J1"))
    [short] = done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")["shorts"]
    assert (short["for"], ends()) == ("cart J1", [(hold.pk, "made impossible")])


def test_an_opened_tube_is_counted_and_scrapped_in_microlitres():
    closed = tubes()
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9")
    tube = item("X-1", "lot=T1|tube=TUBE-9")
    done(count, place="R1", lines=[CountLine("20 mL", item_id=tube.pk)], reason="used on the bench")
    done(scrap, place="R1", item_id=tube.pk, amount="20 mL", reason="nozzle cured", who_pays="shop")
    assert standing() == [("X-1", "lot=T1", "R1", 1)]


def weighed(grams: str, day: int, **more):
    return done(weigh_tube, tube="TUBE-9", weight=grams, stamp=stamp(NOON + timedelta(days=day)), **more)


def test_a_weight_that_is_entered_late_is_held_against_the_books_of_its_moment():
    """50 mL opened; 26.4 mL is 46.348 g (11.5 g empty, 1.32 g/mL). Ten millilitres were scrapped on the fifth day."""
    done(open_tube, item_id=tubes().pk, place="R1", tube_number="TUBE-9")
    tube = item("X-1", "lot=T1|tube=TUBE-9")
    lost = {"item_id": tube.pk, "place": "R1", "reason": "nozzle cured", "who_pays": "shop"}
    done(scrap, amount="10 mL", stamp=stamp(NOON + timedelta(days=5)), **lost)
    body = weighed("46.348 g", 3)
    assert (body["on_books_ul"], body["content_ul"], body["difference_ul"]) == (50_000, 26_400, -23_600)
    assert standing()[-1] == ("X-1", "lot=T1|tube=TUBE-9", "R1", 16_400)
    assert weighed("33.148 g", 6)["difference_ul"] == 0
    # A weight from before the newest one says nothing of what the tube holds now.
    late = {"tube": "TUBE-9", "weight": "60 g", "reason": "found the note", "stamp": stamp(NOON + timedelta(days=4))}
    refused("dates-turned", weigh_tube, **late)
    refused("dates-turned", weigh_tube, tube="TUBE-9", weight="60 g", stamp=stamp(NOON - timedelta(days=1)))
    assert standing()[-1] == ("X-1", "lot=T1|tube=TUBE-9", "R1", 16_400)


def test_a_tube_is_not_weighed_before_it_was_opened_or_where_it_was_not_yet():
    done(open_tube, item_id=tubes().pk, place="R1", tube_number="TUBE-9")
    early = {"tube": "TUBE-9", "weight": "46 g", "stamp": stamp(NOON - timedelta(hours=1))}
    refused("not-there", weigh_tube, **early)
    tube = item("X-1", "lot=T1|tube=TUBE-9")
    shelf("R2")
    done(transfer, lines=[TransferLine(tube.pk, "50 mL", "R1", "R2")], stamp=stamp(NOON + timedelta(days=2)))
    refused("not-there", weigh_tube, tube="TUBE-9", weight="46 g", stamp=stamp(NOON + timedelta(days=1)))
    assert weighed("46.348 g", 3)["place"] == "R2"


def test_a_tubes_number_is_one_in_whatever_case():
    closed = tubes()
    done(open_tube, item_id=closed.pk, place="R1", tube_number="TUBE-9 ")
    error = refused("tube-number-used", open_tube, item_id=closed.pk, place="R1", tube_number="tube-9")
    assert error.values["tube"] == "TUBE-9"
    assert done(weigh_tube, tube="tube-9", weight="46.348 g")["tube"] == "TUBE-9"
