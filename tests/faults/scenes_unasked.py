"""A stage for what is held and no longer asked for."""

from __future__ import annotations

from typing import Any

from kits.services.jobs import withdraw_finding
from kits.services.release_unasked import release_unasked
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp
from tests.faults.scenes import fresh, scene


@scene(release_unasked)
def rings_of_a_liner_that_stays() -> dict[str, Any]:
    """Two rings are held; one of them serves on."""
    workshop.rings(2, fresh("LOT"))
    it = workshop.job(fresh("U"), "RINGS", cylinders=2)
    workshop.held_for(it.number)
    finding = it.findings.get(place="CYL-2").pk
    withdraw_finding(actor=PersonFactory(), stamp=stamp(), job=it.number, finding_id=finding, reason="it is good")
    return {"job": it.number, "reason": "the liner stays"}
