"""Acts that a bench device sends later, and clashes, over HTTP."""

import uuid

import pytest
from django.db import OperationalError
from django.utils import timezone

from api.rest import sent_later
from inventory.models import Act, Balance, Clash, Item, LateAct, Movement, Place, Tube
from tests.api.rest.clients import somebody
from tests.api.rest.described import DescribedClient
from tests.api.rest.rebuilds import job_body
from tests.factories.stores import PartFactory, quarantine, shelf, stock

pytestmark = pytest.mark.django_db


def sent(kind, body, of="", device="tablet 1", key=None):
    at = timezone.now()
    return {
        "key": str(key or uuid.uuid4()), "kind": kind, "of": of, "device": device, "device_at": at.isoformat(), "body": body,
    }  # fmt: skip


def outcomes(client, *acts):
    answer = client.send("offline-acts", {"acts": list(acts)})
    assert answer.status_code == 201, answer.content
    return answer.json()["acts"]


@pytest.fixture
def at_bench(rebuild):
    return rebuild.at_bench()


def fitting(rebuild, position="CYL-1/set", part="SET", identity="serial=S-1"):
    body = {"fittings": [{"position": position, "item": rebuild.item(part, identity)}]}
    return body | {"checker": rebuild.inspector.person.username}


def test_each_is_taken_once_in_its_order_and_a_refused_one_stops_no_other(at_bench):
    jonah = at_bench.technician
    bolt = at_bench.item("NEW-BOLT")
    batch = [
        sent("scrap", {"item": bolt, "amount": "2 EA", "reason": "torn", "who_pays": "shop"}, "J-1"),
        sent("scrap", {"item": bolt, "amount": "99 EA", "reason": "torn", "who_pays": "shop"}, "J-1"),
        sent("scrap", {"item": bolt}, "J-1"),
        sent("count", {"place": "R1", "lines": []}),
        sent("pick", {"scans": []}, "no list"),
        sent("return", {"returns": [{"item": bolt, "amount": 3, "bag_sealed": True, "to_place": "R1"}]}, "J-1"),
    ]
    moved = Movement.objects.count()
    first = outcomes(jonah, *batch)
    assert [(one["outcome"], (one["problem"] or {}).get("code")) for one in first] == [
        ("done", None),
        ("refused", "not-there"),  # no single thing: a mistake, and no clash
        ("refused", "fields-wrong"),
        ("refused", "not-allowed"),
        ("refused", "not-allowed"),
        ("done", None),
    ]
    assert Movement.objects.count() == moved + 2
    act = Act.objects.get(pk=first[0]["act"])
    assert (str(act.key), act.device, act.occurred_at) == (batch[0]["key"], "tablet 1", act.device_at)
    # The answers were lost: the batch is sent again, and twice the same in one batch.
    acts = Act.objects.count()
    again = outcomes(jonah, *batch, batch[0])
    assert [one["replayed"] for one in again] == [True] * 7
    assert [one | {"replayed": False} for one in again[:6]] == first
    assert (Movement.objects.count(), Act.objects.count(), LateAct.objects.count()) == (moved + 2, acts, 4)
    other = outcomes(jonah, batch[0] | {"body": batch[0]["body"] | {"amount": "1 EA"}}, batch[1] | {"of": "J-2"})
    assert [(one["outcome"], one["problem"]["code"]) for one in other] == [("refused", "key-reused")] * 2
    assert Movement.objects.count() == moved + 2


def test_a_storekeepers_batch(at_bench):
    keeper = at_bench.storekeeper
    bolt = at_bench.item("SUMP-BOLT")
    there = Balance.objects.get(item_id=bolt, place__code="R1").amount
    count = {"place": "R1", "lines": [{"item": bolt, "counted": there}], "reason": "round"}
    body = outcomes(keeper, sent("count", count), sent("pick", {"scans": []}, "no list"), sent("fit", {}, "J-1"))
    assert [(one["outcome"], (one["problem"] or {}).get("code")) for one in body] == [
        ("done", None), ("refused", "not-found"), ("refused", "not-allowed"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("second", "code"),
    [
        ("same bore", "position-taken"),
        ("other bore", "not-on-list"),
        ("scrap", "not-there"),
        ("other engine", "not-there"),
    ],
)
def test_two_stories_about_one_set(at_bench, second, code):
    other = DescribedClient(somebody("technician"))
    item = at_bench.item("SET", "serial=S-1")
    dropped = {"item": item, "amount": 1, "reason": "dropped", "who_pays": "shop", "photo_ref": "1"}
    at_bench.did(at_bench.manager, "jobs", job_body(number="J-2", engine="T4-00212"))
    two = {
        "same bore": sent("fit", fitting(at_bench), "J-1", "tablet 2"),
        "other bore": sent("fit", fitting(at_bench, "CYL-2/set"), "J-1", "tablet 2"),
        "other engine": sent("fit", fitting(at_bench), "J-2", "tablet 2"),
        "scrap": sent("scrap", dropped, "J-1", "tablet 2"),
    }[second]
    one = sent("fit", fitting(at_bench), "J-1", "tablet 1")
    (first,) = outcomes(at_bench.technician, one)
    assert first["outcome"] == "done"
    moved = Movement.objects.count()
    (answer,) = outcomes(other, two)
    codes = [answer["problem"]["code"], *(line["code"] for line in answer["problem"]["lines"])]
    assert (answer["outcome"], codes) == ("clash", [code] * len(codes))
    assert outcomes(other, two) == [answer | {"replayed": True}]
    (clash,) = at_bench.manager.read("clashes", open="true").json()["results"]
    assert (clash["clash"], clash["item"], clash["part"]) == (answer["clash"], item, "SET")
    assert (clash["first"]["act"], clash["first"]["device"]) == (first["act"], "tablet 1")
    assert (clash["second"]["body"], clash["second"]["key"]) == (two["body"], two["key"])
    assert (Clash.objects.count(), Movement.objects.count()) == (1, moved)


def test_the_parts_manager_is_reminded_until_somebody_answers(at_bench):
    other, manager = DescribedClient(somebody("technician")), at_bench.manager
    two = sent("fit", fitting(at_bench), "J-1", "tablet 2")
    outcomes(at_bench.technician, sent("fit", fitting(at_bench), "J-1"))
    (answer,) = outcomes(other, two)
    today = timezone.localdate().isoformat()

    def reminded():
        rows = manager.read("reminders", on=today).json()["reminders"]
        return [row for row in rows if row["kind"] == "two stories about one thing"]

    (row,) = reminded()
    assert (row["number"], row["days"]) == (answer["clash"], 1)
    assert "tablet 1 stands" in row["what"] and "tablet 2 was refused" in row["what"]
    path = f"clashes/{answer['clash']}/answers"
    body = {"second_is_right": False, "words": "Jonah read the number off the skirt"}
    assert other.send(path, body).json()["code"] == "not-allowed"
    assert manager.send(path, body | {"words": " "}).json()["code"] in ("reason-missing", "fields-wrong")
    assert manager.send(path, body).json() == {"clash": answer["clash"], **body}
    assert reminded() == []
    assert manager.read("clashes", open="true").json()["results"] == []
    (told,) = manager.read("clashes", open="false").json()["results"]
    assert (told["answer"]["words"], told["answer"]["second_is_right"]) == (body["words"], False)
    assert manager.send(path, body).json()["code"] == "done-already"
    assert manager.send("clashes/999999/answers", body).json()["code"] == "not-found"


def test_what_nobody_decided_is_sent_again(at_bench, monkeypatch):
    act = sent("fit", fitting(at_bench), "J-1")

    def busy(*given):
        raise OperationalError("database is locked")

    with monkeypatch.context() as patched:
        patched.setattr(sent_later, "_do", busy)
        (answer,) = outcomes(at_bench.technician, act)
    assert (answer["outcome"], answer["problem"]["code"], LateAct.objects.count()) == ("not taken", "database-busy", 0)
    assert outcomes(at_bench.technician, act)[0]["outcome"] == "done"


def test_a_clock_ahead_of_ours_is_kept_and_not_believed(at_bench):
    act = sent("fit", fitting(at_bench), "J-1") | {"device_at": "2099-01-01T00:00:00+00:00"}
    (answer,) = outcomes(at_bench.technician, act)
    row = Act.objects.get(pk=answer["act"])
    assert (row.device_at.year, row.occurred_at <= row.recorded_at) == (2099, True)


@pytest.mark.parametrize(
    "wrong", [{"kind": "close"}, {"key": "1"}, {"device": ""}, {"body": []}, {"device_at": "yesterday"}, {"more": 1}]
)
def test_what_is_no_act_is_refused_as_a_whole(at_bench, wrong):
    good = sent("fit", fitting(at_bench), "J-1")
    answer = at_bench.technician.send("offline-acts", {"acts": [good, good | wrong]})
    assert answer.json()["code"] == "fields-wrong"
    assert not Act.objects.filter(key=good["key"]).exists()


def test_a_tube_is_opened_and_weighed_out_of_reach_once_each(client_of):
    sealant = {"kind": "sealant", "net_ul": 50_000, "empty_mg": 11_500, "density_mg_per_ml": 1320}
    stock(PartFactory(number="T-1", **sealant), 2, lot="L-1", place=shelf("R1"))
    closed = str(Item.objects.get().pk)
    jonah = client_of("technician")
    batch = [
        sent("open", {"place": "R1", "tube": "TUBE-1"}, closed),
        sent("weigh tube", {"weight": "46.348 g"}, "TUBE-1"),
        sent("weigh tube", {"weight": "4 g"}, "TUBE-1"),
        sent("open", {"place": "R1", "tube": "TUBE-1"}, closed),
        sent("open", {"place": "R1", "tube": "TUBE-2"}, "no item"),
    ]
    answers = outcomes(jonah, *batch)
    assert [(one["outcome"], (one["problem"] or {}).get("code")) for one in answers] == [
        ("done", None),
        ("done", None),
        ("refused", "weight-below-empty"),
        ("refused", "tube-number-used"),
        ("refused", "not-found"),
    ]
    assert answers[1]["answer"]["content_ul"] == 26_400
    assert [one["replayed"] for one in outcomes(jonah, *batch)] == [True] * 5
    assert Tube.objects.count() == 1


def test_a_set_that_another_device_fitted_is_reported_broken_and_both_stories_are_kept(at_bench):
    quarantine("QB", at=Place.objects.get(code="R1").site)
    other = DescribedClient(somebody("technician"))
    (first,) = outcomes(at_bench.technician, sent("fit", fitting(at_bench), "J-1", "tablet 1"))
    assert first["outcome"] == "done"
    body = {"damaged": "liner", "reason": "dropped", "orphan_place": "QB", "no_photo": "none taken"}
    broken = sent("break set", body, "S-1", "tablet 2")
    (answer,) = outcomes(other, broken)
    assert (answer["outcome"], answer["problem"]["code"]) == ("clash", "wrong-place")
    assert outcomes(other, broken) == [answer | {"replayed": True}]
    (clash,) = at_bench.manager.read("clashes", open="true").json()["results"]
    assert (clash["item"], clash["second"]["kind"]) == (at_bench.item("SET", "serial=S-1"), "break set")
    (done,) = outcomes(other, sent("break set", body, "S-2", "tablet 2"))
    assert (done["outcome"], done["answer"]["serial"]) == ("done", "S-2")
