"""What is done in the stores and on the road without a connection, and sent later: sheets counted, notes sent and signed for."""

import uuid
from datetime import timedelta

import pytest

from inventory.models import Act, Balance, Clash, LateAct, SheetCount
from inventory.queries.audit import audit
from tests.api.rest.clients import ShopClient, somebody
from tests.api.rest.test_sent_later import outcomes, sent
from tests.factories.acts import item
from tests.factories.counting import may_recount, sheet_of, two_bins
from tests.factories.stores import NOON, PartFactory, shelf, stock
from tests.factories.vans import person, road

pytestmark = pytest.mark.django_db


def codes(answers):
    return [(one["outcome"], (one["problem"] or {}).get("code")) for one in answers]


@pytest.fixture
def sheet():
    two_bins()
    return str(sheet_of("SEAL", "D-RING"))


def counted(**lines):
    rows = [{"line": int(name[1:]), "counted": amount} for name, amount in lines.items()]
    return {"lines": rows, "looked_at": ["stem seal", "O-ring"]}


def test_a_sheet_is_counted_and_counted_again_out_of_reach_and_sent_once_each(sheet):
    piet, edda = ShopClient(somebody("storekeeper")), ShopClient(somebody("inspector"))
    first = [
        sent("enter counts", counted(l2="4 EA", l3="6 EA"), sheet),
        sent("enter counts", counted(l1="31 EA"), sheet),
        sent("enter counts", counted(l1="30 EA"), sheet),  # the same line once more
        sent("enter counts", counted(l1=1), "no sheet"),
        sent("enter counts", counted(l1=1), "99999"),
        sent("recount", counted(l1="31 EA"), sheet),
    ]
    answers = outcomes(piet, *first)
    assert codes(answers) == [
        ("done", None),
        ("done", None),
        ("refused", "counted-already"),
        ("refused", "not-found"),
        ("refused", "not-found"),
        ("refused", "second-person-needed"),
    ]
    assert [one["replayed"] for one in outcomes(piet, *first)] == [True] * 6
    assert (SheetCount.objects.count(), LateAct.objects.count(), Clash.objects.count()) == (3, 4, 0)
    (again,) = outcomes(edda, sent("recount", counted(l1="31 EA"), sheet, device="tablet 2"))
    assert (again["outcome"], again["answer"]["to_count_again"]) == ("done", [])
    booked = piet.send(f"count-sheets/{sheet}/postings", {"reason": "nine are missing"})
    assert booked.status_code == 201, booked.content
    assert [one["difference"] for one in booked.json()["lines"]] == [-9, 0, 0]
    (late,) = outcomes(edda, sent("recount", counted(l1="32 EA"), sheet, device="tablet 2"))
    assert codes([late]) == [("refused", "sheet-booked")]


def test_what_was_counted_is_held_against_the_books_of_the_moment_of_the_device(sheet):
    piet = ShopClient(somebody("storekeeper"))
    early = sent("enter counts", counted(l1="40 EA"), sheet) | {"device_at": (NOON + timedelta(hours=1)).isoformat()}
    its = item("SEAL", "lot=A").pk
    shelf("R2")
    line = {"item": its, "amount": "10 EA", "from_place": "R1", "to_place": "R2"}
    assert piet.send("transfers", {"lines": [line]}).status_code == 201
    assert outcomes(piet, early)[0]["outcome"] == "done"
    (seal,) = [one for one in piet.read(f"count-sheets/{sheet}/differences").json()["lines"] if one["part"] == "SEAL"]
    assert (seal["on_books"], seal["counted"], seal["difference"]) == (40, 40, 0)


def test_a_count_by_hand_with_its_second_person(sheet):
    edda = may_recount()
    piet = ShopClient(somebody("storekeeper"))
    its = item("SEAL", "lot=A").pk
    lines = [{"item": its, "counted": "31 EA"}]
    body = {"place": "R1", "lines": lines, "looked_at": ["stem seal"], "reason": "nine are missing"}
    two = body | {"lines": [lines[0] | {"counted_again": "31 EA"}], "second": edda.username}
    answers = outcomes(piet, sent("count", body), sent("count", two), sent("count", two | {"second": "nobody"}))
    assert codes(answers) == [("refused", "recount-needed"), ("done", None), ("refused", "not-found")]
    assert LateAct.objects.get(key=answers[0]["key"]).body == body  # nothing of what was counted is lost
    assert Balance.objects.get(item=its, place__code="R1").amount == 31


def test_two_who_counted_the_same_bin_out_of_reach_do_not_book_what_is_missing_twice(sheet):
    its = item("SEAL", "lot=A").pk
    piet, lio = ShopClient(somebody("storekeeper")), ShopClient(somebody("apprentice"))
    body = {"place": "R1", "lines": [{"item": its, "counted": "39 EA"}], "looked_at": ["stem seal"], "reason": "torn"}
    earlier, later = (
        sent("count", body, device=f"tablet {hour}") | {"device_at": (NOON + timedelta(hours=hour)).isoformat()}
        for hour in (1, 2)
    )
    assert codes(outcomes(lio, later)) == [("done", None)]
    (refused,) = outcomes(piet, earlier)
    (line,) = refused["problem"]["lines"]
    assert (refused["outcome"], line["code"]) == ("refused", "counted-since")
    assert f"by {lio.person.username} since" in line["detail"]
    assert Balance.objects.get(item=its, place__code="R1").amount == 39


@pytest.fixture
def on_the_road():
    way = road()
    part = PartFactory(number="S-1", tracked_by="set", unit="SET")
    stock(part, serial="S-7", place=shelf("R1"))
    return way, item("S-1", "serial=S-7").pk


def note_of(way, its):
    lines = [
        {"item": way.ring.pk, "amount": "4 EA", "from_place": "R1"},
        {"item": its, "amount": 1, "from_place": "R1"},
    ]
    return {"van": "VAN", "to_site": "QUAY", "driver": "lio", "lines": lines}


def came(rings=4, sets=1, place="Y1"):
    rows = [(1, rings), (2, sets)]
    return {"lines": [{"line": line, "amount": amount, "to_place": place} for line, amount in rows]}


def test_a_note_is_sent_and_signed_for_out_of_reach(on_the_road):
    way, its = on_the_road
    piet, cass = ShopClient(way.sender), ShopClient(way.receiver)
    away = sent("send to another site", note_of(way, its))
    (one,) = outcomes(piet, away)
    assert one["outcome"] == "done", one
    note = one["answer"]["note"]
    assert outcomes(piet, away)[0] == one | {"replayed": True}
    wrong = [
        sent("take in from another site", came(place="R1"), str(note), "tablet 2"),
        sent("take in from another site", {"lines": came()["lines"][:1]}, str(note), "tablet 2"),
    ]
    taken = sent("take in from another site", came(rings=3), str(note), "tablet 2")
    answers = outcomes(cass, *wrong, taken, taken)
    # A shelf of the other site, a line left out: mistakes, and no other story about the set that rode.
    assert codes(answers) == [
        ("refused", "wrong-place"),
        ("refused", "line-unanswered"),
        ("done", None),
        ("done", None),
    ]
    assert [one["replayed"] for one in answers] == [False, False, False, True]
    act = Act.objects.get(pk=answers[2]["act"])
    assert (act.device, act.actor) == ("tablet 2", way.receiver)
    assert sorted(Balance.objects.filter(amount__gt=0, item=way.ring).values_list("place__code", "amount")) == [
        ("R1", 6), ("VAN", 1), ("Y1", 3),
    ]  # fmt: skip
    assert (Clash.objects.count(), audit()) == (0, [])


def test_two_who_sign_for_one_note_apart_are_two_stories_about_what_has_a_number(on_the_road):
    way, its = on_the_road
    note = str(way_sent(way, its))
    cass, dov = ShopClient(way.receiver), ShopClient(person("dov", "QUAY"))
    there, not_there = came(), came(sets=0)
    two = sent("take in from another site", not_there, note, "tablet 3")  # done first, sent last
    assert codes(outcomes(cass, sent("take in from another site", there, note, "tablet 2"))) == [("done", None)]
    (answer,) = outcomes(dov, two)
    assert codes([answer]) == [("clash", "done-already")]
    assert outcomes(dov, two) == [answer | {"replayed": True}]
    boss = ShopClient(somebody("parts manager"))
    (clash,) = boss.read("clashes", open="true").json()["results"]
    assert (clash["item"], clash["first"]["device"], clash["second"]["body"]) == (its, "tablet 2", not_there)
    assert (clash["second"]["kind"], clash["second"]["of"]) == ("take in from another site", note)
    # Who comes later and had seen it signed for is told so, and that is no second story.
    late = sent("take in from another site", there, note, "tablet 4") | {"key": str(uuid.uuid4())}
    assert codes(outcomes(dov, late)) == [("refused", "done-already")]
    words = {"second_is_right": False, "words": "it was under the seat"}
    assert boss.send(f"clashes/{clash['clash']}/answers", words).status_code == 201


def way_sent(way, its):
    made = ShopClient(way.sender).send("transfer-notes", note_of(way, its))
    assert made.status_code == 201, made.content
    return made.json()["note"]


def test_a_set_that_another_device_sent_away_is_a_clash(on_the_road):
    way, its = on_the_road
    way_sent(way, its)
    body = note_of(way, its) | {"lines": note_of(way, its)["lines"][1:]}
    (answer,) = outcomes(ShopClient(way.sender), sent("send to another site", body, device="tablet 5"))
    assert (answer["outcome"], answer["problem"]["lines"][0]["code"]) == ("clash", "not-there")
