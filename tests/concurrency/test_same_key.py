"""Eight clients send the same request at the same moment, because the first answer was slow to come."""

import uuid

import pytest

from inventory.domain.errors import DomainError
from inventory.models import Act, Hold, Refusal
from inventory.services.count import CountLine, count
from kits.services.hold_kit import hold_kit
from tests.concurrency.races import answers, damaged, meet_before, no_locks, refusals, retries_seen
from tests.databases import together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp

CLIENTS = 8


def the_same_eight_times():
    """One hold of two rings, asked for eight times with one key."""
    workshop.job("J1", "RINGS", cylinders=2)
    person, mark = PersonFactory(), stamp(key=uuid.uuid4())
    return mark.key, [lambda: hold_kit(actor=person, stamp=mark, job="J1")] * CLIENTS


def test_one_act_and_seven_replays_with_the_same_body(shop_database, monkeypatch):
    workshop.rings(20)
    key, calls = the_same_eight_times()
    seen = retries_seen(monkeypatch)
    ended = together(calls)
    assert refusals(ended) == []
    done = answers(ended)
    assert sorted(one.replayed for one in done) == [False] + [True] * 7
    assert [one.body for one in done] == [done[0].body] * CLIENTS
    assert {one.act_id for one in done} == set(Act.objects.filter(key=key).values_list("pk", flat=True))
    assert sum(Hold.objects.values_list("amount", flat=True)) == 2
    assert dict(seen) == {}


def test_the_same_key_with_other_content_is_a_named_conflict_for_all_but_one(shop_database):
    ring = workshop.rings(20)
    person, mark = PersonFactory(), stamp(key=uuid.uuid4())

    def counted(pieces: int):
        lines = [CountLine(pieces, item_id=ring.pk)]
        return lambda: count(actor=person, stamp=mark, place="R1", lines=lines, reason="counted")

    ended = together([counted(pieces) for pieces in range(11, 11 + CLIENTS)])
    assert refusals(ended) == ["key-reused"] * 7
    assert [one.replayed for one in answers(ended)] == [False]
    assert Refusal.objects.filter(key=mark.key, code="key-reused").count() == 7


def test_a_refused_key_is_free_for_whoever_comes_with_it_again(shop_database):
    mark = stamp(key=uuid.uuid4())
    person = PersonFactory()
    with pytest.raises(DomainError, match="no job J1"):
        hold_kit(actor=person, stamp=mark, job="J1")
    workshop.job("J1", "RINGS")
    ended = together([lambda: hold_kit(actor=person, stamp=mark, job="J1")] * CLIENTS)
    assert sorted(one.replayed for one in answers(ended)) == [False] + [True] * 7


@pytest.mark.damages_books
def test_control_without_the_lock_on_the_key_seven_run_into_the_key_itself(shop_database, monkeypatch):
    workshop.rings(20)
    key, calls = the_same_eight_times()
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.run._header", CLIENTS)
    ended = together(calls)
    assert damaged(ended) == 7
    assert [one.replayed for one in answers(ended)] == [False]
    assert Act.objects.filter(key=key).count() == 1
