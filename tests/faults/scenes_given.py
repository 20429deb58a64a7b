"""A stage for the customer's own things that go back."""

from __future__ import annotations

from typing import Any

from kits.services.give_back import GiveIn, give_back
from tests.faults.scenes import scene
from tests.faults.scenes_jobs import out_of_its_bore


@scene(give_back)
def an_old_set_that_is_signed_for() -> dict[str, Any]:
    out = out_of_its_bore()
    return {"job": out["job"], "given": [GiveIn(out["item"])], "signed_by": "R. Alder"}
