"""Engines by number, near misses, and which engines hold a lot."""

from datetime import timedelta
from decimal import Decimal

import pytest

from inventory.domain.errors import DomainError
from inventory.models import Owner, Part
from inventory.queries.whereabouts import lot_whereabouts
from inventory.services.open_item import open_kit
from kits.models import Engine, Job
from kits.queries.engines import engine_by_number, engines_at, engines_with_lot, near_engines
from tests.factories.jobs import book, fit_rows, ring_job_catalogue
from tests.factories.moves import DAY, item_of, kit_of, lot_of, move, spot
from tests.factories.stores import NOON, PartFactory, PersonFactory, quarantine, shelf, stamp, stock

pytestmark = pytest.mark.django_db


def three_engines() -> None:
    ring_job_catalogue()
    for number, engine in (("J1", "T4-00211"), ("J2", "T4-00212"), ("J3", "T4-00500")):
        book(number, engine=engine)
    owner = Owner.objects.create(name="Harbour works")
    Engine.objects.filter(number="T4-00211").update(owner=owner)
    Job.objects.filter(number="J1").update(hours=Decimal("1089.0"))


def test_an_engine_is_found_however_its_number_is_typed():
    three_engines()
    assert [engine_by_number(text).number for text in ("T4-00211", "t4 00211", "T400211")] == ["T4-00211"] * 3


@pytest.mark.parametrize("text", ["T4-00221", "T4-OO211", "00211", "T4-0021"])
def test_an_unknown_number_names_the_near_ones(text):
    three_engines()
    with pytest.raises(DomainError) as refused:
        engine_by_number(text)
    assert refused.value.code == "engine-unknown"
    assert refused.value.values["near"] == [one.number for one in near_engines(text)]


def test_near_engines_say_whose_they_are_and_when_they_were_last_here():
    three_engines()
    book("J4", engine="T4-00211", at=NOON + 30 * DAY)
    book("J5", engine="T4-00211", at=NOON + 60 * DAY)
    Job.objects.filter(number="J5").update(state=Job.State.CANCELLED)
    found = near_engines("T4-O0211")
    assert [(one.number, one.owner, one.last_job, one.last_job_on) for one in found] == [
        ("T4-00211", "Harbour works", "J4", (NOON + 30 * DAY).date()),
    ]
    # One digit wrong: 00213 is a slip away from both.
    assert [one.number for one in near_engines("T4-00213")] == ["T4-00211", "T4-00212"]
    assert near_engines("") == ()


def test_the_engines_of_a_lot_for_certain_and_perhaps():
    three_engines()
    ring, kit = Part.objects.get(number="RING"), PartFactory(number="KIT", kind="kit")
    kit_of(kit, (ring, 1))
    stock(ring, 10, lot="A")
    stock(kit, 2, lot="K")
    open_kit(
        actor=PersonFactory(), stamp=stamp(), item_id=item_of(kit, lot="K").pk, place="R1", amount=2,
        to_place=quarantine().code,
    )  # fmt: skip
    unread = ring.items.get(lot__isnull=True)
    ring_a = item_of(ring, lot="A")
    jobs = {job.number: job for job in Job.objects.select_related("engine__place")}
    home, later = spot(shelf()), NOON + timedelta(days=2)
    fit_rows(jobs["J1"], (ring_a, home, "CYL-1/ring"), (ring_a, home, "CYL-2/ring"), at=later)
    fit_rows(jobs["J1"], (unread, spot(quarantine()), "CYL-3/ring"), at=later)
    fit_rows(jobs["J2"], (unread, spot(quarantine()), "CYL-1/ring"), at=later)
    fit_rows(jobs["J3"], (ring_a, home, "CYL-1/ring"), at=later)
    move((ring_a, 1, spot(jobs["J3"].engine.place, "CYL-1/ring"), spot(quarantine())), at=later + DAY)
    found = engines_with_lot(lot_whereabouts(lot_of(ring, "A").pk))
    assert [(one.engine.number, one.amount, one.positions, one.possible, one.possible_positions) for one in found] == [
        ("T4-00211", 2, ("CYL-1/ring", "CYL-2/ring"), 1, ("CYL-3/ring",)),
        ("T4-00212", 0, (), 1, ("CYL-1/ring",)),
    ]
    assert (found[0].engine.owner, found[0].engine.last_job, found[0].engine.hours) == (
        "Harbour works", "J1", Decimal("1089.0"),
    )  # fmt: skip


@pytest.mark.parametrize("engines", [1, 3])
def test_the_queries_do_not_grow_with_the_answer(engines, django_assert_num_queries):
    three_engines()
    places = list(Engine.objects.values_list("place_id", flat=True))[:engines]
    with django_assert_num_queries(2):
        assert len(engines_at(places)) == engines
    with django_assert_num_queries(4):
        near_engines("T4-00213")
    with django_assert_num_queries(2):
        engine_by_number("T4-00212")
