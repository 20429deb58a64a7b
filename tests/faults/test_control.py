"""The fault test can fail: an act without its transaction leaves half of itself behind, and the digest says so."""

from contextlib import nullcontext
from types import SimpleNamespace

import pytest
from django.db import OperationalError

from inventory.models import Act, Outcome
from inventory.services import run as run_module
from inventory.services.catalogue import create_supplier
from tests.concurrency.races import LOCKS
from tests.factories.stores import PersonFactory, stamp
from tests.faults.failing import MESSAGE, failing_at, holdings


@pytest.mark.damages_books
def test_control_without_its_transaction_a_failed_act_leaves_half_of_itself(shop_database, monkeypatch):
    facts = {"actor": PersonFactory(), "stamp": stamp(), "code": "half", "name": "Half a supplier"}
    before, left = holdings(), []
    for name in LOCKS:
        monkeypatch.setattr(f"inventory.locks.{name}", lambda *ignored: None)
    monkeypatch.setattr(run_module, "transaction", SimpleNamespace(atomic=lambda **ignored: nullcontext()))
    for number in range(1, 20):
        try:
            with failing_at(number):
                create_supplier(**facts)
        except OperationalError as error:
            assert str(error) == MESSAGE
            left.append(holdings() != before)
            if left[-1]:
                break
    assert left.count(True) == 1
    act = Act.objects.get(key=facts["stamp"].key)
    assert not Outcome.objects.filter(act=act).exists()
