"""Transfers, releases, counts, scrap, openings, weighing: the stores' own moves over HTTP."""

from datetime import date

import pytest
from django.contrib.auth.models import Group

from inventory.models import Balance, Item, Movement
from tests.factories import workshop
from tests.factories.stores import PartFactory, quarantine, shelf, stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    """Ten pieces of a lot on R1, an empty R2, quarantine."""
    shelf("R1")
    shelf("R2")
    quarantine("Q1")
    stock(PartFactory(number="P-1"), 10, lot="L-1", place=shelf("R1"))
    return Item.objects.get()


def standing():
    rows = Balance.objects.filter(real=True, amount__gt=0).values_list("place__code", "amount")
    return dict(rows)


def line(thing, **more):
    return {"item": thing.pk, "amount": "4 EA", "from_place": "R1", "to_place": "R2"} | more


def test_stock_is_carried_and_the_answer_says_from_where_to_where(shop, client_of):
    answer = client_of("storekeeper").send("transfers", {"lines": [line(shop)], "note": "nearer to the bench"})
    assert answer.status_code == 201
    told = answer.json()["lines"][0]
    assert (told["part"], told["amount"], told["from"], told["to"]) == (
        "P-1",
        4,
        {"place": "R1", "spot": "-"},
        {"place": "R2", "spot": "-"},
    )
    assert standing() == {"R1": 6, "R2": 4}


def test_every_line_that_cannot_be_carried_is_named_and_nothing_moves(shop, manager):
    answer = manager.send(
        "transfers",
        {
            "lines": [
                line(shop),
                line(shop, amount="11 EA"),
                line(shop, item=999),
                line(shop, to_place="R9"),
                line(shop, amount=-1),
            ]
        },
    )
    told = [(row["line"], row["code"]) for row in answer.json()["lines"]]
    assert told[-3:] == [(3, "not-found"), (4, "not-found"), (5, "amount-not-positive")]
    assert standing() == {"R1": 10}


def test_quarantine_is_left_only_by_an_inspector_who_did_not_bring_it_in(shop, manager, client_of):
    into = {"lines": [line(shop, to_place="Q1")]}
    assert manager.send("transfers", into).json()["lines"][0]["code"] == "reason-missing"
    assert manager.send("transfers", into | {"note": "dented"}).status_code == 201
    out = {"lines": [line(shop, from_place="Q1")]}
    assert manager.send("transfers", out).json()["lines"][0]["code"] == "release-needed"
    assert manager.send("quarantine-releases", out).json()["code"] == "not-allowed"
    assert client_of("inspector").send("quarantine-releases", out).status_code == 201
    assert standing() == {"R1": 6, "R2": 4}
    # what is not there was not in an engine for that
    (nothing,) = client_of("inspector").send("quarantine-releases", out).json()["lines"]
    assert (nothing["code"], nothing["detail"]) == ("not-there", "Q1 has 0 of P-1, lot L-1; 4 were asked for.")


def test_who_brought_it_in_does_not_release_it(shop, client_of):
    inspector = client_of("inspector")
    inspector.person.groups.add(Group.objects.get(name="storekeeper"))
    inspector.send("transfers", {"lines": [line(shop, to_place="Q1")], "note": "dented"})
    answer = inspector.send("quarantine-releases", {"lines": [line(shop, from_place="Q1")]})
    assert answer.json()["lines"][0]["code"] == "second-person-needed"


def test_a_count_that_differs_needs_a_reason_and_is_a_new_entry(shop, client_of):
    apprentice = client_of("apprentice")
    body = {"place": "R1", "lines": [{"part": "P-1", "lot": "L-1", "counted": "8 EA"}]}
    assert apprentice.send("counts", body).json()["lines"][0]["code"] == "reason-missing"
    answer = apprentice.send("counts", body | {"reason": "bin was short"})
    assert answer.status_code == 201
    told = answer.json()["lines"][0]
    assert (told["on_books"], told["counted"], told["difference"], told["said"]) == (10, 8, -2, "counted short")
    assert (standing(), Movement.objects.count()) == ({"R1": 8}, 2)
    twice = apprentice.send("counts", {"place": "R1", "lines": [{"item": shop.pk, "counted": 8}] * 2})
    assert twice.json()["lines"][0]["code"] == "counted-twice"


def test_only_the_parts_manager_writes_off(shop, manager, client_of):
    body = {"item": shop.pk, "amount": 1, "place": "R1", "reason": "rust", "who_pays": "shop"}
    assert client_of("storekeeper").send("scraps", body).json()["code"] == "not-allowed"
    answer = manager.send("scraps", body)
    assert (answer.status_code, answer.json()["who_pays"], standing()) == (201, "shop", {"R1": 9})
    for more, code in (
        ({"who_pays": "nobody"}, "fields-wrong"),
        ({"reason": ""}, "fields-wrong"),
        ({"amount": 10}, "not-there"),
        ({"amount": "1 mL"}, "quantity-wrong-dimension"),
        ({"place": "R2"}, "not-there"),
        ({"item": 999}, "not-found"),
    ):
        assert manager.send("scraps", body | more).json()["code"] == code
    assert standing() == {"R1": 9}


def test_who_pays_for_what_is_looked_up(shop, manager):
    body = {"item": shop.pk, "amount": 1, "place": "R1", "reason": "rust", "who_pays": "shop", "subject": "J-7"}
    acts = [
        manager.send("scraps", body | more)
        for more in (
            {},
            {"who_pays": "maker", "photo_ref": "folder 3/12", "amount": 2},
            {"destroyed": True, "reason": "cut"},
        )
    ]
    assert {answer.status_code for answer in acts} == {201}
    rows = manager.rows("scraps")
    assert [(row["who_pays"], row["amount"], row["photo"], row["destroyed"], row["reason"]) for row in rows] == [
        ("shop", 1, "", True, "cut"),
        ("maker", 2, "folder 3/12", False, "rust"),
        ("shop", 1, "", False, "rust"),
    ]
    assert {(row["part"], row["place"], row["subject"], row["by"]) for row in rows} == {
        ("P-1", "R1", "J-7", manager.person.username)
    }
    assert [row["amount"] for row in manager.rows("scraps", who_pays="maker")] == [2]
    assert [row["reason"] for row in manager.rows("scraps", destroyed="true", subject="J-7")] == ["cut"]
    # What was taken back was not scrapped.
    taken_back = manager.send(f"acts/{rows[1]['act']}/corrections", {"reason": "the other bolt"})
    assert taken_back.status_code == 201
    assert [row["who_pays"] for row in manager.rows("scraps")] == ["shop", "shop"]


def test_a_kit_is_opened_and_its_contents_carry_the_lots_on_the_inner_bags(shop, manager):
    kit = PartFactory(number="K-1", kind="kit", unit="KT")
    manager.send("parts/K-1/kit-revisions", {"contents": [{"part": "P-1", "amount": 4}]})
    stock(kit, 2, lot="KL-1", place=shelf("R2"))
    box = Item.objects.get(part=kit)
    unread = manager.send(f"items/{box.pk}/openings", {"place": "R2"})
    assert unread.json()["code"] == "inner-lot-missing"
    answer = manager.send(f"items/{box.pk}/openings", {"place": "R2", "inner_lots": {"P-1": "L-7"}})
    assert answer.status_code == 201, answer.json()
    told = answer.json()
    assert (told["kit"], told["amount"], told["revision"]) == ("K-1", 1, 1)
    assert [(one["part"], one["lot"], one["amount"], one["place"]) for one in told["contents"]] == [
        ("P-1", "L-7", 4, "R2")
    ]
    assert Balance.objects.get(item=box, place__code="R2").amount == 1


def test_a_tube_is_opened_and_weighed(shop, manager):
    tube = PartFactory(
        number="RTV",
        kind="sealant",
        unit="XTU",
        life={"closed_months": 18, "open_days": 28},
        net_ul=80_000,
        empty_mg=11_500,
        density_mg_per_ml=1320,
    )
    stock(tube, 3, lot="T", place=shelf("R2"), made_on=date(2024, 12, 1))
    closed = Item.objects.get(part=tube)
    answer = manager.send(
        f"items/{closed.pk}/openings", {"place": "R2", "tube": "T-001", "occurred_at": "2025-02-01T09:00:00Z"}
    )
    assert answer.status_code == 201, answer.json()
    told = answer.json()
    assert (told["tube"], told["content_ul"], told["opened_on"], told["use_by"]) == (
        "T-001",
        80_000,
        "2025-02-01",
        "2025-03-01",
    )
    weighed = manager.send("tubes/T-001/weighings", {"weight": "26.2 g", "occurred_at": "2025-02-02T09:00:00Z"})
    assert weighed.status_code == 201, weighed.json()
    # (26.2 g - 11.5 g) / 1.32 g/mL = 11.14 mL. Source: worked example of the demo shop
    assert (weighed.json()["content_ul"], weighed.json()["on_books_ul"]) == (11_136, 80_000)
    item = Item.objects.get(tube__number="T-001")
    assert manager.read(f"items/{item.pk}").json()["stands"][0]["amount"]["shown"] == "11.14 mL"
    for path, body, code in (
        ("tubes/T-001/weighings", {"weight": "3 g"}, "weight-below-empty"),
        ("tubes/T-001/weighings", {"weight": "9 kg"}, "weight-too-large"),
        ("tubes/T-001/weighings", {"weight": "26,2 g"}, "quantity-unreadable"),
        ("tubes/T-002/weighings", {"weight": "26.2 g"}, "not-found"),
        (f"items/{closed.pk}/openings", {"place": "R2", "tube": "T-001"}, "tube-number-used"),
        (f"items/{closed.pk}/openings", {"place": "R2", "tube": "T-2", "inner_lots": {}}, "fields-wrong"),
        (f"items/{closed.pk}/openings", {"place": "R1", "tube": "T-2"}, "not-there"),
        (f"items/{closed.pk}/openings", {"place": "R2"}, "not-a-kit"),
        ("items/999/openings", {"place": "R2"}, "not-found"),
    ):
        assert manager.send(path, body).json()["code"] == code, (path, body)


@pytest.mark.parametrize("path", ["transfers", "quarantine-releases", "counts"])
def test_ten_thousand_lines_and_none_are_refused(shop, manager, client_of, path):
    client = client_of("inspector") if path == "quarantine-releases" else manager
    more = {"place": "R1"} if path == "counts" else {}
    one = {"counted": 1, "item": shop.pk} if path == "counts" else line(shop)
    answer = client.send(path, {"lines": [one] * 10_000} | more)
    assert (answer.json()["code"], answer.json()["values"]["lines"]) == ("too-many-lines", 10_000)
    assert client.send(path, {"lines": []} | more).json()["code"] == "nothing-given"
    assert standing() == {"R1": 10}


def test_a_matched_set_is_scrapped_with_its_photo_or_why_there_is_none(shop, manager):
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET", kind="matched set"), serial="S-0441")
    body = {
        "item": Item.objects.get(part__number="S-1").pk,
        "amount": 1,
        "place": "R1",
        "reason": "cracked",
        "who_pays": "maker",
    }
    assert manager.send("scraps", body).json()["code"] == "photo-asked"
    assert manager.send("scraps", body | {"no_photo": "sent back in its box"}).status_code == 201
    assert [(row["photo"], row["no_photo"]) for row in manager.rows("scraps")] == [("", "sent back in its box")]


def test_what_lay_at_the_bench_of_an_ended_job_is_counted_where_it_is_put(client_of):
    workshop.workshop()
    ring = workshop.rings(1)
    workshop.job("J1", "RINGS")
    manager, quarantined = client_of("parts manager"), quarantine("Q1").code
    cancelled = manager.send("jobs/J1/cancellations", {"reason": "the customer sells it"})
    assert cancelled.status_code == 201, cancelled.content
    found = {"place": "bench J1", "lines": [{"item": ring.pk, "counted": "1 EA"}], "reason": "under the rag"}
    answer = manager.send("counts", found)
    (told,) = answer.json()["lines"]
    assert (answer.status_code, told["code"], told["values"]["job"]) == (409, "job-ended", "J1")
    assert "in quarantine" in told["ways_out"][0]
    assert manager.send("counts", found | {"place": quarantined}).status_code == 201
    assert standing() == {"R1": 1, "Q1": 1}
