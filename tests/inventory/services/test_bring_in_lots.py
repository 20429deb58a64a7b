"""Tables of lots: their expiries are worked out before the act that books them, and anew where what they rest on changed since."""

import pytest
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext

from inventory.domain.errors import DomainError
from inventory.models import Lot, Part, ShopSetting
from inventory.services import bring_in, bring_in_lots
from tests.factories.stores import PartFactory
from tests.inventory.services.test_bring_in import booked, read_in

pytestmark = pytest.mark.django_db


def lots(count=1):
    return "part;lot;cured\n" + "".join(f"X-1;L-{at};3Q22\n" for at in range(count))


@pytest.fixture
def ring():
    return PartFactory(number="X-1", life={"from": "cure", "years": 7})


def meanwhile(monkeypatch, change):
    """Somebody changes this after the lots were laid out and before the act that books them has read anything."""
    real = bring_in._open_file

    def opened(file_id):
        change()
        return real(file_id)

    monkeypatch.setattr(bring_in, "_open_file", opened)


def expiries():
    return {str(day) for day in Lot.objects.values_list("expires_on", flat=True)}


def test_a_part_that_got_another_life_meanwhile_counts_as_it_is_now(ring, monkeypatch):
    number = read_in("lots", lots())
    change = {"life": {"from": "cure", "years": 5}, "version": F("version") + 1}
    meanwhile(monkeypatch, lambda: Part.objects.filter(pk=ring.pk).update(**change))
    booked(number)
    # 3Q22 and so many years from the first day of the quarter: worked example of the demo shop (invented)
    assert expiries() == {"2027-07-01"}


def test_a_shop_that_counts_otherwise_meanwhile_is_asked_anew(ring, monkeypatch):
    number = read_in("lots", lots())
    meanwhile(
        monkeypatch, lambda: ShopSetting.objects.update_or_create(name="shelf_life", defaults={"value": "lenient"})
    )
    booked(number)
    # by the last day of the quarter instead
    assert expiries() == {"2029-09-30"}


def test_where_nothing_changed_nothing_is_worked_out_while_others_wait(ring, monkeypatch):
    asked = []
    for count in (3, 60):
        Lot.objects.all().delete()
        number = read_in("lots", lots(count))
        with CaptureQueriesContext(connection) as seen, monkeypatch.context() as own:
            meanwhile(own, lambda: own.setattr(bring_in_lots, "lay_out", None))
            assert booked(number)["booked"] == {"lots": count, "without_an_expiry": 0}
        asked.append(len(seen))
    assert asked[0] == asked[1]


def test_a_lot_that_was_entered_meanwhile_makes_its_row_stale(ring, monkeypatch):
    number = read_in("lots", lots(2))
    entered = {"part": ring, "code": "L-1", "compare_key": "l1"}
    meanwhile(monkeypatch, lambda: Lot.objects.create(**entered))
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert (caught.value.code, caught.value.values["rows"]) == ("import-stale", [3])
    assert not Lot.objects.filter(code="L-0").exists()
