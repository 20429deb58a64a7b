"""Where everything went that a job was issued: recomputed from the movements, and damaged behind them."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.queries.audit import audit
from kits.models import Job
from kits.queries.issued import issued_to
from tests.api.rest.rebuilds import rebuild as new_rebuild
from tests.api.rest.rebuilds import small_shop
from tests.factories.damage import execute, lift_guards

NAMES = ("issued", "fitted", "returned", "scrapped", "still_here")


def told(job: Job, part: str) -> tuple[int, ...]:
    (row,) = [one for one in issued_to(job) if one["part"] == part]
    return tuple(row[name] for name in NAMES)


@pytest.mark.django_db
def test_four_queries_for_however_many_items():
    small_shop()
    rebuild = new_rebuild().booked()
    job = Job.objects.get()
    assert issued_to(job) == []
    rebuild.held().picked()
    with CaptureQueriesContext(connection) as many:
        assert len(issued_to(job)) >= 3
    assert len(many) == 4


@pytest.mark.damages_books
def test_a_balance_that_the_movements_do_not_bear_out_is_named_by_item(shop_database):
    small_shop()
    rebuild = new_rebuild().at_bench()
    job = Job.objects.get()
    assert all(row["adds_up"] for row in issued_to(job))
    lift_guards("inventory_balance")
    bolt = rebuild.item("NEW-BOLT")
    execute(
        "UPDATE inventory_balance SET amount = amount + 1 WHERE item_id = %s AND place_id = %s", [bolt, job.bench_id]
    )
    assert [row["part"] for row in issued_to(job) if not row["adds_up"]] == ["NEW-BOLT"]
    assert [one.invariant for one in audit()] == ["balance-is-the-sum"]
