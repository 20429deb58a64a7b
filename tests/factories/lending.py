"""Rings held for one job of the workshop, asked for by another."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inventory.models import Balance, Hold, Item, Person
from kits.services.lending import answer_to_lend, ask_to_lend
from tests.factories import workshop
from tests.factories.acts import done
from tests.factories.stores import PersonFactory


@dataclass
class Lending:
    """Two rings on the shelf, both held for a donor with two bores; borrowers that need two each."""

    ring: Item
    hold: int
    technician: Person
    borrowers: list[str]

    def asked(self, borrower: str, amount: int = 2) -> int:
        """A request; its number."""
        given = {
            "job": borrower,
            "hold": self.hold,
            "amount": amount,
            "asked_of": self.technician,
            "reason": "two are torn",
        }
        return int(done(ask_to_lend, **given)["request"])

    def agreed(self, borrower: str, amount: int = 2) -> int:
        """A request to which the technician agreed; its number."""
        request = self.asked(borrower, amount)
        done(answer_to_lend, actor=self.technician, request=request, agreed=True)
        return request

    def books(self) -> tuple[int, int]:
        """(amount, held) of the rings on the shelf."""
        row = Balance.objects.get(item=self.ring, place__code="R1")
        return row.amount, row.held

    def open(self) -> dict[str, int]:
        """Job → what is held for it of the rings."""
        found: dict[str, int] = {}
        rows = Hold.objects.filter(item=self.ring, end__isnull=True).values_list("job_hold__job__number", "amount")
        for job, amount in rows.order_by("pk"):
            found[job] = found.get(job, 0) + amount
        return found


def lending(borrowers: int = 1, name: str = "", lot: str = "B1", fit_on: date | None = None) -> Lending:
    """The stage; the workshop stands already."""
    ring = workshop.rings(2, lot)
    donor = f"D{name}1"
    more = {"fit_on": fit_on} if fit_on else {}
    workshop.job(donor, "RINGS", cylinders=2, **more)
    hold = workshop.held_for(donor).body["held"][0]["hold"]
    jobs = [f"B{name}{number}" for number in range(1, borrowers + 1)]
    for job in jobs:
        workshop.job(job, "RINGS", cylinders=2)
    return Lending(ring, hold, PersonFactory(), jobs)
