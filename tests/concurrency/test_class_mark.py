"""An engine comes under class while a part that stands in for a listed one is held, picked or fitted for it: the two do not pass each other.

Either the act stands in the books before the mark does, or it asks for the owner's word.
"""

from collections.abc import Callable
from typing import Any

import pytest

from inventory.models import Hold, Item, Part
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement
from kits.models import Engine, Fitting
from kits.services.engines import mark_classed
from kits.services.fit import FitIn, fit
from kits.services.hold_kit import hold_kit
from kits.services.pick_kit import pick
from tests.concurrency.races import PATIENCE_S, Halfway, no_locks, refusals
from tests.factories import workshop
from tests.factories.stores import PartFactory, PersonFactory, shelf, stamp, stock

#: Where a hold has been judged and is not written yet; where the mark has its lock and is not set yet.
JUDGED, LOCKED = "inventory.services.holding.hold_ids", "kits.services.engines._mark"


def job() -> None:
    """A job for one ring, which the stock has only by its replacement."""
    PartFactory(number="RING-N", name="liner ring")
    add_replacement(actor=PersonFactory(), stamp=stamp(), line=ReplacementIn("RING", [NewPart("RING-N")]))
    stock(Part.objects.get(number="RING-N"), 4, lot="B1", place=shelf("R1"))
    workshop.job("J1", "RINGS")


def mark() -> Callable[[], Any]:
    person = PersonFactory()
    return lambda: mark_classed(
        actor=person, stamp=stamp(), engine=Engine.objects.get().number, classed=True, reason="certificate 12"
    )


def holding() -> Callable[[], Any]:
    person = PersonFactory()
    return lambda: hold_kit(actor=person, stamp=stamp(), job="J1")


def picking() -> Callable[[], Any]:
    held, person = workshop.held_for("J1"), PersonFactory()
    return lambda: pick(actor=person, stamp=stamp(), pick_list=held.body["pick_list"], scans=workshop.scans_of(held))


def fitting() -> Callable[[], Any]:
    workshop.handed_over_for("J1")
    rows, person = [FitIn("CYL-1/ring", Item.objects.get(part__number="RING-N").pk)], PersonFactory()
    return lambda: fit(actor=person, stamp=stamp(), job="J1", fittings=rows)


ACTS = [holding, picking, fitting]


def test_the_mark_waits_for_a_hold_that_was_judged_without_it(shop_database, monkeypatch):
    job()
    halfway = Halfway(monkeypatch, JUDGED)
    ended = halfway.race(holding(), mark())
    assert not halfway.overtaken
    assert (refusals(ended), Hold.objects.count(), Engine.objects.get().classed) == ([], 1, True)


@pytest.mark.parametrize("act", ACTS)
def test_an_act_waits_for_the_mark_and_asks_then(shop_database, monkeypatch, act):
    job()
    other = act()
    halfway = Halfway(monkeypatch, LOCKED)
    ended = halfway.race(mark(), other)
    assert not halfway.overtaken
    assert refusals(ended) == ["substitute-not-agreed"]
    assert (Engine.objects.get().classed, Fitting.objects.count()) == (True, 0)


def test_control_without_locks_a_hold_is_written_under_a_mark_that_it_never_saw(shop_database, monkeypatch):
    job()
    first, second = holding(), mark()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, JUDGED, PATIENCE_S)
    ended = halfway.race(first, second)
    assert halfway.overtaken
    assert (refusals(ended), Hold.objects.count(), Engine.objects.get().classed) == ([], 1, True)


@pytest.mark.parametrize("act", ACTS)
def test_control_without_locks_an_act_passes_the_mark_unasked(shop_database, monkeypatch, act):
    job()
    first, second = mark(), act()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, LOCKED, PATIENCE_S)
    ended = halfway.race(first, second)
    assert halfway.overtaken
    assert (refusals(ended), Engine.objects.get().classed) == ([], True)
