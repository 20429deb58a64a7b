"""Nothing is bought to the bench of a job that has ended, and nothing more is found there by a count."""

import pytest

from inventory.models import Balance, Refusal
from inventory.services.count import CountLine, count
from inventory.services.receive import ReceiveLine, receive
from kits.models import Job
from kits.services.finish import cancel_job
from tests.factories import workshop
from tests.factories.acts import done, refused, standing
from tests.factories.stores import SupplierFactory, bench, quarantine, shelf, stamp

pytestmark = pytest.mark.django_db


def buying(place):
    """Two rings without a lot, bought round the corner."""
    workshop.rings(1)
    workshop.job("J1", "RINGS")
    return {
        "supplier": SupplierFactory().code,
        "place": place,
        "lines": [ReceiveLine("RING", 2)],
        "reason": "the last one tore",
        "emergency": True,
        "demand": True,
    }


@pytest.mark.parametrize("state", [Job.State.CLOSED, Job.State.CANCELLED])
def test_the_bench_of_an_ended_job_takes_nothing_and_says_where_else_it_goes(state):
    workshop.workshop()
    asked = buying("bench J1")
    if state == Job.State.CANCELLED:
        done(cancel_job, job="J1", reason="the customer sells it")
    else:
        Job.objects.filter(number="J1").update(state=state)
    error = refused("job-ended", receive, **asked)
    assert (error.values["job"], error.values["state"], error.values["place"]) == ("J1", state, "bench J1")
    assert error.ways_out[0] == "Receive it at the bench of the job that uses it."
    assert str(error).startswith("bench J1 is the bench of job J1, which is ")
    assert not Balance.objects.filter(place__code="bench J1").exists()
    assert Refusal.objects.filter(code="job-ended").count() == 1
    # The ways out: with its lot on a shelf, or to another bench.
    done(receive, **asked | {"place": shelf("R1").code, "lines": [ReceiveLine("RING", 2, lot="X")]})
    bench("the lathe")
    done(receive, **asked | {"place": "the lathe"}, stamp=stamp())


def test_the_bench_of_an_open_job_takes_it():
    workshop.workshop()
    done(receive, **buying("bench J1"))
    assert Balance.objects.get(place__code="bench J1").amount == 2


@pytest.mark.parametrize("place", ["bench J1", "cart J1"])
def test_what_is_found_on_the_cart_or_at_the_bench_of_an_ended_job_is_counted_where_it_is_put(place):
    workshop.workshop()
    ring = workshop.rings(1)
    workshop.job("J1", "RINGS")
    lines, why = [CountLine(1, item_id=ring.pk)], {"reason": "lay under the rag"}
    assert done(count, place=place, lines=lines, **why)["lines"][0]["said"] == "counted over"
    assert done(count, place=place, lines=[CountLine(0, item_id=ring.pk)], **why)["lines"][0]["said"] == "counted short"
    done(cancel_job, job="J1", reason="the customer sells it")
    many = refused("job-ended", count, place=place, lines=lines, **why)
    ((number, error),) = many.errors
    assert (number, error.values) == (1, {"job": "J1", "state": "cancelled", "place": place})
    assert error.message == (
        f"{place} is the {place.split()[0]} of job J1, which is cancelled: nothing comes to it any more."
    )
    assert error.ways_out[0].startswith("Put it where it is kept from now on, and count it there")
    # that nothing is there is counted as ever, and the way out is open
    assert done(count, place=place, lines=[CountLine(0, item_id=ring.pk)])["lines"][0]["said"] == "as the books say"
    done(count, place=quarantine("Q1").code, lines=lines, **why)
    assert standing() == [("RING", "lot=B1", "Q1", 1), ("RING", "lot=B1", "R1", 1)]
