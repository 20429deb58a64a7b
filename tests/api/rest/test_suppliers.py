"""`suppliers` and what they sell."""

import pytest

from inventory.models import Supplier
from tests.factories.stores import PartFactory, SupplierFactory

pytestmark = pytest.mark.django_db


def test_a_supplier_is_entered_and_sells_on_terms_that_change(manager):
    PartFactory(number="P-1")
    answer = manager.send(
        "suppliers", {"code": "ringmaker", "name": "The ring maker", "facts": {"weeks": [3, 5.5]}, "send_back_days": 60}
    )
    assert (answer.status_code, answer.json()) == (201, {"supplier": "ringmaker", "name": "The ring maker"})
    first = manager.send(
        "suppliers/ringmaker/parts", {"part": "P-1", "number": "RM 7", "pack": 10, "price_coins": 210}
    ).json()
    assert first["before"] is None
    express = {"express_days": 4, "express_coins": 9_500}
    terms = {"part": "P-1", "pack": 20, "lead_days": 21, "send_back_days": 30, **express}
    second = manager.send("suppliers/ringmaker/parts", terms).json()
    assert second["before"] == first["terms"]
    body = manager.read("suppliers/ringmaker").json()
    assert body == {
        "code": "ringmaker",
        "name": "The ring maker",
        "facts": {"weeks": [3, "5.5"]},
        "send_back_days": 60,
        "sells": [
            {
                "part": "P-1",
                "number": "",
                "pack": 20,
                "least_order": 1,
                "price_coins": None,
                "lead_days": 21,
                "send_back_days": 30,
                "express_days": 4,
                "express_coins": 9_500,
            }
        ],
    }
    SupplierFactory(code="other")
    assert [row["code"] for row in manager.rows("suppliers")] == ["other", "ringmaker"]
    assert [row["code"] for row in manager.rows("suppliers", part="P-1")] == ["ringmaker"]
    assert manager.read("parts/P-1").json()["sold_by"][0]["supplier"] == "ringmaker"


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("suppliers", {"code": "maker", "name": "again"}, 409, "supplier-known"),
        ("suppliers", {"code": "x" * 41, "name": "long"}, 400, "fields-wrong"),
        ("suppliers", {"code": "x"}, 400, "fields-wrong"),
        ("suppliers/maker/parts", {"part": "P-9"}, 404, "not-found"),
        ("suppliers/nobody/parts", {"part": "P-1"}, 404, "not-found"),
        ("suppliers/maker/parts", {"part": "P-1", "pack": 0}, 422, "part-unusable"),
        ("suppliers/maker/parts", {"part": "P-1", "lead_days": -1}, 400, "fields-wrong"),
        ("suppliers/maker/parts", {"part": "P-1", "lead_days": 10**12}, 422, "part-unusable"),
        ("suppliers/maker/parts", {"part": "P-1", "send_back_days": 3651}, 422, "part-unusable"),
        ("suppliers/maker/parts", {"part": "P-1", "express_days": 3651, "express_coins": 1}, 422, "part-unusable"),
        ("suppliers/maker/parts", {"part": "P-1", "lead_days": 3651}, 422, "part-unusable"),
        ("suppliers/maker/parts", {"part": "P-1", "express_days": 4}, 422, "part-unusable"),
        ("suppliers/maker/parts", {"part": "P-1", "express_coins": 4}, 422, "part-unusable"),
        ("suppliers", {"code": "x", "name": "long", "send_back_days": 3651}, 422, "part-unusable"),
    ],
)
def test_unusable_terms_are_refused(manager, path, body, status, code):
    SupplierFactory()
    PartFactory(number="P-1")
    answer = manager.send(path, body)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert Supplier.objects.count() == 1


def test_an_unknown_supplier_is_not_found(manager):
    assert manager.read("suppliers/nobody").json()["values"] == {"supplier": "nobody", "near": []}
