"""A stage for the customer's own things that go back, for an engine that changed hands or is under class, and for what its meter shows."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from inventory.services.owners import OwnerIn, add_owner
from kits.models import MeterReading
from kits.services.engine_owners import change_hands
from kits.services.engines import mark_classed
from kits.services.give_back import GiveIn, give_back
from kits.services.substitute_words import record_substitute_word
from kits.services.terms import change_meter, read_meter, withdraw_meter_reading
from tests.factories.stores import NOON, PartFactory, PersonFactory, stamp
from tests.faults.scenes import scene
from tests.faults.scenes_jobs import job, out_of_its_bore


@scene(give_back)
def an_old_set_that_is_signed_for() -> dict[str, Any]:
    out = out_of_its_bore()
    return {"job": out["job"], "given": [GiveIn(out["item"])], "signed_by": "R. Alder"}


@scene(change_hands)
def an_engine_that_was_sold() -> dict[str, Any]:
    made = add_owner(actor=PersonFactory(), stamp=stamp(), owner=OwnerIn("somebody"))
    return {"engine": job().engine.number, "owner_id": made.body["owner"], "since": NOON.date()}


@scene(read_meter)
def hours_at_arrival() -> dict[str, Any]:
    facts = {"moment": "arrival", "read_on": NOON.date(), "shows": Decimal("1089.5"), "photo_ref": "photo 1"}
    return {"engine": job().engine.number, "meter": "hours", **facts}


@scene(withdraw_meter_reading)
def a_reading_on_record() -> dict[str, Any]:
    given = hours_at_arrival()
    read_meter(actor=PersonFactory(), stamp=stamp(), **given)
    made = MeterReading.objects.order_by("pk").last()
    assert made is not None
    return {"engine": given["engine"], "reading_id": made.pk, "reason": "another engine"}


@scene(change_meter)
def a_new_meter() -> dict[str, Any]:
    facts = {"meter": "hours", "changed_on": NOON.date(), "old_shows": Decimal(1240), "new_begins_at": Decimal(0)}
    return {"engine": job().engine.number, "photo_ref": "photo 2", **facts}


@scene(mark_classed)
def an_engine_under_class() -> dict[str, Any]:
    return {"engine": job().engine.number, "classed": True, "reason": "certificate 12"}


@scene(record_substitute_word)
def a_bolt_that_the_owner_takes() -> dict[str, Any]:
    word = {
        "listed": PartFactory().number,
        "instead": PartFactory().number,
        "agreed": True,
        "given_by": "owner",
        "how": "letter",
    }
    return {"job": job().number, **word}
