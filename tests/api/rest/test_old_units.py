"""Old pumps and their deposits over HTTP, as the storekeeper and the parts manager work, with mistakes on purpose."""

import pytest

from tests.factories.cores import crate, pump
from tests.factories.stores import quarantine, shelf


@pytest.fixture
def shop(rebuild):
    """The small shop with a crate, a pump that the maker takes back within 30 days, and the job J-1."""
    quarantine("Q1")
    shelf("R1")
    crate()
    pump()
    rebuild.booked()
    return rebuild


IN = {"part": "PUMP", "to_place": "CRATES", "supplier": "maker"}


def taken_in(shop, **more):
    return shop.did(shop.storekeeper, "old-units", IN | more)


def test_two_pumps_without_their_tag_are_answered_sent_back_and_refunded(shop):
    # Two service-exchange pumps were returned without the deposit tag: which job, whose deposit, what condition?
    deposits = [
        shop.did(shop.manager, "deposits", {"side": "supplier", "supplier": "maker", "part": "PUMP", "coins": coins})
        for coins in (4_500, 6_000)
    ]
    assert [one["outstanding_coins"] for one in deposits] == [4_500, 6_000]
    first, second = (
        taken_in(shop, grade="complete"),
        taken_in(shop, grade="damaged", condition="the housing is cracked"),
    )
    [newest, oldest] = shop.technician.rows("old-units", open="true")
    assert (newest["grade"], oldest["grade"], oldest["state"], oldest["place"]) == (
        "damaged",
        "complete",
        "here",
        "CRATES",
    )
    parcel = {"supplier": "maker", "units": [first["old_unit"], second["old_unit"]]}
    refused = shop.storekeeper.send("old-unit-returns", parcel).json()
    assert [(line["line"], line["code"]) for line in refused["lines"]] == [(1, "tag-missing"), (2, "tag-missing")]
    answer = {"tag": "T-17", "subject": "J-1", "reason": "its clamp is of J-1", "deposits": [deposits[0]["deposit"]]}
    path = f"old-units/{first['old_unit']}/answers"
    shop.did(shop.technician, path, answer)
    again = answer | {"deposits": [deposits[1]["deposit"]]}
    assert shop.technician.send(f"old-units/{second['old_unit']}/answers", again).json()["code"] == "old-unit-tagged"
    shop.did(shop.technician, f"old-units/{second['old_unit']}/answers", again | {"tag": "T-18"})
    assert shop.technician.rows("old-units", open="true") == []
    assert [row["tag"] for row in shop.technician.rows("old-units", job="J-1")] == ["T-18", "T-17"]
    sent = shop.did(shop.storekeeper, "old-unit-returns", parcel | {"note": "parcel 5"})
    assert [(one["tag"], one["from"]["place"], one["late"]) for one in sent["units"]] == [
        ("T-17", "CRATES", False), ("T-18", "CRATES", False)
    ]  # fmt: skip
    assert shop.storekeeper.send("old-unit-returns", parcel).json()["lines"][0]["code"] == "old-unit-ended"
    assert {row["state"] for row in shop.technician.rows("old-units")} == {"sent back"}
    money = "deposits/{}/entries"
    assert shop.storekeeper.send(money.format(1), {"what": "refunded", "coins": 1}).status_code == 403
    shop.did(shop.manager, money.format(deposits[0]["deposit"]), {"what": "refunded", "coins": 4_500})
    lost = {"what": "lost", "coins": 6_000}
    assert shop.manager.send(money.format(deposits[1]["deposit"]), lost).json()["code"] == "reason-missing"
    made = shop.did(shop.manager, money.format(deposits[1]["deposit"]), lost | {"reason": "cracked: not taken back"})
    assert shop.manager.read("outstanding-deposits").json()["outstanding_coins"] == 0
    shop.did(shop.manager, f"deposit-entries/{made['entry']}/reversals", {"reason": "they took it after all"})
    told = shop.manager.read("outstanding-deposits").json()
    assert told["outstanding_coins"] == 6_000
    assert told["held"] == [
        {
            "side": "supplier", "supplier": "maker", "paid_coins": 10_500, "refunded_coins": 4_500, "lost_coins": 0,
            "outstanding_coins": 6_000,
        }
    ]  # fmt: skip


def test_what_is_at_risk_comes_before_its_limit_and_at_it(shop):
    unit = taken_in(shop, tag="T-1", subject="J-1")
    limit = unit["send_back_by"]
    words = {"side": "supplier", "supplier": "maker", "part": "PUMP", "coins": 4_500, "unit": unit["old_unit"]}
    assert shop.did(shop.manager, "deposits", words)["due_on"] == limit
    read = shop.manager.read("deposits-at-risk", on=limit).json()
    assert (read["at_risk_coins"], read["at_risk"][0]["why"], read["at_risk"][0]["days_left"]) == (
        4_500, "the old unit was not sent back", 0,
    )  # fmt: skip
    assert shop.manager.read("deposits-at-risk").json()["at_risk"] == []
    soon = shop.manager.read("deposits-at-risk", days="30", supplier="maker").json()
    assert [(one["tag"], one["job"], one["days_left"]) for one in soon["at_risk"]] == [("T-1", "J-1", 30)]
    assert shop.technician.rows("old-units", late_on="2999-01-01")[0]["id"] == unit["old_unit"]
    assert shop.technician.rows("old-units", late_on=limit) == []
    for bad, code in (
        ({"on": "tomorrow"}, "parameter-wrong"),
        ({"days": "-1"}, "parameter-wrong"),
        ({"job": "J"}, "parameter-unknown"),
    ):
        assert shop.manager.read("deposits-at-risk", **bad).json()["code"] == code


def test_lists_are_filtered_by_what_people_ask_for(shop):
    taken_in(shop, tag="T-1", subject="J-1", grade="complete")
    taken_in(shop)
    shop.did(shop.manager, "deposits", {"side": "customer", "part": "PUMP", "coins": 5_000, "subject": "J-1"})
    for filters, found in (
        ({"tag": "T-1"}, 1), ({"state": "here"}, 2), ({"state": "missing"}, 0), ({"grade": "complete"}, 1),
        ({"part": "PUMP"}, 2), ({"part": "SET"}, 0), ({"supplier": "maker"}, 2), ({"open": "false"}, 1), ({"job": "J-1"}, 1),
    ):  # fmt: skip
        assert len(shop.technician.rows("old-units", **filters)) == found, filters
    for filters, found in (
        ({"side": "customer"}, 1), ({"side": "supplier"}, 0), ({"job": "J-1"}, 1), ({"outstanding": "true"}, 1),
        ({"outstanding": "false"}, 0), ({"part": "PUMP"}, 1), ({"supplier": "maker"}, 0),
    ):  # fmt: skip
        assert len(shop.manager.rows("deposits", **filters)) == found, filters
    assert shop.technician.read("old-units", state="gone").json()["code"] == "fields-wrong"


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        ({"item": 1}, 400, "fields-wrong"),
        ({"part": "PUNP"}, 404, "not-found"),
        ({"to_place": "R1"}, 422, "wrong-place"),
        ({"grade": "fine"}, 400, "fields-wrong"),
        ({"tag": "T-1"}, 422, "nothing-given"),
        ({"supplier": "mover"}, 404, "not-found"),
        ({"deposits": [9]}, 404, "not-found"),
        ({"send_back_by": "soon"}, 400, "fields-wrong"),
        ({"colour": "red"}, 400, "fields-wrong"),
    ],
)
def test_mistakes_are_named_and_nothing_is_kept(shop, body, status, code):
    answer = shop.storekeeper.send("old-units", IN | body)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert shop.storekeeper.rows("old-units") == []


def test_what_is_taken_back_is_no_old_unit(shop):
    taken_in(shop, tag="T-1", subject="J-1")
    act = shop.technician.rows("old-units")[0]["act"]
    shop.did(shop.manager, f"acts/{act}/corrections", {"reason": "it is the new one"})
    assert shop.technician.rows("old-units") == []
