"""Several people at one hold: they pick it, give it up, count its shelf, stop its lot, all at once."""

import pytest

from inventory.models import Balance, Hold, HoldEnd, Lot, Stop
from inventory.services.count import CountLine, count
from inventory.services.scrap import scrap
from inventory.services.stops import stop_lot
from kits.services.hold_kit import hold_kit
from kits.services.pick_kit import pick
from kits.services.release import release
from tests.concurrency.races import PATIENCE_S, Halfway, answers, damaged, meet_before, no_locks, refusals, retries_seen
from tests.databases import on_postgresql, together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp

PICKERS = 8


class Scene:
    """One held lot of rings (or one that is about to be held), and what people do to it."""

    def __init__(self, pieces: int = 1, held: bool = True) -> None:
        self.ring = workshop.rings(pieces)
        self.lot = Lot.objects.get(pk=self.ring.lot_id)
        workshop.job("J1", "RINGS")
        self.held = workshop.held_for("J1") if held else None
        self.people = [PersonFactory() for _ in range(PICKERS)]

    def pick(self, person=0):
        """Pick the hold."""
        return pick(
            actor=self.people[person],
            stamp=stamp(),
            pick_list=self.held.body["pick_list"],
            scans=workshop.scans_of(self.held),
        )

    def release(self):
        """Give the hold up."""
        return release(actor=self.people[1], stamp=stamp(), hold=self.held.body["held"][0]["hold"], reason="not now")

    def hold(self):
        """Hold the kit."""
        return hold_kit(actor=self.people[2], stamp=stamp(), job="J1")

    def count_none(self):
        """Count the shelf: nothing is there."""
        lines = [CountLine(0, item_id=self.ring.pk)]
        return count(actor=self.people[3], stamp=stamp(), place="R1", lines=lines, reason="not found")

    def stop(self):
        """Stop the lot."""
        return stop_lot(actor=self.people[4], stamp=stamp(), lot_id=self.lot.pk, reason="leaks reported")

    def scrap(self):
        """Scrap one."""
        return scrap(
            actor=self.people[5],
            stamp=stamp(),
            place="R1",
            item_id=self.ring.pk,
            amount=1,
            reason="bent",
            who_pays="shop",
        )

    def books(self) -> tuple[int, int]:
        """(amount, held) of the rings on the shelf."""
        row = Balance.objects.get(item=self.ring, place__code="R1")
        return row.amount, row.held


def open_holds() -> int:
    """How many holds are open."""
    return Hold.objects.filter(end__isnull=True).count()


def ways() -> list[str]:
    """How holds ended."""
    return list(HoldEnd.objects.order_by("pk").values_list("how", flat=True))


def test_one_of_eight_picks_the_hold_and_the_others_are_told(shop_database, monkeypatch):
    scene = Scene()
    seen = retries_seen(monkeypatch)
    ended = together([lambda at=at: scene.pick(at) for at in range(PICKERS)])
    assert refusals(ended) == ["hold-ended"] * 7
    assert [done.body["left"] for done in answers(ended)] == [0]
    assert scene.books() == (0, 0)
    assert ways() == ["picked"]
    assert dict(seen) == {}


@pytest.mark.damages_books
def test_control_without_locks_eight_pick_it(shop_database, monkeypatch):
    scene = Scene()
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.holding.pick", PICKERS)
    assert damaged(together([lambda at=at: scene.pick(at) for at in range(PICKERS)])) == 7


# What one does halfway, what another does meanwhile, where the first stands still, and what is left afterwards:
# (amount, held), open holds, how holds ended, and the refusal of the second, if any.
MEETINGS = {
    "a hold, then a count of nothing": ("hold", "count_none", "holding.hold_more", (0, 0), 0, ["made impossible"], []),
    "a count of nothing, then a hold": ("count_none", "hold", "post._update", (0, 0), 0, [], []),
    "a hold, then a scrap": ("hold", "scrap", "holding.hold_more", (0, 0), 0, ["made impossible"], []),
    "a hold, then a stop": ("hold", "stop", "holding.hold_more", (1, 0), 0, ["made impossible"], []),
    "a stop, then a hold": ("stop", "hold", "stopping.make_impossible", (1, 0), 0, [], []),
    "a pick, then a stop": ("pick", "stop", "holding.pick", (0, 0), 0, ["picked"], []),
    "a stop, then a pick": ("stop", "pick", "holding.end", (1, 0), 0, ["made impossible"], ["hold-ended"]),
    "a pick, then a release": ("pick", "release", "holding.pick", (0, 0), 0, ["picked"], ["hold-ended"]),
    "a release, then a pick": ("release", "pick", "holding.end", (1, 0), 0, ["released"], ["hold-ended"]),
    "a pick, then a count of nothing": ("pick", "count_none", "holding.pick", (0, 0), 0, ["picked"], []),
    "a count of nothing, then a pick": ("count_none", "pick", "holding.make_impossible", (0, 0), 0, ["made impossible"], ["hold-ended"]),
}  # fmt: skip


@pytest.mark.parametrize("meeting", MEETINGS.values(), ids=MEETINGS)
def test_who_comes_second_waits_and_sees_what_the_first_did(shop_database, monkeypatch, meeting):
    first, second, where, books, still_open, how, refused = meeting
    scene = Scene(held="hold" not in (first, second))
    seen = retries_seen(monkeypatch)
    halfway = Halfway(monkeypatch, f"inventory.services.{where}")
    ended = halfway.race(getattr(scene, first), getattr(scene, second))
    assert not halfway.overtaken
    assert ended[0].error is None, ended[0].error
    assert refusals(ended) == refused
    assert (scene.books(), open_holds(), ways()) == (books, still_open, how)
    assert dict(seen) == {}


# On SQLite without transactions a stop is there for all to see as soon as it is written: these two races need PostgreSQL.
CONTROLS = {name: one for name, one in MEETINGS.items() if on_postgresql() or not name.startswith("a stop")}


@pytest.mark.damages_books
@pytest.mark.parametrize("meeting", CONTROLS.values(), ids=CONTROLS)
def test_control_without_locks_the_second_overtakes_and_the_books_break(shop_database, monkeypatch, meeting):
    first, second, where, *_ = meeting
    scene = Scene(held="hold" not in (first, second))
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, f"inventory.services.{where}", PATIENCE_S)
    ended = halfway.race(getattr(scene, first), getattr(scene, second))
    assert halfway.overtaken
    promised_but_stopped = open_holds() == 1 and Stop.objects.count() == 1
    assert damaged(ended) == 1 or promised_but_stopped


def test_everybody_at_once(shop_database, monkeypatch):
    scene = Scene(pieces=12)
    numbers = [workshop.job(f"K{at}", "RINGS", cylinders=2).number for at in range(6)]
    more = [PersonFactory() for _ in numbers]
    seen = retries_seen(monkeypatch)
    calls = [lambda n=n, p=p: hold_kit(actor=p, stamp=stamp(), job=n) for n, p in zip(numbers, more, strict=True)]
    ended = together([*calls, scene.pick, scene.release, scene.count_none, scene.scrap, scene.scrap, scene.stop])
    # What is refused is refused by a rule, and by one of these; who was first decides.
    assert set(refusals(ended)) <= {"hold-ended", "not-there"}
    assert open_holds() == 0
    assert scene.books()[1] == 0
    assert dict(seen) == {}
