"""Whatever statement of an act fails, nothing is half done, and the same key does the act when it is sent again."""

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import IntegrityError, OperationalError, connection
from django.db.backends.base.base import BaseDatabaseWrapper

import inventory.services
import kits.services
from inventory.domain.errors import DomainError
from inventory.models import Act, Refusal
from inventory.services import run as run_module
from inventory.services.count import CountLine, count
from inventory.services.run import Done
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp
from tests.faults import (  # noqa: F401 - each registers its stages
    scenes_claims,
    scenes_cores,
    scenes_counting,
    scenes_found,
    scenes_given,
    scenes_jobs,
    scenes_lists,
    scenes_loans,
    scenes_measuring,
    scenes_off_job,
    scenes_orders,
    scenes_outside,
    scenes_stores,
    scenes_transfers,
    scenes_unasked,
)
from tests.faults.failing import MESSAGE, failing_at, holdings
from tests.faults.scenes import SCENES, Play

STAGES = {
    f"{service.__name__}: {name.replace('_', ' ')}": build
    for service, stages in SCENES.items()
    for name, build in stages
}
#: What writes in a transaction and is no act of the books, with the reason why the n-th statement need not fail in it.
NO_ACTS = {
    "carry_forward": "a cache beside the books; test_value_points fails each statement of it",
    "count_try": "each statement stands by itself: a try that is counted once too often, or not yet dropped, is no harm",
    "forget_tries": "one statement: the count of failed log-ins is dropped, or it is not",
}
#: No act has fewer: begin, key, header, what it does, outcome.
FEWEST = 4


def public() -> set[Callable[..., Any]]:
    """Every public function of the services, of the module that has it."""
    found = set()
    for package in (inventory.services, kits.services):
        for module in pkgutil.iter_modules(package.__path__):
            its = importlib.import_module(f"{package.__name__}.{module.name}")
            members = inspect.getmembers(its, inspect.isfunction)
            found |= {one for name, one in members if one.__module__ == its.__name__ and not name.startswith("_")}
    return found - {run_module.run, run_module.patiently, run_module.in_one}


def is_act(service: Callable[..., Any]) -> bool:
    """It is said who does it and when."""
    return {"actor", "stamp"} <= inspect.signature(service).parameters.keys()


def test_no_act_is_forgotten():
    assert set(SCENES) == {service for service in public() if is_act(service)}


def test_nothing_else_writes_in_a_transaction_of_its_own_but_what_is_named_here():
    opening = (run_module.run, run_module.patiently, run_module.in_one)

    def opens(service: Callable[..., Any]) -> bool:
        called = [service.__globals__.get(name) for name in service.__code__.co_names]
        return any(one is each for one in called for each in opening)

    others = {service.__name__ for service in public() if opens(service) and not is_act(service)}
    assert others == NO_ACTS.keys()


@contextmanager
def server_gone_at_commit() -> Iterator[None]:
    """The commit itself fails: the server goes away when everything was sent."""

    def gone(self: BaseDatabaseWrapper) -> None:
        raise OperationalError(MESSAGE)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(BaseDatabaseWrapper, "_commit", gone)
        yield


def attempt(play: Play, number: int) -> int:
    """Try the act with its n-th statement failing; how many it sent."""
    with pytest.raises(OperationalError, match=MESSAGE), failing_at(number) as statements:
        play()
    assert not connection.in_atomic_block
    return statements.seen


def left_behind(play: Play, count: int, before: str) -> list[int]:
    """The statements whose failure left something: asked only when something was left."""
    found = []
    for number in range(1, count + 1):
        attempt(play, number)
        if (now := holdings()) != before:
            found.append(number)
            before = now
    return found


@pytest.mark.parametrize("build", STAGES.values(), ids=STAGES)
def test_each_statement_of_the_act_fails_once(shop_database, build):
    play = build()
    acts_before, before = Act.objects.count(), holdings()
    for _ in ("what the process remembers is read", "and the statements of every later attempt are counted"):
        with server_gone_at_commit(), pytest.raises(OperationalError, match=MESSAGE), failing_at(0) as statements:
            play()
    count = statements.seen
    assert count >= FEWEST
    for number in range(1, count + 1):
        assert attempt(play, number) >= number
    if holdings() != before:
        pytest.fail(f"left something behind when they failed: {left_behind(play, count, holdings())}")
    # The one that goes through sends every statement whose turn to fail had come, and no more: none was left out.
    with failing_at(count + 1) as statements:
        done = play()
    assert statements.seen == count
    assert (done.replayed, Act.objects.count()) == (False, acts_before + 1)
    again = play()
    assert (again.replayed, again.act_id, again.body) == (True, done.act_id, done.body)


def test_the_last_word_of_all_fails(shop_database):
    play = STAGES["receive: a lot and a set"]()
    before = holdings()
    with server_gone_at_commit(), pytest.raises(OperationalError, match=MESSAGE):
        play()
    assert holdings() == before
    done: Done = play()
    assert (done.replayed, play().act_id) == (False, done.act_id)


def test_a_refusal_whose_record_fails_leaves_nothing_and_one_that_is_kept_leaves_itself_alone(shop_database):
    ring = workshop.rings(4, lot="refused")
    person, mark = PersonFactory(), stamp()

    def play():
        return count(actor=person, stamp=mark, place="R1", lines=[CountLine(1, item_id=ring.pk)])

    before, number, failed = holdings(("inventory_refusal",)), 0, 0
    while True:
        number += 1
        try:
            with failing_at(number) as statements:
                play()
        except OperationalError:
            failed += 1
            assert Refusal.objects.filter(key=mark.key).count() == 0
            assert holdings(("inventory_refusal",)) == before
            continue
        except DomainError as error:
            assert error.code == "reason-missing"
            break
        raise AssertionError("the count was to be refused")
    assert statements.seen == failed == number - 1
    assert list(Refusal.objects.filter(key=mark.key).values_list("code", flat=True)) == ["reason-missing"]
    assert holdings(("inventory_refusal",)) == before


def test_an_act_that_is_refused_halfway_by_the_database_itself_leaves_nothing(shop_database):
    """A constraint that says no at the end of an act: as if nothing had been tried."""
    workshop.sets("refused by the books")
    play = STAGES["receive: a lot and a set"]()
    before = holdings()

    def gone(execute, sql, params, many, context):
        if sql.startswith("INSERT") and "inventory_outcome" in sql:
            with connection.cursor() as cursor:
                cursor.execute("UPDATE inventory_balance SET held = amount + 1 WHERE pickable")
        return execute(sql, params, many, context)

    with pytest.raises(IntegrityError), connection.execute_wrapper(gone):
        play()
    assert holdings() == before


def test_the_digest_sees_a_single_changed_row(shop_database):
    before = holdings()
    person = PersonFactory()
    added = holdings()
    person.first_name = "Other"
    person.save(update_fields=["first_name"])
    assert len({before, added, holdings()}) == 3
