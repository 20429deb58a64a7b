"""A stage for the customer's own things that go back, and for an engine that changed hands."""

from __future__ import annotations

from typing import Any

from kits.services.engine_owners import change_hands
from kits.services.give_back import GiveIn, give_back
from kits.services.owners import OwnerIn, add_owner
from tests.factories.stores import NOON, PersonFactory, stamp
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
