"""The one transaction of an act: done once for each key, tried again when the database was busy, refusals kept."""

import sqlite3
import threading
import uuid
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import psycopg
import pytest
from django.db import OperationalError, connection, transaction

from inventory.domain.errors import DomainError
from inventory.models import Act, Outcome, Refusal
from inventory.services.run import Stamp, plain, request_hash, run
from tests.databases import on_postgresql, together
from tests.factories.stores import NOON, PersonFactory, stamp


def busy() -> OperationalError:
    """What the driver says of a deadlock, or of a file that another writer has."""
    error = OperationalError("database is locked")
    if on_postgresql():
        error = OperationalError("deadlock detected")
        error.__cause__ = psycopg.errors.DeadlockDetected("deadlock detected")
    return error


class Work:
    """Does what it is told, one word for each attempt: an error to raise, or the outcome; the last word is for all later
    attempts."""

    def __init__(self, *words) -> None:
        self.words, self.attempts = list(words), 0

    def __call__(self, act):
        word = self.words[min(self.attempts, len(self.words) - 1)]
        self.attempts += 1
        if isinstance(word, Exception):
            raise word
        return word


def attempt(work, mark=None, actor=None, request=None):
    """One act of no consequence."""
    return run("test", work, actor=actor or PersonFactory(), stamp=mark or stamp(), request=request or {})


def missing() -> DomainError:
    """A rule that says no."""
    return DomainError("not-found", "There is no such thing.", thing="x")


@pytest.mark.parametrize("times", [1, 2])
def test_a_database_that_is_busy_once_or_twice_is_not_noticed(db, times):
    work = Work(*[busy()] * times, {"it": "is done"})
    done = attempt(work)
    assert (done.body, done.replayed, work.attempts) == ({"it": "is done"}, False, times + 1)
    assert (Act.objects.count(), Outcome.objects.count(), Refusal.objects.count()) == (1, 1, 0)


def test_the_third_time_it_is_raised_nothing_is_kept_and_the_key_is_free(db):
    work, mark, actor = Work(*[busy()] * 3, {}), stamp(), PersonFactory()
    with pytest.raises(OperationalError):
        attempt(work, mark, actor)
    assert (work.attempts, Act.objects.count(), Refusal.objects.count()) == (3, 0, 0)
    assert attempt(work, mark, actor).replayed is False


def test_another_trouble_of_the_database_is_raised_at_once(db):
    work = Work(OperationalError("the disk is full"), {})
    with pytest.raises(OperationalError, match="full"):
        attempt(work)
    assert work.attempts == 1


@pytest.mark.postgres_only
def test_a_serialization_failure_is_tried_again_a_lock_that_was_not_to_be_had_in_time_is_not(db):
    failed, late = OperationalError("could not serialize"), OperationalError("lock timeout")
    failed.__cause__ = psycopg.errors.SerializationFailure()
    late.__cause__ = psycopg.errors.LockNotAvailable()
    assert attempt(Work(failed, {"it": 1})).body == {"it": 1}
    with pytest.raises(OperationalError, match="timeout"):
        attempt(Work(late, {}))


@pytest.mark.postgres_only
def test_a_real_deadlock_of_two_acts_is_not_noticed_by_either(shop_database):
    people = [PersonFactory(), PersonFactory()]
    meeting, met = threading.Barrier(2), threading.local()

    def locks(order):
        def work(act):
            with connection.cursor() as cursor:
                for at, number in enumerate(order):
                    cursor.execute("SELECT pg_advisory_xact_lock(%s)", [number])
                    if at == 0 and not getattr(met, "yes", False):
                        met.yes = True
                        meeting.wait(20)
            return {"order": order}

        return work

    orders = ([1, 2], [2, 1])
    calls = [
        lambda o=o, p=p: attempt(locks(o), actor=p, request={"order": o}) for o, p in zip(orders, people, strict=True)
    ]
    ended = together(calls)
    assert [one.error for one in ended] == [None, None]
    assert [one.answer.body["order"] for one in ended] == [[1, 2], [2, 1]]


@pytest.mark.sqlite_only
@pytest.mark.parametrize(("releases_at", "raised"), [(2, False), (3, False), (4, True)])
def test_a_file_that_another_writer_has_is_asked_for_three_times(shop_database, releases_at, raised):
    actor, other = PersonFactory(), sqlite3.connect(shop_database.name, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    asked = 0

    def count(execute, sql, params, many, context):
        nonlocal asked
        if sql.startswith("BEGIN"):
            asked += 1
            if asked == releases_at:
                other.execute("ROLLBACK")
        return execute(sql, params, many, context)

    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 20")
    try:
        with connection.execute_wrapper(count):
            if raised:
                with pytest.raises(OperationalError, match="locked"):
                    attempt(Work({}), actor=actor)
            else:
                assert attempt(Work({}), actor=actor).replayed is False
    finally:
        other.close()
    assert (asked, Act.objects.count()) == (min(releases_at, 3), 0 if raised else 1)


def test_a_refusal_is_kept_in_a_transaction_of_its_own_and_nothing_else_is(shop_database):
    mark, actor = stamp(), PersonFactory()

    def work(act):
        PersonFactory(username="half done")
        raise missing()

    with pytest.raises(DomainError):
        run("test", work, actor=actor, stamp=mark, request={}, subject="job 7")
    connection.close()
    kept = Refusal.objects.get()
    assert (kept.key, kept.kind, kept.actor, kept.subject, kept.code, kept.values) == (
        mark.key, "test", actor, "job 7", "not-found", {"thing": "x"},
    )  # fmt: skip
    assert Act.objects.count() == 0
    assert not type(actor).objects.filter(username="half done").exists()


@pytest.mark.parametrize(("times", "kept"), [(1, 1), (2, 1), (3, 0)])
def test_a_refusal_is_kept_though_the_database_is_busy_while_it_is_written(shop_database, times, kept):
    """The driver says busy at the refusal's own statement: tried as often as an act is."""
    mark, actor, asked = stamp(), PersonFactory(), 0

    def fail(execute, sql, params, many, context):
        nonlocal asked
        if sql.startswith(f'INSERT INTO "{Refusal._meta.db_table}"'):
            asked += 1
            if asked <= times:
                raise busy()
        return execute(sql, params, many, context)

    with connection.execute_wrapper(fail), pytest.raises(DomainError if kept else OperationalError):
        attempt(Work(missing()), mark, actor)
    assert (asked, Refusal.objects.count(), Act.objects.count()) == (min(times, 2) + 1, kept, 0)
    with pytest.raises(DomainError):
        attempt(Work(missing()), mark, actor)
    assert Refusal.objects.count() == kept + 1


def test_a_refusal_after_a_busy_moment_is_kept_once_and_the_key_is_free(db):
    mark, actor = stamp(), PersonFactory()
    work = Work(busy(), missing(), {"it": "is done"})
    with pytest.raises(DomainError):
        attempt(work, mark, actor)
    assert (work.attempts, Refusal.objects.count()) == (2, 1)
    assert attempt(work, mark, actor).body == {"it": "is done"}


def test_what_no_database_can_store_does_not_keep_a_refusal_from_being_kept(db):
    strange = DomainError("not-found", "no \0 part \ud800", part="\0\ud800", lines=[{"\0": "\0"}])
    with pytest.raises(DomainError):
        attempt(Work(strange))
    kept = Refusal.objects.get()
    assert (kept.message, kept.values) == (
        "no \\0 part \\ud800",
        {"part": "\\0\\ud800", "lines": [{"\\0": "\\0"}]},
    )


def test_the_same_key_gives_the_first_answer_again_and_with_other_content_a_named_conflict(db):
    mark, actor = stamp(), PersonFactory()
    first = attempt(Work({"number": 1}), mark, actor, {"what": "this"})
    work = Work({"number": 2})
    again = attempt(work, mark, actor, {"what": "this"})
    assert (again.act_id, again.body, again.replayed, work.attempts) == (first.act_id, {"number": 1}, True, 0)
    for other in (
        {"actor": actor, "request": {"what": "that"}},
        {"actor": PersonFactory(), "request": {"what": "this"}},
    ):
        with pytest.raises(DomainError) as caught:
            attempt(work, mark, **other)
        assert (caught.value.code, caught.value.values["earlier_act"]) == ("key-reused", first.act_id)
    assert (work.attempts, Act.objects.count()) == (0, 1)


def test_what_has_not_happened_yet_is_refused(db):
    with pytest.raises(DomainError) as caught:
        attempt(Work({}), Stamp(uuid.uuid4(), NOON + timedelta(seconds=1), NOON))
    assert caught.value.code == "from-the-future"
    assert Act.objects.count() == 0


def test_an_act_inside_another_transaction_is_a_mistake_of_the_program(shop_database):
    actor = PersonFactory()
    with pytest.raises(RuntimeError, match="durable"), transaction.atomic():
        attempt(Work({}), actor=actor)
    assert Act.objects.count() == 0


def test_the_hash_of_a_request_minds_content_and_not_order():
    one = request_hash("count", 1, {"lines": [{"a": 1, "b": date(2025, 1, 2)}], "set": {"y", "x"}})
    assert one == request_hash("count", 1, {"set": {"x", "y"}, "lines": [{"b": "2025-01-02", "a": 1}]})
    others = [
        request_hash("count", 2, {"lines": [{"a": 1, "b": date(2025, 1, 2)}], "set": {"y", "x"}}),
        request_hash("scrap", 1, {"lines": [{"a": 1, "b": date(2025, 1, 2)}], "set": {"y", "x"}}),
        request_hash("count", 1, {"lines": [{"a": 2, "b": date(2025, 1, 2)}], "set": {"y", "x"}}),
    ]
    assert len({one, *others}) == 4


def test_an_outcome_is_plain_before_it_is_kept_so_that_the_first_answer_is_the_later_ones():
    given = {
        "day": date(2025, 1, 2),
        "at": NOON,
        "share": Fraction(1, 3),
        "sum": Decimal("1.50"),
        "names": {"b", "a"},
        1: (2, 3),
    }
    assert plain(given) == {
        "day": "2025-01-02", "at": "2025-01-15T12:00:00+00:00", "share": "1/3", "sum": "1.50", "names": ["a", "b"], "1": [2, 3],
    }  # fmt: skip
