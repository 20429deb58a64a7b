"""`write-offs` over HTTP: the rate of past use, what jobs hold, and what is likely to be lost by its use-by."""

from datetime import UTC, date, datetime, timedelta

import pytest

from inventory.models import Item, Lot, ShopSetting
from inventory.services.correct import correct
from inventory.services.stops import stop_lot
from inventory.services.transfer import TransferLine, transfer
from tests.factories.acts import done, held, picked
from tests.factories.stores import NOON, PartFactory, cart, shelf, site, stock

pytestmark = pytest.mark.django_db

ON = NOON.date()
#: The last day of fitting is thirty days of use from the day asked about; the shop's margin of 14 days lies behind it.
LAST = ON + timedelta(days=29)
USE_BY = LAST + timedelta(days=14)
LONG_AGO = datetime(2024, 1, 10, 12, tzinfo=UTC)
#: 73 pieces in a year are one in five days: 6 in thirty.
USES = (20, 20, 20, 10, 3)


def rings(number="R-1", free=9, uses=USES, **more):
    """So many left of a lot of which the uses were picked in the last year."""
    part = PartFactory(number=number, life={"printed": True}, **more)
    stock(part, free + sum(uses), lot="L-A", printed_on=USE_BY, at=LONG_AGO)
    for pieces in uses:
        picked(held(Item.objects.get(part=part), cart(), pieces), pieces)
    return Item.objects.get(part=part)


def asked(client, **query):
    answer = client.read("write-offs", **{"on": ON.isoformat(), **query})
    assert answer.status_code == 200, answer.json()
    return answer.json()


def test_nine_left_and_six_expected(manager):
    # Q = 9, D Poisson 6: expected written off 3.161, chance of any 0.847. Source: worked example of the demo shop (invented).
    rings(price_coins=210)
    assert asked(manager) == {
        "on": "2025-01-15",
        "until": "2026-01-15",
        "lots": [
            {
                "part": "R-1",
                "name": "test part",
                "lot": "L-A",
                "lot_id": Item.objects.get().lot_id,
                "expires_on": USE_BY.isoformat(),
                "use_by_fit_date": LAST.isoformat(),
                "on_shelf": 9,
                "held": 0,
                "free": 9,
                "used": 73,
                "uses": 5,
                "window_days": 365,
                "last_used_on": "2025-01-15",
                "months_since_use": 0,
                # 73 in a year are one in five days: nine last 45
                "cover_days": 45,
                "thin_data": False,
                "wanted_until_then": "6.000",
                "expected_lost": "3.161",
                "chance_of_any": "0.847",
                "expected_coins": 664,
                "said": f"3.2 of 9 of L-A forecast lost, use by fit date {LAST}",
            }
        ],
        "months": [
            {"month": "2025-02", "lots": 1, "expected_lost": "3.161", "expected_coins": 664, "without_price": 0}
        ],
    }


def test_stock_that_nobody_uses_says_for_how_long(manager):
    rings(uses=(20,))
    stock(PartFactory(number="R-0", life={"printed": True}), 3, lot="L-0", printed_on=USE_BY, at=LONG_AGO)
    for on, months in (("2025-04-14", 2), ("2025-04-15", 3)):
        never, once = asked(manager, on=on, window_days=30)["lots"]
        assert [never[name] for name in ("last_used_on", "months_since_use", "cover_days")] == [None, None, None]
        assert [once[name] for name in ("last_used_on", "months_since_use", "cover_days")] == [
            "2025-01-15",
            months,
            None,
        ]


def test_what_came_back_or_was_corrected_is_no_use_and_few_uses_are_thin(manager):
    ring = rings(uses=(20, 20, 20))
    shelf("R2")
    done(transfer, lines=[TransferLine(ring.pk, 4, "R1", "R2")])
    before = asked(manager)["lots"][0]
    assert (before["used"], before["uses"], before["thin_data"]) == (60, 3, True)
    assert before["said"].endswith("thin data: 3 uses in 365 days")
    # On two shelves, and one lot.
    assert (before["on_shelf"], len(asked(manager)["lots"])) == (9, 1)
    hold = held(ring, cart("cart X"), 2)
    picked(hold, 2)
    assert asked(manager)["lots"][0]["used"] == 62
    done(correct, act_id=hold.end.act_id, reason="the wrong cart")
    assert asked(manager)["lots"][0] == before
    # A shorter window knows nothing of what was used before it.
    assert asked(manager, on="2025-03-01", window_days=10)["lots"][0]["used"] == 0


def test_what_jobs_hold_in_time_is_as_good_as_used_and_what_they_hold_too_late_is_not(manager):
    ring = rings()
    held(ring, cart("cart J1"), 4, needed_on=LAST)
    held(ring, cart("cart J2"), 3, needed_on=LAST + timedelta(days=1))
    [row] = asked(manager)["lots"]
    told = {name: row[name] for name in ("on_shelf", "held", "free", "wanted_until_then")}
    assert told == {"on_shelf": 9, "held": 4, "free": 5, "wanted_until_then": "2.000"}


def test_no_use_by_in_a_shelf_life_kind_is_expired_now(manager):
    undated = PartFactory(number="R-2", life={"closed_months": 24, "open_days": 30}, price_coins=100)
    stock(undated, 3, lot="L-B", made_on=date(2024, 12, 1))
    Lot.objects.filter(code="L-B").update(expires_on=None)
    stock(PartFactory(number="BOLT"), 50, lot="L-C")
    rings()
    body = asked(manager)
    assert [(row["part"], row["expected_lost"], row["chance_of_any"], row["expires_on"]) for row in body["lots"]] == [
        ("R-1", "3.161", "0.847", USE_BY.isoformat()),
        ("R-2", "3.000", "1.000", None),
    ]
    assert body["lots"][1]["said"].startswith("3 of L-B have no use-by: they count as expired now")
    assert [(row["month"], row["expected_coins"], row["without_price"]) for row in body["months"]] == [
        ("now", 300, 0),
        ("2025-02", 0, 1),
    ]


def test_what_has_no_limit_of_storage_is_lost_by_no_use_by(manager):
    """AS5316 states no limit for FKM, nor for PTFE, which is no rubber (from memory): they have no use-by by right."""
    ShopSetting.objects.create(name="rubber_rules", value="AS5316")
    for compound, cured in (("FKM", "3Q22"), ("PTFE", "")):
        part = PartFactory(number=compound, life={"by": "compound"}, compound=compound)
        stock(part, 4, lot=compound, cure_code=cured, place=shelf("R1"))
        assert Lot.objects.get(code=compound).expires_on is None
    assert asked(manager)["lots"] == []


def test_a_later_lot_waits_behind_an_earlier_one(manager):
    ring = rings(free=5)
    stock(ring.part, 6, lot="L-B", printed_on=USE_BY + timedelta(days=30), at=LONG_AGO)
    first, second = asked(manager)["lots"]
    assert [row["wanted_until_then"] for row in (first, second)] == ["6.000", "6.000"]
    assert float(first["expected_lost"]) < 1
    # Twelve are expected in sixty days, the lot before serves five of them.
    assert float(second["expected_lost"]) > 0.5
    assert [row["lot"] for row in asked(manager, until=USE_BY.isoformat())["lots"]] == ["L-A"]
    done(stop_lot, lot_id=ring.lot_id, reason="leaks")
    assert [row["lot"] for row in asked(manager)["lots"]] == ["L-B"]


def test_only_the_part_that_is_asked_for(manager):
    rings()
    rings("R-2")
    assert [row["part"] for row in asked(manager, part="R-2")["lots"]] == ["R-2"]
    unknown = manager.read("write-offs", part="R-3")
    assert (unknown.status_code, unknown.json()["code"], unknown.json()["values"]["near"]) == (
        404,
        "not-found",
        ["R-1", "R-2"],
    )


def test_a_site_by_its_own_shelves_its_own_use_and_its_own_holds(manager):
    # At the shop 9 are left and 73 went out in a year; at the marine store 5 lie, of which 2 are held in time, and nobody used any.
    ring = rings()
    marine = shelf("M1", at=site("QY"))
    stock(ring.part, 5, lot="L-A", printed_on=USE_BY, place=marine, at=LONG_AGO)
    held(ring, cart("cart QY", at=marine.site), 2, needed_on=LAST, shelf="M1")
    told = {}
    for code in ("TS", "QY", ""):
        (row,) = asked(manager, **({"site": code} if code else {}))["lots"]
        told[code] = tuple(row[name] for name in ("on_shelf", "held", "free", "used", "expected_lost"))
    assert told["TS"] == (9, 0, 9, 73, "3.161")
    assert told["QY"] == (5, 2, 3, 0, "3.000")
    assert told[""][:4] == (14, 2, 12, 73)
    months = asked(manager, site="QY")["months"]
    assert [(row["lots"], row["expected_lost"]) for row in months] == [(1, "3.000")]
    unknown = manager.read("write-offs", site="QX")
    assert (unknown.status_code, unknown.json()["values"]["near"]) == (404, ["QY"])


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ({"on": "yesterday"}, "parameter-wrong"),
        ({"until": "2025-13-01"}, "parameter-wrong"),
        ({"window_days": "0"}, "parameter-wrong"),
        ({"window_days": "4000"}, "parameter-wrong"),
        ({"window_days": "a year"}, "parameter-wrong"),
        ({"month": "2025-02"}, "parameter-unknown"),
    ],
)
def test_what_cannot_be_asked_is_named(manager, query, code):
    answer = manager.read("write-offs", **query)
    assert (answer.status_code, answer.json()["code"]) == (400, code)
    assert next(iter(query)) in answer.json()["detail"]


def test_three_parts_cost_as_many_queries_as_one(manager, django_assert_num_queries):
    rings()
    # who asks, settings, lots, first days, out, back, holds
    with django_assert_num_queries(8):
        assert len(asked(manager)["lots"]) == 1
    rings("R-2")
    rings("R-3")
    with django_assert_num_queries(8):
        assert len(asked(manager)["lots"]) == 3
