"""Numbers and codes as their makers print them, in an address: with slashes, spaces, dots, percent signs, of any script."""

from urllib.parse import quote

import pytest

from inventory.models import Lot
from tests.api.rest.rebuilds import small_shop
from tests.factories.stores import PartFactory, SupplierFactory, quarantine, shelf, site, stock

pytestmark = pytest.mark.django_db
ODD = [
    "AB/12",
    "AB/12/3",
    "/AB",
    "AB/",
    "A//B",
    "AB 12",
    "A.B.12",
    ".A",
    "50%",
    "A%2F12",
    "É-12/ß",
    "линер/7",
    "a?b#c&d=e",
    "A+B",
]


def address(text: str) -> str:
    return quote(text, safe="")


@pytest.mark.parametrize("number", ODD)
def test_a_part_is_found_and_changed_under_its_number(manager, number):
    other = PartFactory(number="PLAIN-99")
    made = manager.send("parts", {"number": number, "name": "gasket", "unit": "EA", "kind": "gasket"})
    assert made.status_code == 201, made.content
    answer = manager.read(f"parts/{address(number)}")
    assert (answer.status_code, answer.json()["number"]) == (200, number)
    changed = manager.send(f"parts/{address(number)}", {"pack": 5}, method="PATCH", if_match=answer["ETag"])
    assert (changed.status_code, changed.json()["part"]) == (201, number)
    replaced = manager.send(f"parts/{address(number)}/replacements", {"news": [{"part": other.number}]})
    assert replaced.status_code == 201, replaced.content
    boxed = manager.send(f"parts/{address(number)}", {"kind": "kit"}, method="PATCH", if_match='"2"')
    assert boxed.status_code == 201, boxed.content
    kit = manager.send(f"parts/{address(number)}/kit-revisions", {"contents": [{"part": other.number, "amount": 2}]})
    assert kit.status_code == 201, kit.content
    assert manager.read("parts/PLAIN-99").json()["in_kits"][0]["kit"] == number


@pytest.mark.parametrize("code", ODD)
def test_sets_places_suppliers_and_lots_are_found_under_their_codes(manager, code):
    quarantine("Q1")
    place, seller = shelf(code), SupplierFactory(code=code)
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial=code, place=place)
    stock(PartFactory(number="P-1"), 4, lot=code, place=place)
    for path, name in (("matched-sets", "serial"), ("places", "code"), ("suppliers", "code")):
        answer = manager.read(f"{path}/{address(code)}")
        assert (answer.status_code, answer.json()[name]) == (200, code), path
    assert manager.read(f"matched-sets/{address(code)}/history").json()["serial"] == code
    assert [row["part"] for row in manager.rows(f"places/{address(code)}/contents")] == ["S-1", "P-1"]
    lot = Lot.objects.get(code=code)
    assert [row["id"] for row in manager.rows("lots", code=code)] == [lot.pk]
    assert manager.read(f"lots/{lot.pk}").json()["code"] == code
    broken = {"damaged": "liner", "reason": "dropped", "orphan_place": "Q1", "photo_ref": "photo 12"}
    assert manager.send(f"matched-sets/{address(code)}/breaks", broken).status_code == 201
    assert manager.send(f"suppliers/{address(seller.code)}/parts", {"part": "P-1"}).status_code == 201


def test_pages_of_a_place_with_a_slash_follow_each_other(manager):
    place = shelf("RACK/1")
    for number in ("P-1", "P-2", "P-3"):
        stock(PartFactory(number=number), 1, place=place)
    answer = manager.read("places/RACK%2F1/contents", page_size=2).json()
    rest = manager.get(answer["next"]).json()
    assert [row["part"] for row in answer["results"] + rest["results"]] == ["P-1", "P-2", "P-3"]


def test_an_engine_number_may_be_typed_with_slashes(manager):
    small_shop()
    number = "T4-00211"
    booked = {"number": "J-1", "engine": number, "site": site().code, "operations": ["T1"], "new_engine": True}
    assert manager.send("jobs", booked | {"strip_on": "2025-01-15", "fit_on": "2025-01-20"}).status_code == 201
    for typed in ("T4%2F00211", "t4/002/11", "T4%2000211"):
        assert manager.read(f"engines/{typed}").json()["number"] == number
        assert manager.read(f"engines/{typed}/contents").json()["engine"] == number
        assert manager.read(f"engines/{typed}/story").json()["engine"] == number


def test_what_stands_below_a_number_is_not_taken_for_a_number(manager):
    PartFactory(number="AB")
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="AB")
    assert manager.read("matched-sets/AB/history").json()["serial"] == "AB"
    assert manager.read("parts/AB/replacements").json()["code"] == "method-not-allowed"
    for path in ("parts/AB/stops", "parts/AB/", "matched-sets/AB/history/2"):
        assert manager.read(path).json()["code"] == "not-found", path
    assert manager.read("parts/").json()["detail"] == "There is no address /api/v1/parts/."
