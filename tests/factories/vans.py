"""A van between two sites, for tests of transfers: rings at the main one, people at both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import Group

from inventory.domain.places import PlaceKind
from inventory.models import Item, Person
from inventory.services import things
from inventory.services.take_transfer import OtherLine, TakeLine, take_in
from inventory.services.transfer_notes import SendLine, send_to_site
from tests.factories.acts import done, item
from tests.factories.stores import PartFactory, PersonFactory, quarantine, shelf, site, stock


@dataclass(frozen=True, slots=True)
class Road:
    """Ten rings of a lot on R1 at TS, shelf Y1 and quarantine YQ at QUAY; who sends, who drives, who signs there."""

    ring: Item
    sender: Person
    driver: Person
    receiver: Person

    def sent(self, *lines: SendLine, **more: Any) -> int:
        """A note; four of the rings if nothing else is said."""
        given = {
            "van": "VAN",
            "to_site": "QUAY",
            "driver": self.driver,
            "lines": lines or [SendLine(self.ring.pk, 4, "R1")],
        }
        return int(done(send_to_site, actor=self.sender, **given | more)["note"])

    def taken(self, note: int, *lines: TakeLine, others: tuple[OtherLine, ...] = (), **more: Any) -> dict[str, Any]:
        """The receiver signs; all four rings on Y1 if nothing else is said."""
        given = {"actor": self.receiver, "lines": lines or [TakeLine(1, 4, "Y1")], "others": others}
        return done(take_in, note=note, **given | more)


def person(name: str, at: str, role: str = "storekeeper") -> Person:
    """Somebody of a site with a role."""
    found: Person = PersonFactory(username=name, home_site=site(at))
    found.groups.add(Group.objects.get(name=role))
    return found


def road(part: str = "R-1") -> Road:
    """The sites, the van, the people, ten rings."""
    stock(PartFactory(number=part), 10, lot="B1", place=shelf("R1"))
    shelf("Y1", site("QUAY"))
    quarantine("Q1")
    quarantine("YQ", site("QUAY"))
    things.make_place("VAN", PlaceKind.VAN, site=None)
    return Road(item(part, "lot=B1"), person("piet", "TS"), person("lio", "TS"), person("cass", "QUAY"))
