"""A wrong lot was recorded as fitted: the record of the engine is put right, on a closed job too, and nothing else is lost."""

from datetime import timedelta
from typing import Any

import pytest

from inventory.models import Act, Balance, Item, Lot
from inventory.queries.audit import audit
from kits.models import Fitting
from tests.api.rest.clients import ShopClient
from tests.factories.shop import home_of

RING = "R-113"


@pytest.fixture
def fitted(planted_shop: object) -> Fitting:
    """A ring of a lot, fitted on a job that is closed."""
    rows = Fitting.objects.filter(job__state="closed", item__part__number=RING, act__corrected_by__isnull=True)
    return rows.select_related("job__engine", "act", "spot", "item__lot", "item__part", "fitter").latest("pk")


@pytest.fixture
def other(fitted: Fitting, maren: ShopClient) -> Item:
    """A ring of another lot, which stood on the shelf before that job."""
    at = fitted.act.occurred_at - timedelta(days=30)
    line = {"part": RING, "amount": 8, "lot": "OTHER", "cure_code": "1Q22"}
    body = {
        "supplier": "Saltby",
        "place": home_of(fitted.item.part, "TB"),
        "lines": [line],
        "occurred_at": at.isoformat(),
    }
    answer = maren.send("receipts", body)
    assert answer.status_code == 201, answer.content
    return Item.objects.get(lot__code="OTHER")


def body_of(fitted: Fitting, other: Item, **more: Any) -> dict[str, Any]:
    place = Balance.objects.get(item=other, place__kind="shelf").place.code
    words = {"position": fitted.spot.name, "item": fitted.item_id, "right": other.pk, "place": place}
    return words | {"reason": "the empty bag at the bench says so"} | more


def lot_at(maren: ShopClient, fitted: Fitting, **when: str) -> str:
    rows = maren.read(f"engines/{fitted.job.engine.number}/contents", **when).json()["contents"]
    return next(str(row["lot"]) for row in rows if row["position"] == fitted.spot.name)


def test_no_act_of_an_ended_job_is_taken_back_whole(fitted: Fitting, maren: ShopClient) -> None:
    before = maren.read(f"engines/{fitted.job.engine.number}/contents").json()["contents"]
    for kind in ("fit", "hand over", "pick"):
        act = fitted.act if kind == "fit" else Act.objects.filter(kind=kind, corrected_by__isnull=True).latest("pk")
        answer = maren.send(f"acts/{act.pk}/corrections", {"reason": "wrong lot"})
        assert (answer.status_code, answer.json()["code"]) == (422, "not-correctable"), kind
        assert answer.json()["ways_out"]
        assert "closed" in answer.json()["detail"]
    assert maren.read(f"engines/{fitted.job.engine.number}/contents").json()["contents"] == before


def test_the_right_lot_is_in_the_engine_since_the_fitting(fitted: Fitting, other: Item, maren: ShopClient) -> None:
    was, rows = fitted.item.lot.code, Balance.objects.filter(item=other)
    place, there = rows.get(amount__gt=0).place, rows.get(amount__gt=0).amount
    answer = maren.send(f"jobs/{fitted.job.number}/fitting-corrections", body_of(fitted, other))
    assert answer.status_code == 201, answer.content
    said = answer.json()
    assert (said["wrong"]["lot"], said["right"]["lot"], said["amount"]) == (was, "OTHER", fitted.amount)
    assert (said["fitter"], said["loud"]) == (fitted.fitter.username, [])
    day = fitted.act.occurred_at.date()
    assert lot_at(maren, fitted) == "OTHER"
    assert lot_at(maren, fitted, on=day.isoformat()) == "OTHER"
    assert lot_at(maren, fitted, on=day.isoformat(), known=(day + timedelta(days=1)).isoformat()) == was
    story = [
        (row["what"], row["lot"], row["by"], row["corrected_by"])
        for row in maren.read(f"engines/{fitted.job.engine.number}/story").json()["events"]
        if row["position"] == fitted.spot.name and row["job"] == fitted.job.number and row["what"] == "fitted"
    ]
    act = Act.objects.get(kind="correct fitting")
    assert story == [("fitted", was, fitted.fitter.username, act.pk), ("fitted", "OTHER", fitted.fitter.username, None)]
    assert Balance.objects.get(item=other, place=place).amount == there - fitted.amount
    assert Balance.objects.get(item=fitted.item, place=place).amount >= fitted.amount
    assert audit() == []


def test_what_never_was_in_the_engine_is_no_used_part(fitted: Fitting, other: Item, maren: ShopClient) -> None:
    def lot_of(item: Item) -> Any:
        return maren.read(f"lots/{item.lot_id}/whereabouts").json()

    removed, used = len(lot_of(fitted.item)["removed"]), sum(row["used"] for row in lot_of(fitted.item)["places"])
    assert maren.send(f"jobs/{fitted.job.number}/fitting-corrections", body_of(fitted, other)).status_code == 201
    wrong, right = lot_of(fitted.item), lot_of(other)
    assert (len(wrong["removed"]), sum(row["used"] for row in wrong["places"])) == (removed, used)
    assert fitted.job.engine.number not in {row["place"] for row in wrong["engines"] if row["spot"] == fitted.spot.name}
    assert [(row["place"], row["spot"]) for row in right["engines"]] == [(fitted.job.engine.number, fitted.spot.name)]
    assert (wrong["sum"]["difference"], right["sum"]["difference"]) == (0, 0)


def test_what_was_really_fitted_is_recorded_though_it_is_stopped(
    fitted: Fitting, other: Item, maren: ShopClient
) -> None:
    Lot.objects.filter(pk=other.lot_id).update(expires_on=fitted.act.occurred_at.date() - timedelta(days=1))
    assert maren.send(f"lots/{other.lot_id}/stops", {"reason": "porous"}).status_code == 201
    answer = maren.send(f"jobs/{fitted.job.number}/fitting-corrections", body_of(fitted, other))
    assert answer.status_code == 201, answer.content
    stopped, old = answer.json()["loud"]
    assert "is stopped" in stopped
    assert "was usable through" in old
    assert lot_at(maren, fitted) == "OTHER"


def test_a_correction_is_corrected_by_another_one(fitted: Fitting, other: Item, maren: ShopClient) -> None:
    path = f"jobs/{fitted.job.number}/fitting-corrections"
    assert maren.send(path, body_of(fitted, other)).status_code == 201
    act = Act.objects.get(kind="correct fitting")
    refused = maren.send(f"acts/{act.pk}/corrections", {"reason": "it was right"})
    assert (refused.json()["code"], refused.json()["ways_out"]) == (
        "not-correctable", ["Correct what was fitted again."],
    )  # fmt: skip
    again = maren.send(path, body_of(fitted, other))
    assert again.json()["code"] == "not-found"
    back = body_of(fitted, other) | {"item": other.pk, "right": fitted.item_id}
    assert maren.send(path, back).status_code == 201
    assert lot_at(maren, fitted) == fitted.item.lot.code
    assert audit() == []


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"reason": " "}, "fields-wrong"),
        ({"position": "HEAD/gasket"}, "not-found"),
        ({"amount": 0}, "amount-not-positive"),
        ({"amount": 99}, "more-than-listed"),
        ({"place": "TB-NOWHERE"}, "not-found"),
        ({"right": "itself"}, "wrong-part"),
        ({"right": "another part"}, "wrong-part"),
        ({"place": "the bench"}, "wrong-place"),
        ({"place": "quarantine"}, "not-there"),
    ],
)
def test_what_is_no_correction_is_refused(
    fitted: Fitting, other: Item, maren: ShopClient, change: dict[str, Any], code: str
) -> None:
    meant = {
        "itself": fitted.item_id,
        "another part": Item.objects.exclude(part=fitted.item.part).latest("pk").pk,
        "the bench": fitted.job.bench.code,
        "quarantine": "TB-QUARANTINE",
    }
    words = {name: meant.get(value, value) if isinstance(value, str) else value for name, value in change.items()}
    answer = maren.send(f"jobs/{fitted.job.number}/fitting-corrections", body_of(fitted, other, **words))
    assert answer.json()["code"] == code, answer.content


def test_what_came_after_the_fitting_was_not_fitted(fitted: Fitting, maren: ShopClient) -> None:
    line = {"part": RING, "amount": 8, "lot": "LATER", "cure_code": "1Q22"}
    at = fitted.act.occurred_at + timedelta(days=30)
    place = home_of(fitted.item.part, "TB")
    body = {"supplier": "Saltby", "place": place, "lines": [line], "occurred_at": at.isoformat()}
    assert maren.send("receipts", body).status_code == 201
    answer = maren.send(
        f"jobs/{fitted.job.number}/fitting-corrections", body_of(fitted, Item.objects.get(lot__code="LATER"))
    )
    assert answer.json()["code"] == "backdated-below-zero"
