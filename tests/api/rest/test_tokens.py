"""Logging in and out: token and session."""

from datetime import timedelta

import pytest
from rest_framework.authtoken.models import Token

from inventory.models import FailedLogin
from inventory.services.logins import count_try
from tests.api.rest.clients import ShopClient, somebody
from tests.factories.stores import NOON, PartFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def person():
    who = somebody("storekeeper")
    who.set_password("liner-protrusion-9")
    who.save(update_fields=["password"])
    return who


def test_name_and_password_give_a_token_that_logs_in_and_is_the_same_next_time(person):
    nobody = ShopClient()
    body = {"username": person.username, "password": "liner-protrusion-9"}
    first, again = nobody.send("tokens", body, key=""), nobody.send("tokens", body, key="")
    assert (first.status_code, first.json()) == (201, again.json())
    nobody.credentials(HTTP_AUTHORIZATION=f"Token {first.json()['token']}")
    assert nobody.read("parts").status_code == 200
    assert Token.objects.get().user == person


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        ({"password": "wrong"}, 401, "not-logged-in"),
        ({"username": "nobody at all"}, 401, "not-logged-in"),
        ({"username": 4}, 400, "fields-wrong"),
        ({"username": ""}, 400, "fields-wrong"),
        ({"remember": True}, 400, "fields-wrong"),
    ],
)
def test_a_wrong_log_in_is_refused_alike_whether_the_name_is_known(person, body, status, code):
    answer = ShopClient().send("tokens", {"username": person.username, "password": "liner-protrusion-9"} | body, key="")
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert Token.objects.count() == 0


def test_after_ten_failures_the_name_waits_even_with_the_right_password(person):
    client = ShopClient()
    for _ in range(10):
        assert client.send("tokens", {"username": person.username, "password": "x"}, key="").status_code == 401
    answer = client.send("tokens", {"username": person.username, "password": "liner-protrusion-9"}, key="")
    assert (answer.status_code, answer.json()["code"], answer["Retry-After"]) == (429, "too-many-tries", "900")
    assert client.send("tokens", {"username": "another", "password": "x"}, key="").status_code == 401


def test_the_window_begins_with_the_first_failure_and_nothing_is_kept_beyond_it():
    window, first = timedelta(minutes=15), NOON

    def tried(who: str, minutes: float) -> int:
        return count_try(actor=None, who=who, now=first + timedelta(minutes=minutes), window=window)

    assert [tried("a", 0), tried("a", 14), tried("b", 14)] == [1, 2, 1]
    # on the minute the window is over: it begins anew, and the other's goes on
    assert [tried("a", 15), tried("a", 16), tried("b", 16)] == [1, 2, 2]
    assert tried("c", 60) == 1
    assert list(FailedLogin.objects.values_list("who", "count")) == [("c", 1)]


def test_a_right_password_forgets_the_failures_before_it(person):
    client = ShopClient()
    for _ in range(2):
        for _ in range(9):
            assert client.send("tokens", {"username": person.username, "password": "x"}, key="").status_code == 401
        right = client.send("tokens", {"username": person.username, "password": "liner-protrusion-9"}, key="")
        assert right.status_code == 201
        assert FailedLogin.objects.count() == 0
    client.send("tokens", {"username": person.username, "password": "x"}, key="")
    assert person.username not in str(list(FailedLogin.objects.values()))


@pytest.mark.parametrize(
    "word", ["Token", "Token a b", "Token \u00e9", "Token unknown", "Token ../..", "Token " + "a" * 500]
)
def test_a_broken_token_is_nobody(word):
    client = ShopClient()
    client.credentials(HTTP_AUTHORIZATION=word)
    assert client.read("parts").json()["code"] == "not-logged-in"


def test_a_dropped_token_is_worth_nothing(person):
    client = ShopClient(person)
    assert client.send("tokens", {}, key="", method="DELETE").status_code == 204
    assert client.read("parts").status_code == 401


def test_a_session_reads_and_writes_only_with_its_csrf_token(person):
    PartFactory(number="P-1")
    client = ShopClient()
    client.handler.enforce_csrf_checks = True
    client.force_login(person)
    assert [row["number"] for row in client.rows("parts")] == ["P-1"]
    answer = client.send("receipts", {})
    assert (answer.status_code, answer.json()["code"]) == (403, "not-allowed")
    assert "CSRF" in answer.json()["detail"]
    client.get("/api/v1/session/login/")
    answer = client.send("receipts", {}, x_csrftoken=client.cookies["csrftoken"].value)
    assert answer.json()["code"] == "fields-wrong"
