"""What lies on a cart or at a bench is wanted by the job and by whoever counts, scraps or opens there."""

import pytest

from inventory.models import Balance
from inventory.services.count import CountLine, count
from inventory.services.scrap import scrap
from kits.services.fit import FitIn, fit
from kits.services.pick_kit import hand_over
from tests.concurrency.races import PATIENCE_S, Halfway, damaged, no_locks, refusals, retries_seen
from tests.factories import workshop
from tests.factories.stores import stamp, technician


class Bench:
    """A job whose rings lie on the cart, or at the bench."""

    def __init__(self, at_bench: bool) -> None:
        self.ring = workshop.rings(1)
        self.job = workshop.job("J1", "RINGS")
        self.list = workshop.handed_over_for("J1") if at_bench else workshop.picked_for("J1")
        self.place = (self.job.bench if at_bench else self.job.cart).code
        self.people = [technician() for _ in range(3)]

    def hand_over(self):
        """The cart goes to the bench."""
        return hand_over(actor=self.people[0], stamp=stamp(), pick_list=self.list, received_by=self.people[1])

    def fit(self):
        """The ring goes into the engine."""
        rows = [FitIn("CYL-1/ring", self.ring.pk)]
        return fit(actor=self.people[0], stamp=stamp(), job="J1", fittings=rows)

    def scrap(self):
        """The ring is scrapped where it lies."""
        facts = {"place": self.place, "item_id": self.ring.pk, "amount": 1, "reason": "torn", "who_pays": "shop"}
        return scrap(actor=self.people[2], stamp=stamp(), **facts)

    def count_none(self):
        """It is not found where it should lie."""
        lines = [CountLine(0, item_id=self.ring.pk)]
        return count(actor=self.people[2], stamp=stamp(), place=self.place, lines=lines, reason="not found")

    def everywhere(self) -> int:
        """Pieces in real places."""
        return sum(Balance.objects.filter(item=self.ring, real=True).values_list("amount", flat=True))


MEETINGS = [
    ("hand_over", "scrap"),
    ("scrap", "hand_over"),
    ("hand_over", "count_none"),
    ("count_none", "hand_over"),
    ("fit", "scrap"),
    ("scrap", "fit"),
    ("fit", "count_none"),
    ("count_none", "fit"),
]
#: Both have checked that the ring is there; neither has written.
CHECKED = "inventory.services.post._update"


@pytest.mark.parametrize(("first", "second"), MEETINGS)
def test_the_second_is_told_by_a_rule_that_it_is_gone(shop_database, monkeypatch, first, second):
    bench = Bench(at_bench="fit" in (first, second))
    seen = retries_seen(monkeypatch)
    halfway = Halfway(monkeypatch, CHECKED)
    ended = halfway.race(getattr(bench, first), getattr(bench, second))
    assert not halfway.overtaken
    assert ended[0].error is None, ended[0].error
    # Who counts nothing where nothing is any more has counted rightly.
    told = refusals(ended)
    # What is scrapped off the cart is asked for by name before the cart is signed over.
    gone = (["not-there"], ["missing-not-named"]) if second == "hand_over" else (["not-there"],)
    assert told in (([],) if second == "count_none" else gone)
    assert bench.everywhere() == (1 if first in ("hand_over", "fit") else 0)
    assert dict(seen) == {}


@pytest.mark.damages_books
@pytest.mark.parametrize(("first", "second"), MEETINGS)
def test_control_without_locks_it_is_taken_twice(shop_database, monkeypatch, first, second):
    bench = Bench(at_bench="fit" in (first, second))
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, CHECKED, PATIENCE_S)
    ended = halfway.race(getattr(bench, first), getattr(bench, second))
    assert halfway.overtaken
    assert damaged(ended) == 1
