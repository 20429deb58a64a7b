"""A stage for what is found on a cart."""

from __future__ import annotations

from typing import Any

from kits.services.found_on_cart import issue_found
from tests.factories import workshop
from tests.faults.scenes import fresh, scene


@scene(issue_found)
def three_rings_where_two_are_wanted() -> dict[str, Any]:
    ring = workshop.rings(4, fresh("LOT"))  # one more, which a shop of another scene may keep
    job = workshop.job(fresh("F"), "RINGS", cylinders=2)
    words = {"reason": "lay on the cart", "extra_reason": "lost"}
    return {"job": job.number, "item": ring.pk, "place": "R1", "amount": 3, **words}
