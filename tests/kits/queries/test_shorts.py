"""What a job is short of, and the ways out."""

from datetime import UTC, date, datetime, timedelta

import pytest

from inventory.models import Item, Part, ShopSetting, Supplier, SupplierPart
from inventory.services.transfer_notes import SendLine, send_to_site
from kits.queries.job_list import job_list
from kits.queries.shorts import arriving, shorts_of
from kits.services.left_over import scrap_for_job
from tests.factories.acts import done
from tests.factories.rebuilds import at_bench, book, hold, item_at, shelve, shelve_lot
from tests.factories.stores import stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

LIFTED = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]


TODAY = date(2024, 12, 30)


def short_of(job):
    return {row["part"]: row["short"] for row in shorts_of(job, TODAY)["shorts"]}


def ways(job, part, day=TODAY):
    return next(row["ways"] for row in shorts_of(job, day)["shorts"] if row["part"] == part)


def test_short_is_what_is_neither_free_nor_held_nor_at_the_bench():
    shelve({"A-111": 1, "G-708": 1})
    job = book(findings=LIFTED)
    assert short_of(job)["A-111"] == 1
    body = at_bench(job, steps=["P1/10"])
    assert short_of(job)["A-111"] == 1
    row = next(row for row in shorts_of(job, TODAY)["shorts"] if row["part"] == "A-111")
    assert (row["positions"], row["step"], row["free"], row["name"]) == (
        ["CYL-2/base-ring"],
        "P1/10",
        0,
        Part.objects.get(number="A-111").name,
    )
    done(
        scrap_for_job,
        job="J1",
        item_id=item_at(body, "CYL-1/base-ring"),
        amount=1,
        reason="cut",
        who_pays="job",
    )
    assert short_of(job)["A-111"] == 2


def test_a_tube_that_the_shelf_lacks_is_short_too():
    job = book(findings=[("sump-off", "ENGINE")])
    assert short_of(job)["G-701"] == 1
    shelve({"G-701": 1})
    assert "G-701" not in short_of(job)
    hold(job, steps=["P1/40"])
    assert "G-701" not in short_of(job)


def test_every_way_out_is_named():
    ShopSetting.objects.create(name="travel_days", value={"TB": {"QY": 1}})
    job = book(findings=LIFTED, fit_on=date(2025, 1, 20))
    supplier = Supplier.objects.get(code="Saltby")
    ring = Part.objects.get(number="A-111")
    SupplierPart.objects.create(supplier=supplier, part=ring, lead_days=21, pack=20, price_coins=210)
    shelve({"A-111": 1}, site="QY")
    found = ways(job, "A-111")
    van = {"way": "other site", "site": "QY", "place": "QY-STORE", "lot": "A-111/1", "amount": 1}
    # The road from QY takes a day, and the supplier 21: the van is before buying.
    assert van | {"arrives_on": "2024-12-31", "in_time": True, "before_buying": True} in found
    buy = {"way": "buy", "supplier": "Saltby", "lead_days": 21, "pack": 20, "price_coins": 210}
    assert buy | {"arrives_on": "2025-01-20", "in_time": True} in found
    shelve_lot("A-111", 2, "TB-1", cure="1Q22")
    later = book("J2", engine="A4-020544", findings=LIFTED, fit_on=date(2025, 2, 1))
    hold(later, steps=["P1/10"])
    assert {"way": "borrow", "job": "J2", "amount": 2, "needed_there_on": "2025-02-01"} in ways(job, "A-111")


def test_what_another_site_has_is_here_by_the_van_or_on_the_way_already():
    ShopSetting.objects.create(name="travel_days", value={"TB": {"QY": 1}})
    job = book(findings=LIFTED, fit_on=date(2025, 1, 20))
    ring = Part.objects.get(number="A-111")
    SupplierPart.objects.create(supplier=Supplier.objects.get(code="Saltby"), part=ring, lead_days=1)
    shelve({"A-111": 2}, site="QY")
    (van,) = [one for one in ways(job, "A-111", date(2025, 1, 20)) if one["way"] == "other site"]
    assert (van["arrives_on"], van["in_time"], van["before_buying"]) == ("2025-01-21", False, False)
    step = ("P1", 10)
    lacking = {(key, part): day for key, part, _, _, day in arriving(job_list(job, on=TODAY), TODAY) if key == step}
    assert lacking[step, "A-111"] == TODAY + timedelta(days=1)
    SupplierPart.objects.all().delete()
    lacking = {(key, part): day for key, part, _, _, day in arriving(job_list(job, on=TODAY), TODAY) if key == step}
    assert lacking[step, "A-111"] == TODAY + timedelta(days=1)
    line = SendLine(Item.objects.get(part=ring).pk, 1, "QY-STORE", for_job="J1")
    note = done(send_to_site, van="VAN", to_site="TB", lines=[line], stamp=stamp(datetime(2025, 1, 14, 9, tzinfo=UTC)))[
        "note"
    ]
    (way,) = [one for one in ways(job, "A-111") if one["way"] == "on the way"]
    assert (way["note"], way["lot"], way["amount"], way["for_job"]) == (note, "A-111/1", 1, "J1")
    assert (way["arrives_on"], way["in_time"]) == ("2025-01-15", True)


@pytest.mark.parametrize(
    ("lead_days", "asked", "arrives_on", "in_time"),
    [
        (21, date(2024, 12, 30), "2025-01-20", True),  # on the day of fitting itself
        (21, date(2024, 12, 31), "2025-01-21", False),
        (0, date(2025, 1, 20), "2025-01-20", True),
        (None, date(2024, 12, 30), None, None),
    ],
)
def test_what_is_bought_is_in_time_or_not(lead_days, asked, arrives_on, in_time):
    job = book(findings=LIFTED, fit_on=date(2025, 1, 20))
    part = Part.objects.get(number="A-111")
    SupplierPart.objects.create(supplier=Supplier.objects.get(code="Saltby"), part=part, lead_days=lead_days)
    (buy,) = [one for one in ways(job, "A-111", asked) if one["way"] == "buy"]
    assert (buy["arrives_on"], buy["in_time"]) == (arrives_on, in_time)


def test_closed_kits_that_hold_the_part_are_a_way():
    shelve({"A-801": 1})
    job = book(findings=[("valve-removed", "VALVE-1")], operations=["P2"])
    kits = [one for one in ways(job, "A-210") if one["way"] == "from a kit"]
    assert [(one["kit"], one["closed_kits"], one["each_holds"]) for one in kits] == [("A-801", 1, 8)]


def test_nothing_short_is_complete():
    shelve({"A-504": 1})
    job = book(findings=[("main-bolt-rejected", "MAIN-1/bolt-1")])
    assert shorts_of(job, TODAY) == {
        "job": "J1",
        "complete": True,
        "fit_on": "2025-01-20",
        "shorts": [],
        "buy_in": [],
        "raised": [],
        "lent": [],
    }
