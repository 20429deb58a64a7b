"""Failed log-ins are counted in the database: whatever worker sees them."""

from datetime import timedelta

from inventory.models import FailedLogin
from inventory.services.logins import count_try
from tests.databases import together
from tests.factories.stores import NOON


def test_workers_at_the_same_moment_count_together(shop_database):
    """Each thread is a worker with a connection of its own."""

    def tries() -> list[int]:
        return [count_try(actor=None, who="a", now=NOON, window=timedelta(minutes=15)) for _ in range(5)]

    ended = together([tries] * 4)
    assert [one.error for one in ended] == [None] * 4
    assert FailedLogin.objects.get().count == 20
    # nobody is told less than the tries that were made by then: at most ten of all are told ten or less
    assert sum(told <= 10 for one in ended for told in one.answer) <= 10
