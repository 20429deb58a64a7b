"""The traces outside any transaction, as a reader meets them: each is one moment, and leaves the connection free to write."""

from django.db import connection

from inventory.models import Part
from inventory.queries.trace import set_history
from inventory.queries.whereabouts import lot_whereabouts
from kits.queries.trace import engine_contents, engine_story, not_recorded
from tests.databases import ShopDatabase
from tests.factories.jobs import book, fit_rows, ring_job_catalogue
from tests.factories.moves import DAY, item_of, lot_of, spot
from tests.factories.stores import NOON, PartFactory, shelf, stock


def test_each_read_is_a_transaction_of_its_own_and_the_next_write_works(shop_database: ShopDatabase):
    ring_job_catalogue()
    ring = Part.objects.get(number="RING")
    stock(ring, 10, lot="A")
    stock(PartFactory(number="SET", tracked_by="set", unit="SET"), serial="S-1")
    job, lot = book("J1"), lot_of(ring, "A").pk
    for number in (1, 2):
        fit_rows(job, (item_of(ring, lot="A"), spot(shelf()), f"CYL-{number}/ring"), at=NOON + number * DAY)
        assert len(engine_contents(job.engine)) == number
        assert len(engine_contents(job.engine, on=NOON + DAY)) == 1
        assert len(engine_story(job.engine).layers[0].rows) == number
        assert len(not_recorded(job.engine)) == 83 - number
        assert lot_whereabouts(lot).sum.in_engines == number
        assert set_history("SET", "S-1").now[0].place == "R1"
        assert not connection.in_atomic_block and connection.get_autocommit()
