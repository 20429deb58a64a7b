"""The kept piece of a lot goes when the last term of an engine with that lot has ended; who asks earlier is told the day."""

from datetime import date

import pytest

from inventory.services.keep_pieces import keep_pieces
from inventory.services.scrap import scrap
from kits.models import Engine
from kits.queries.kept import kept_pieces
from kits.services.kept import release_kept
from kits.services.terms import hand_engine_over, read_meter
from tests.factories.acts import done, refused
from tests.factories.keeping import rings, stands, went
from tests.factories.stores import NOON
from tests.kits.services.test_terms import TRUCK, at, built, read

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def fitted_and_out():
    """Two rings of the lot went into an engine that was handed over on 2025-01-31: eighteen months or 3,000 hours (the demo shop's
    term, invented)."""
    ring = rings()
    built()
    went(ring, 2, Engine.objects.get(number=TRUCK).place, NOON)
    before = refused("kept", release_kept, lot_id=ring.lot_id, reason="a shelf is cleared")
    assert before.values["until"] is None
    done(hand_engine_over, job="J1", handed_over_on=date(2025, 1, 31), stamp=at(date(2025, 2, 3)))
    return ring


def test_it_is_refused_with_the_day_until_the_last_term_has_ended():
    ring = fitted_and_out()
    asked = {"lot_id": ring.lot_id, "reason": "a shelf is cleared"}
    early = refused("kept", release_kept, stamp=at(date(2026, 7, 31)), **asked)
    assert (early.values["until"], early.values["engines"]) == ("2026-07-31", [TRUCK])
    # Whoever asks for all that lies there is told the day too.
    all_of_it = refused("not-there", scrap, place="R1", item_id=ring.pk, amount=8, reason="old", who_pays="shop")
    assert (all_of_it.values["kept"], all_of_it.values["kept_until"]) == (1, "2026-07-31")
    (row,) = [one for one in kept_pieces(date(2026, 8, 1)) if one["lot_id"] == ring.lot_id]
    assert (row["may_go"], row["kept"]) == (True, 1)
    body = done(release_kept, stamp=at(date(2026, 8, 1)), **asked)
    assert (body["how"], stands()) == ("released", (8, 0))
    refused("not-kept", release_kept, stamp=at(date(2026, 8, 2)), **asked)
    # Its term is over: it keeps none again.
    assert [one["lot_id"] for one in done(keep_pieces)["kept"] if one["lot_id"] == ring.lot_id] == []


def test_hours_that_are_used_up_end_the_term_before_its_months_do():
    ring = fitted_and_out()
    done(read_meter, **read("0", date(2025, 1, 31), "hand-over"))
    done(read_meter, **read("3001", date(2025, 12, 1)))
    body = done(release_kept, stamp=at(date(2026, 1, 2)), lot_id=ring.lot_id, reason="a shelf is cleared")
    assert body["why"] == "the terms of all 1 engines with it have ended"


def test_what_was_fitted_nowhere_is_given_up_and_kept_anew():
    ring = rings()
    refused("reason-missing", release_kept, lot_id=ring.lot_id, reason=" ")
    refused("not-found", release_kept, lot_id=10**9, reason="x")
    assert done(release_kept, lot_id=ring.lot_id, reason="all of it goes back")["how"] == "given up"
    assert stands() == (10, 0)
    done(keep_pieces)
    assert stands() == (10, 1)
