"""`counter-sales`, `workshop-uses`, `demand`, and an emergency buy whose lot nobody knows, over HTTP."""

import pytest

from inventory.models import Item
from inventory.queries.whereabouts import lot_whereabouts
from kits.queries.engines import engines_with_lot
from tests.factories.stores import OwnerFactory, PartFactory, quarantine, shelf, stock

pytestmark = pytest.mark.django_db
RING_AT = "CYL-1/ring"


def test_a_sale_comes_back_to_quarantine_and_the_history_shows_what_counts(client_of, manager):
    stock(PartFactory(number="P-1"), 10, lot="L-1", place=shelf("R1"))
    quarantine("Q1")
    its = Item.objects.get().pk
    keeper = client_of("storekeeper")
    # Who sells enters the buyer, and need not see who else is on record.
    buyer = keeper.send("owners", {"name": "boatyard", "telephone": "0123"}).json()["owner"]
    assert keeper.read(f"owners/{buyer}").status_code == 403
    body = {
        "lines": [{"item": its, "amount": "3 EA", "place": "R1"}],
        "buyer": buyer,
        "reason": "walked in",
        "demand": True,
    }
    assert keeper.send("counter-sales", body | {"reason": ""}).json()["code"] == "fields-wrong"
    assert (
        keeper.send("counter-sales", {k: v for k, v in body.items() if k != "demand"}).json()["code"] == "fields-wrong"
    )
    assert client_of("technician").send("counter-sales", body).json()["code"] == "not-allowed"
    for wrong, status, code in (
        ("boatyard", 400, "fields-wrong"),
        (None, 400, "fields-wrong"),
        (999, 404, "not-found"),
    ):
        answer = keeper.send("counter-sales", body | {"buyer": wrong})
        assert (answer.status_code, answer.json()["code"]) == (status, code)
    sold = keeper.send("counter-sales", body)
    assert (sold.status_code, sold.json()["buyer"]) == (201, buyer)
    back = {"amount": "1 EA", "place": "R1", "reason": "wrong size"}
    returns = f"counter-sale-lines/{sold.json()['lines'][0]['line']}/returns"
    assert keeper.send(returns, back).json()["code"] == "wrong-place"
    assert keeper.send(returns, back | {"place": "Q1"}).status_code == 201
    used = {"lines": [{"item": its, "amount": 2, "place": "R1"}], "reason": "test rig", "demand": False}
    assert client_of("technician").send("workshop-uses", used).status_code == 201
    [row] = keeper.read("counter-sales?lot=L-1&demand=true").json()["results"]
    assert (row["buyer"], row["amount"], row["brought_back"], row["shown"]) == (buyer, 3, 1, "3 EA")
    assert keeper.read(f"counter-sales?buyer={buyer}").json()["results"] == [row]
    assert keeper.read(f"counter-sales?buyer={buyer + 1}").json()["results"] == []
    for wrong in ("boatyard", "-1", "1.5", "9" * 20):
        assert keeper.read(f"counter-sales?buyer={wrong}").json()["code"] == "fields-wrong"
    assert "boatyard" not in keeper.read("counter-sales").content.decode()
    assert keeper.read("counter-sales?demand=false").json()["results"] == []
    assert [one["reason"] for one in keeper.read("workshop-uses").json()["results"]] == ["test rig"]
    answer = manager.read("demand").json()
    assert [
        (one["part"], one["counts"]["sold"], one["counts"]["not_counted"], one["amount"]) for one in answer["rows"]
    ] == [("P-1", 2, 2, 2)]
    of_one = manager.read("demand?part=P-1").json()["rows"]
    # Of one part every month of the year that was asked about has its row.
    assert ([row for row in of_one if row["amount"]], len(of_one)) == (answer["rows"], 13)
    assert manager.read("demand?part=P-9").json()["code"] == "not-found"
    assert manager.read("demand?since=2025-02-01&until=2025-01-01").json()["code"] == "dates-turned"


def test_what_is_bought_without_its_lot_says_so_where_it_is_fitted_and_could_be_any_lot_of_a_recall(rebuild):
    rebuild.booked(findings=[{"code": "chosen", "place": "CYL-1"}, {"code": "lifted", "place": "CYL-1"}])
    rebuild.held().picked().looked_at()
    received = {"received_by": rebuild.technician.person.username}
    rebuild.did(rebuild.storekeeper, f"pick-lists/{rebuild.said['held']['pick_list']}/handovers", received)
    bench = f"bench {rebuild.job}"
    lines = [{"part": "RING", "amount": 1, "total_coins": 450}]
    buy = {"supplier": "maker", "place": bench, "lines": lines, "reason": "the last one tore", "emergency": True}
    assert rebuild.storekeeper.send("receipts", buy).json()["code"] == "fields-wrong"
    assert rebuild.storekeeper.send("receipts", buy | {"demand": True, "reason": ""}).json()["code"] == "reason-missing"
    bought = rebuild.did(rebuild.storekeeper, "receipts", buy | {"demand": True})["lines"][0]
    assert (bought["lot"], bought["place"]) == ("", bench)
    fitted = rebuild.technician.send(
        "jobs/J-1/fittings", {"fittings": [{"item": bought["item"], "position": RING_AT, "amount": 1}]}
    )
    assert fitted.status_code == 201, fitted.content
    contents = rebuild.manager.read("engines/T4-00211/contents").json()
    [there] = [one for one in contents["contents"] if one["position"] == RING_AT]
    assert (there["part"], there["lot"], there["lot_unknown"]) == ("RING", "", True)
    lot = Item.objects.get(part__number="RING", lot__code="RING/1").lot_id
    found = rebuild.manager.read(f"lots/{lot}/whereabouts").json()
    assert [(one["spot"], one["amount"]) for one in found["possible"]] == [(RING_AT, 1)]
    [engine] = engines_with_lot(lot_whereabouts(lot))
    assert (engine.amount, engine.possible, engine.possible_positions) == (0, 1, (RING_AT,))
    [row] = [one for one in rebuild.manager.read("demand?part=RING").json()["rows"] if one["amount"]]
    assert (row["counts"]["bought"], row["amount"]) == (1, row["counts"]["issued"] + 1)


def test_a_month_is_marked_as_exceptional_with_its_reason_and_the_history_shows_every_word(manager, client_of):
    PartFactory(number="P-1")
    asked = {"part": "P-1", "month": "2025-01", "exceptional": True, "reason": "a recall"}
    assert client_of("storekeeper").send("demand-marks", asked).status_code == 403
    assert manager.send("demand-marks", asked).status_code == 201
    assert manager.send("demand-marks", asked).json()["code"] == "month-marked-so"
    for month in ("2025-13", "2025-1", "January", "2025-01-01", 202501, "0025-01"):
        assert manager.send("demand-marks", asked | {"month": month}).status_code == 400, month
    assert manager.send("demand-marks", asked | {"exceptional": False, "reason": "no recall"}).status_code == 201
    (row,) = manager.read("demand?since=2025-01-01&until=2025-01-31").json()["rows"]
    assert (row["month"], row["amount"], row["exceptional"], row["stocked_days"]) == ("2025-01", 0, False, 0)
    assert [(one["exceptional"], one["reason"]) for one in row["marks"]] == [(True, "a recall"), (False, "no recall")]


def test_a_chemical_and_half_a_pack_are_refused_by_name_at_the_counter_and_in_the_workshop(client_of, manager):
    stock(PartFactory(number="T-1", kind="sealant"), 3, lot="L-1", place=shelf("R1"))
    stock(PartFactory(number="R-1", pack=10, loose_issue=False), 10, lot="L-1", place=shelf("R1"))
    tin, ring = (Item.objects.get(part__number=number).pk for number in ("T-1", "R-1"))
    lines = [{"item": tin, "amount": "1 EA", "place": "R1"}, {"item": ring, "amount": "4 EA", "place": "R1"}]
    body = {"lines": lines, "reason": "walked in", "demand": True}
    keeper = client_of("storekeeper")
    for path, more in (("counter-sales", {"buyer": OwnerFactory().pk}), ("workshop-uses", {})):
        answer = keeper.send(path, body | more)
        codes = [(line["line"], line["code"]) for line in answer.json()["lines"]]
        assert (answer.status_code, codes) == (422, [(1, "safety-sheet-missing"), (2, "pack-not-whole")])
    assert answer.json()["lines"][1]["ways_out"][0] == "Take 10: the pack goes whole."
    sheet = {"link": "office, folder 2", "issued_on": "2024-01-01"}
    assert manager.send("parts/T-1/safety-sheets", sheet).status_code == 201
    unread = keeper.send("workshop-uses", body | {"lines": lines[:1]})
    assert [line["code"] for line in unread.json()["lines"]] == ["safety-sheet-unread"]
    assert keeper.send("safety-sheet-readings", {"parts": ["T-1"]}).status_code == 201
    assert keeper.send("workshop-uses", body | {"lines": lines[:1]}).status_code == 201


def test_a_broken_set_comes_in_by_no_delivery(client_of, manager):
    stock(PartFactory(number="S-1", kind="matched set", tracked_by="set", unit="SET"), serial="A-1", place=shelf("R1"))
    quarantine("Q1")
    broken = {"damaged": "liner", "reason": "dropped", "orphan_place": "Q1", "no_photo": "none taken"}
    assert manager.send("matched-sets/A-1/breaks", broken).status_code == 201
    body = {"supplier": "maker", "place": "R1", "lines": [{"part": "S-1", "serial": "A-1", "amount": 1}]}
    answer = manager.send("receipts", body)
    assert [(line["line"], line["code"]) for line in answer.json()["lines"]] == [(1, "set-broken")]
