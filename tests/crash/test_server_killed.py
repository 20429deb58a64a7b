"""The web server is killed under load: first single workers of it, then all of it. What was answered is stored, once."""

import json
import random
import threading
import time
import urllib.error
import urllib.request
import uuid

import pytest
from django.contrib.auth.models import Permission

from inventory.models import Act, Balance, Outcome
from inventory.services.logins import token_of
from tests.factories.stores import PersonFactory, SupplierFactory
from tests.served import Server

CLIENTS = 4
PATIENCE_S = 60


class Load:
    """Clients that send one receipt after another, each under a key of its own, and note what was answered."""

    def __init__(self, server: Server, token: str) -> None:
        self._server, self._token = server, token
        self.sent: list[str] = []
        self.answered: dict[str, dict] = {}
        self._stop = threading.Event()
        self._threads = [threading.Thread(target=self._work, daemon=True) for _ in range(CLIENTS)]
        for thread in self._threads:
            thread.start()

    def _work(self) -> None:
        while not self._stop.is_set():
            key = str(uuid.uuid4())
            self.sent.append(key)
            try:
                status, body, _ = send(self._server, self._token, key)
            except (OSError, ValueError):
                # The one who would have answered was killed: nobody knows yet whether it was booked.
                self._stop.wait(0.02)
                continue
            assert status == 201, body
            self.answered[key] = body

    def wait_for(self, answers: int) -> None:
        """Until so many more were answered."""
        wanted, deadline = len(self.answered) + answers, time.monotonic() + PATIENCE_S
        while len(self.answered) < wanted:
            assert time.monotonic() < deadline, f"{len(self.answered)} of {wanted} answered"
            self._stop.wait(0.01)

    def stop(self) -> None:
        """No more."""
        self._stop.set()
        for thread in self._threads:
            thread.join(PATIENCE_S)


def send(server: Server, token: str, key: str) -> tuple[int, dict, bool]:
    """One receipt of two rings under this key: status, body, and whether it was an answer given before."""
    lines = [{"part": "RING", "amount": "2 EA", "lot": "B1"}]
    body = json.dumps({"supplier": "maker", "place": "R1", "lines": lines}).encode()
    headers = {"Authorization": f"Token {token}", "Content-Type": "application/json", "Idempotency-Key": key}
    request = urllib.request.Request(f"{server.address}/api/v1/receipts", body, headers)
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:
            return answer.status, json.load(answer), answer.headers.get("Idempotent-Replayed") == "true"
    except urllib.error.HTTPError as error:
        with error:
            return error.code, json.load(error), False


@pytest.fixture
def token(shop_database):
    """Somebody who may receive, logged in."""
    SupplierFactory()
    person = PersonFactory()
    person.user_permissions.add(Permission.objects.get(codename="act_receive"))
    return token_of(actor=person)


def rings() -> int:
    """Rings on the shelf."""
    return sum(Balance.objects.filter(part__number="RING", place__code="R1").values_list("amount", flat=True))


def test_what_was_answered_is_stored_and_what_was_not_can_be_sent_again(shop_database, token):
    chance = random.Random(2025)
    server = Server(shop_database.environment())
    try:
        load = Load(server, token)
        for _ in range(3):
            load.wait_for(chance.randint(5, 15))
            server.kill_worker(chance)
        load.wait_for(chance.randint(5, 15))
    finally:
        server.kill()
    load.stop()
    assert len(load.answered) >= 20
    assert len(load.sent) > len(load.answered)
    stored = {
        str(key): body for key, body in Outcome.objects.filter(act__key__in=load.sent).values_list("act__key", "body")
    }
    assert {key: stored.get(key) for key in load.answered} == load.answered
    assert rings() == 2 * len(stored)
    # Everybody who got no answer asks again: what was booked is answered as it was, what was not is booked now.
    server = Server(shop_database.environment())
    try:
        again = {key: send(server, token, key) for key in load.sent}
    finally:
        server.kill()
    assert {status for status, _, _ in again.values()} == {201}
    assert {key for key, (_, _, replayed) in again.items() if replayed} == stored.keys()
    assert {key: again[key][1] for key in load.answered} == load.answered
    assert Act.objects.filter(kind="receive").count() == len(load.sent)
    assert rings() == 2 * len(load.sent)
