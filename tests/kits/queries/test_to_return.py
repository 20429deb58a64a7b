"""What lies with a job, or is held for it, and serves nothing on its list."""

import pytest

from inventory.models import Balance, Part
from kits.queries.to_return import to_return
from kits.services.extras import ask_for_more
from kits.services.jobs import withdraw_finding
from tests.factories.acts import done
from tests.factories.rebuilds import (
    TODAY,
    at_bench,
    book,
    hold,
    item_at,
    opened,
    person,
    put_in,
    shelve,
)
from tests.factories.sealing import sealed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

LIFTED = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]


def test_nothing_is_to_be_returned_where_everything_serves():
    shelve({"A-111": 2, "G-708": 1})
    job = book(findings=LIFTED)
    at_bench(job, steps=["P1/10"])
    assert to_return(job, TODAY) == {"job": "J1", "lying": [], "held": []}


def test_a_hold_for_a_finding_that_is_gone_is_to_be_released():
    shelve({"A-111": 2})
    job = book(findings=LIFTED)
    body = hold(job, steps=["P1/10"])
    done(withdraw_finding, job="J1", finding_id=job.findings.order_by("-pk")[0].pk, reason="mistaken")
    (row,) = body["held"]
    assert to_return(job, TODAY)["held"] == [
        {
            "hold": row["hold"],
            "pick_list": body["pick_list"],
            "part": "A-111",
            "name": row_name("A-111"),
            "lot": row["lot"],
            "serial": "",
            "tube": "",
            "place": row["place"],
            "spot": row["spot"],
            "amount": 1,
            "held": 2,
            "base": "piece",
            "shown": "1",
            "positions": ["CYL-2/base-ring"],
        }
    ]


def test_one_more_that_was_asked_for_and_is_held_is_not_to_be_released():
    shelve({"A-111": 4, "G-708": 1})
    job = book(findings=LIFTED)
    at_bench(job, steps=["P1/10"])
    done(ask_for_more, job="J1", part="A-111", amount=1, reason="found after strip", positions=["CYL-3/base-ring"])
    assert to_return(job, TODAY)["held"] == []


def row_name(number):
    """What the catalogue calls a part."""
    return Part.objects.get(number=number).name


def test_the_rest_of_a_tube_is_to_be_returned_once_its_joint_is_closed():
    shelve({"G-701": 1, "A-212": 1, "G-710": 1})
    job = book(findings=[("sump-off", "ENGINE")])
    body = at_bench(job, steps=["P1/40"])
    tube = opened(job, item_at(body, "SUMP/bead"), "T-1")
    assert to_return(job, TODAY)["lying"] == []
    put_in(job, *sealed(job, {"SUMP/bead": tube}, person("fitter")))
    (row,) = to_return(job, TODAY)["lying"]
    content = body_of(tube)
    assert (row["tube"], row["amount"], row["base"], row["place"]) == ("T-1", content, "microlitre", "bench J1")


def body_of(item):
    """Microlitres of an opened tube at the bench."""
    return Balance.objects.get(item=item, place__kind="bench").amount
