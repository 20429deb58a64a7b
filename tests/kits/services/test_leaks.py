"""Rings that leaked: named with groove, lot and lubricant, out before the job ends, never in again, told of their lot."""

import pytest

from inventory.models import Balance, Lot, Part
from kits.models import LeakTestRing
from kits.queries.build import unchecked
from kits.queries.job_list import job_list
from kits.queries.leaks import leaks_of_lot
from kits.services.build import record_leak_test
from kits.services.finish import close_job
from kits.services.fit import FitIn, fit
from kits.services.pick_kit import hand_over, pick
from kits.services.strip import RemoveIn, remove
from tests.factories import workshop
from tests.factories.acts import done, refused
from tests.factories.stores import NOON, PersonFactory, technician

pytestmark = pytest.mark.django_db
DRY = {"job": "J1", "pressure": "1 bar", "held": "10 min", "drop": "0 bar", "temperature": "20 °C"}
WET = DRY | {"wet": ["CYL-1/set"]}


@pytest.fixture
def tested():
    """A job with rings of lot B-1 in both bores, one of them fitted with soap; a third of the lot at the bench; Finn fits."""
    workshop.workshop()
    Part.objects.filter(number="RING").update(kind="O-ring", compound="EPDM")
    workshop.rings(3, lot="B-1")
    job = workshop.job("J1", "RINGS", cylinders=2)
    workshop.handed_over_for("J1")
    finn = PersonFactory(username="finn")
    ring = Balance.objects.get(place=job.bench, part__number="RING").item_id
    fittings = [FitIn("CYL-1/ring", ring, lubricant="soap"), FitIn("CYL-2/ring", ring)]
    done(fit, actor=finn, job="J1", fittings=fittings)
    return job, finn, ring


def still_in(job):
    """Rings that leaked and keep the job open."""
    return [
        row["position"]
        for row in unchecked(job, job_list(job, NOON.date()))
        if row["what"] == "ring that leaked is still in"
    ]


def test_every_ring_is_kept_as_it_stood_and_those_of_the_wet_liner_leaked(tested):
    *_, ring = tested
    rows = [
        {
            "position": f"CYL-{n}/ring", "groove": "ring", "part": "RING", "lot": "B-1", "item": ring, "amount": 1,
            "lubricant": with_what, "leaked": n == 1,
        }
        for n, with_what in ((1, "water-based soap"), (2, ""))
    ]  # fmt: skip
    assert done(record_leak_test, **WET)["rings"] == rows
    assert [row["leaked"] for row in done(record_leak_test, **DRY)["rings"]] == [False, False]
    assert LeakTestRing.objects.count() == 4


def test_a_ring_that_leaked_is_out_before_the_job_ends_and_never_goes_in_again(tested):
    job, finn, ring = tested
    assert still_in(job) == []
    done(record_leak_test, **WET)
    assert still_in(job) == ["CYL-1/ring"]
    # A good test does not make it good again.
    done(record_leak_test, **DRY)
    assert still_in(job) == ["CYL-1/ring"]
    error = refused("job-not-done", close_job, actor=finn, job="J1", checker=workshop.checker("edda"))
    assert "ring that leaked is still in" in str(error.values)
    done(remove, actor=finn, job="J1", removals=[RemoveIn("CYL-1/ring", looked="rolled")])
    assert still_in(job) == []
    refused("ring-leaked", fit, actor=finn, job="J1", fittings=[FitIn("CYL-1/ring", ring)])
    assert Balance.objects.get(place=job.bench, item=ring).amount == 1


def test_a_new_ring_of_the_same_lot_goes_in_and_the_list_asks_for_it(tested):
    job, finn, ring = tested
    done(record_leak_test, **WET)
    done(remove, actor=finn, job="J1", removals=[RemoveIn("CYL-1/ring", to="scrap", looked="cut")])
    held = workshop.held_for("J1").body
    assert [(row["part"], row["positions"]) for row in held["held"]] == [("RING", [["CYL-1/ring", 1, 1]])]
    done(pick, pick_list=held["pick_list"], scans=[workshop.Scan(held["held"][0]["hold"], "B-1")])
    done(hand_over, pick_list=held["pick_list"], received_by=technician())
    done(fit, actor=finn, job="J1", fittings=[FitIn("CYL-1/ring", ring, lubricant="soap")])
    assert still_in(job) == []
    told = leaks_of_lot(Lot.objects.get(code="B-1").pk)
    assert [(one.said, one.groove, one.lubricant, one.out, one.engine) for one in told] == [
        ("leaked at CYL-1 on J1, cut", "ring", "water-based soap", True, job.engine.number)
    ]


def test_a_look_that_is_none_leaves_everything_where_it_was(tested):
    job, finn, ring = tested
    refused("ring-look-unusable", remove, actor=finn, job="J1", removals=[RemoveIn("CYL-1/ring", looked="squashed")])
    assert Balance.objects.get(place=job.engine.place, spot__name="CYL-1/ring").amount == 1
    done(record_leak_test, **WET)
    said = leaks_of_lot(Lot.objects.get(code="B-1").pk)[0].said
    assert said == "leaked at CYL-1 on J1, not said how the ring looked"
