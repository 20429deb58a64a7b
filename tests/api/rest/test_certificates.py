"""Certificates with their files, sample plans and inspections over HTTP."""

from base64 import b64encode

import pytest

from inventory.domain.certificates import MOST_BYTES, checksum
from inventory.models import CertificateFile, Lot
from inventory.services.receive import ReceiveLine
from tests.factories.orders import came
from tests.factories.papers import PDF, certified, planned
from tests.factories.stores import PartFactory, SupplierFactory

pytestmark = pytest.mark.django_db


def body(**more):
    """A certificate of lot A."""
    words = {"supplier": SupplierFactory().code, "number": "C/1", "dated_on": "2025-01-02", "printed_lots": ["A"]}
    file = {"filename": "3421 é.pdf", "content_type": "application/pdf", "content": b64encode(PDF).decode()}
    return words | file | more


def test_a_certificate_is_entered_listed_and_comes_back_byte_for_byte(client_of):
    PartFactory(number="O-1")
    came(ReceiveLine("O-1", 5, lot="A"))
    clerk = client_of("warranty clerk")
    made = clerk.send("certificates", body(lots=[Lot.objects.get().pk], heat="H-9"))
    assert (made.status_code, made.json()["sha256"]) == (201, checksum(PDF))
    (row,) = clerk.rows("certificates", lot="A", heat="H-9")
    assert (row["number"], row["size_bytes"], [one["speaks_of_it"] for one in row["lots"]]) == ("C/1", len(PDF), [True])
    assert clerk.rows("certificates", part="O-2") == []
    file = clerk.read(f"certificates/{row['certificate']}/file")
    assert (file.status_code, file.content, file["Content-Type"]) == (200, PDF, "application/pdf")
    assert file["Content-Disposition"].startswith("attachment")
    assert file["X-Content-Type-Options"] == "nosniff"
    # RFC 9530: the digest of the bytes as a byte sequence between colons
    assert file["Repr-Digest"] == f"sha-256=:{b64encode(bytes.fromhex(checksum(PDF))).decode()}:"
    assert clerk.read("certificates/999/file").json()["code"] == "not-found"
    assert client_of("technician").send("certificates", body(number="C-2")).status_code == 403


def test_a_certificate_of_another_lot_blocks_the_lot(client_of):
    PartFactory(number="O-1")
    came(ReceiveLine("O-1", 5, lot="B"))
    its = Lot.objects.get().pk
    keeper = client_of("storekeeper")
    made = keeper.send("certificates", body()).json()
    laid = keeper.send(f"certificates/{made['certificate']}/lots", {"lots": [its]}).json()
    assert [one["speaks_of_it"] for one in laid["lots"]] == [False]
    assert laid["stops"][0]["where"]["totals"] == {"shelf": 5}
    assert keeper.read(f"lots/{its}").json()["stopped"] is True


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"content": "%%%"}, "fields-wrong"), ({"content": ""}, "fields-wrong"), ({"content": 7}, "fields-wrong"),
        ({"content": b64encode(b"<html>").decode()}, "file-unusable"), ({"content_type": "text/html"}, "fields-wrong"),
        ({"filename": "../c.pdf"}, "file-unusable"), ({"supplier": "rnaker"}, "not-found"), ({"lots": [999]}, "not-found"),
        ({"printed_lots": []}, "nothing-given"), ({"dated_on": "2999-01-01"}, "from-the-future"),
        ({"content": b64encode(b"%PDF-" + b"x" * MOST_BYTES).decode()}, "file-unusable"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_and_nothing_is_kept(manager, more, code):
    assert manager.send("certificates", body(**more)).json()["code"] == code
    assert not CertificateFile.objects.exists()


def test_a_sampled_lot_is_inspected_and_fails(client_of, manager):
    PartFactory(number="O-1")
    plan = {"part": "O-1", "sample": 5, "accept": 1, "checks": "section, hardness"}
    assert manager.send("sample-plans", plan).json() | {"plan": 0} == plan | {"plan": 0, "supplier": ""}
    assert manager.send("sample-plans", plan | {"accept": 5}).json()["code"] == "sample-unusable"
    (line,) = came(ReceiveLine("O-1", 20, lot="A"))
    (waits,) = manager.rows("set-asides", why="to be inspected")
    looked = {"receipt": waits["receipt"], "lot_id": Lot.objects.get().pk, "sampled": 5, "bad": 2}
    assert client_of("technician").send("lot-inspections", looked).status_code == 403
    found = client_of("storekeeper").send("lot-inspections", looked | {"results": ["hardness 58 IRHD"]}).json()
    assert (found["passed"], found["needed"], found["stop"]["where"]["totals"]) == (False, 5, {"quarantine": 20})
    (row,) = manager.rows("lot-inspections", part="O-1", lot="A")
    assert (row["passed"], row["results"], row["accept"]) == (False, ["hardness 58 IRHD"], 1)
    free = {"stop": found["stop"]["stop"], "reason": "the gauge was wrong"}
    assert client_of("inspector").send(f"lots/{looked['lot_id']}/frees", free).status_code == 201
    release = {"item": line["item"], "amount": 20, "from_place": "Q1", "to_place": "R1"}
    again = client_of("inspector").send("quarantine-releases", {"lines": [release]})
    assert again.json()["lines"][0]["code"] == "inspection-missing"


@pytest.mark.parametrize("many", [1, 3])
def test_the_queries_do_not_grow_with_the_lists(manager, many, django_assert_num_queries):
    for number in range(many):
        part = PartFactory().number
        planned(part)
        came(ReceiveLine(part, 5, lot=f"L{number}"))
        certified("A", number=f"C-{number}", lots=(Lot.objects.latest("pk").pk,))
    for path, queries in (("certificates", 3), ("sample-plans", 2), ("lot-inspections", 2)):
        with django_assert_num_queries(queries):
            manager.rows(path)


def test_a_certificate_of_another_supplier_is_not_laid_beside_a_lot_of_the_same_code(client_of):
    PartFactory(number="O-1")
    came(ReceiveLine("O-1", 5, lot="A"))
    its = Lot.objects.get().pk
    SupplierFactory(code="other", name="Another")
    keeper = client_of("storekeeper")
    answer = keeper.send("certificates", body(supplier="other", lots=[its]))
    assert (answer.status_code, answer.json()["code"]) == (422, "wrong-supplier")
    assert answer.json()["values"]["delivered_by"] == ["maker"]
    made = keeper.send("certificates", body(supplier="other")).json()
    laid = keeper.send(f"certificates/{made['certificate']}/lots", {"lots": [its]})
    assert (laid.status_code, laid.json()["code"]) == (422, "wrong-supplier")
    assert keeper.rows("certificates", lot="A") == []
