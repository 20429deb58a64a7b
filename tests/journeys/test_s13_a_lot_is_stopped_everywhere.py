"""S13: one act blocks a lot on every shelf and inside closed kits, and the sum says where every ring of it is.

The history is the demo shop's own (invented); its lot table says: 100 received = 54 in engines + 30 removed + 10 on the shelf
(6 loose, 4 inside closed kits) + 4 scrapped + 2 at the marine store.
"""

from datetime import date

from inventory.models import Balance, Lot, Part, Site
from inventory.queries.stock import free_by_part
from tests.api.rest.clients import ShopClient
from tests.journeys.conftest import LOT

KIT, RING = "R-802", "R-113"


def lot_id(client: ShopClient) -> int:
    return next(row["id"] for row in client.rows("lots", search=LOT) if row["code"] == LOT)


def test_the_lot_adds_up_to_what_was_received(hester: ShopClient) -> None:
    where = hester.read(f"lots/{lot_id(hester)}/whereabouts").json()
    total = where["sum"]
    assert {name: total[name] for name in ("received", "in_engines", "removed", "loose", "in_closed_kits", "scrapped", "difference")} == {
        "received": 100, "in_engines": 54, "removed": 30, "loose": 8, "in_closed_kits": 4, "scrapped": 4, "difference": 0,
    }  # fmt: skip
    assert (total["received_loose"], total["received_in_kits"]) == (84, 16)
    assert {(row["place"], row["loose"], row["in_kits"]) for row in where["places"]} == {
        ("TB-R07", 6, 0), ("TB-R06", 0, 4), ("QY-STORE", 2, 0), ("FG-CLAIM", 30, 0),
    }  # fmt: skip
    engines = {row["place"] for row in where["engines"]}
    assert len(engines) == 9


def test_who_to_contact_are_the_nine_engines_that_still_run_on_it(hester: ShopClient) -> None:
    where = hester.read(f"lots/{lot_id(hester)}/whereabouts").json()
    assert sorted({row["place"] for row in where["engines"]}) == [
        "R6-7315", "R6-7328", "R6-7335", "R6-7348", "R6-7349", "R6-7355", "R6-7357", "R6-7365", "R6-7370",
    ]  # fmt: skip


def test_one_stop_blocks_shelves_and_closed_kits_and_is_lifted_once(maren: ShopClient) -> None:
    ring, kit = Part.objects.get(number=RING), Part.objects.get(number=KIT)
    sites = list(Site.objects.filter(code__in=["TB", "QY"]).order_by("code"))
    day = date(2025, 1, 15)

    def free() -> list[tuple[int, int]]:
        return [tuple(free_by_part([ring.pk, kit.pk], site.pk, day).values()) for site in sites]

    before = free()
    stopped = maren.send(f"lots/{lot_id(maren)}/stops", {"reason": "coolant in oil on five engines"})
    assert stopped.status_code == 201
    totals = stopped.json()["where"]["totals"]
    assert (totals["shelf"], totals["quarantine"]) == (8, 30)
    assert sum(row["boxes"] for row in stopped.json()["where"]["closed_kits"]) == 4
    after = free()
    # The marine store loses its two loose rings; the main shop all four closed kits and five of its six loose rings: the sixth is the kept
    # one of the lot and was free for nobody.
    assert [(one[0] - two[0], one[1] - two[1]) for one, two in zip(before, after, strict=True)] == [(2, 0), (5, 4)]
    again = maren.send(f"lots/{lot_id(maren)}/stops", {"reason": "once more"})
    assert (again.status_code, again.json()["code"]) == (409, "stopped-already")
    lifted = maren.send(
        f"lots/{lot_id(maren)}/frees", {"stop": stopped.json()["stop"], "reason": "supplier cleared it"}
    )
    assert lifted.status_code == 201
    assert free() == before


def test_of_each_lot_received_from_2024_on_one_ring_is_counted_and_not_free(maren: ShopClient) -> None:
    """The lot table: 4 of SB-2319, 6 of SB-2341 and 18 of SB-2402 on the main shop's shelf, one of each kept; none of what came before."""
    kept = {row["lot"]: row for row in maren.read("kept-pieces", on="2025-01-15").json() if row["part"] == RING}
    assert {lot: (row["place"], row["kept"], row["may_go"]) for lot, row in kept.items()} == {
        "SB-2319": ("TB-R07", 1, False), LOT: ("TB-R07", 1, False), "SB-2402": ("TB-R07", 1, False),
    }  # fmt: skip
    rows = Balance.objects.filter(part__number=RING, place__code="TB-R07", item__lot__code="SB-2402")
    assert list(rows.values_list("amount", "held")) == [(18, 1)]
    item = rows.get().item_id
    counted = {"place": "TB-R07", "lines": [{"item": item, "counted": "18 EA"}], "looked_at": ["O-ring"]}
    (line,) = maren.send("counts", counted).json()["lines"]
    assert line["said"] == "as the books say"
    carried = {"item": item, "amount": "18 EA", "from_place": "TB-R07", "to_place": "TB-R04"}
    (refused,) = maren.send("transfers", {"lines": [carried]}).json()["lines"]
    assert (refused["code"], refused["values"]["kept"]) == ("not-there", 1)
    asked = maren.send(f"lots/{kept['SB-2402']['lot_id']}/kept-releases", {"reason": "the last one for J1174"})
    assert (asked.status_code, asked.json()["code"]) == (422, "kept")
    assert asked.json()["ways_out"] == ["Record when these engines were handed over, where that is missing."]


def test_a_technician_may_not_stop_a_lot(planted_shop: object) -> None:
    from api.demo.catalogue import load_people

    jonah = ShopClient(load_people("demo")["jonah"])
    answer = jonah.send(f"lots/{Lot.objects.get(code=LOT).pk}/stops", {"reason": "looks bad"})
    assert answer.status_code == 403
