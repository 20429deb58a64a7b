"""Stages for what goes to another site by the van."""

from __future__ import annotations

from typing import Any

from inventory.domain.places import PlaceKind
from inventory.domain.transfers import How
from inventory.services import things
from inventory.services.explain_transfer import explain_in_transit
from inventory.services.take_transfer import OtherLine, TakeLine, take_in
from inventory.services.transfer_notes import SendLine, send_to_site
from tests.factories.acts import done
from tests.factories.stores import quarantine, shelf, site
from tests.faults.scenes import scene
from tests.faults.scenes_stores import lot_of


def _leaving(item: int) -> dict[str, Any]:
    shelf("Y1", site("QUAY"))
    quarantine("YQ", site("QUAY"))
    things.make_place("VAN", PlaceKind.VAN, site=None)
    return {"van": "VAN", "to_site": "QUAY", "lines": [SendLine(item, 3, "R1")]}


@scene(send_to_site)
def three_by_the_van() -> dict[str, Any]:
    return _leaving(lot_of(4, promised=1).pk)


@scene(take_in)
def two_came_and_one_of_another_lot_that_was_held() -> dict[str, Any]:
    other = lot_of(2, promised=2)
    note = done(send_to_site, **_leaving(lot_of(4).pk))["note"]
    others = [OtherLine(1, "Y1", item_id=other.pk, line=1)]
    return {"note": note, "lines": [TakeLine(1, 2, "Y1")], "others": others}


@scene(explain_in_transit)
def one_was_scrapped() -> dict[str, Any]:
    note = done(send_to_site, **_leaving(lot_of(4).pk))["note"]
    done(take_in, note=note, lines=[TakeLine(1, 2, "Y1")])
    return {
        "note": note, "line": 1, "how": How.SCRAPPED, "amount": 1, "reason": "the box fell out", "who_pays": "shop",
    }  # fmt: skip
