"""Certificates: kept with their file, laid beside lots, and what one of another lot does."""

from datetime import date

import pytest

from inventory.domain.certificates import checksum
from inventory.models import CertificateFile, Lot, Stop
from inventory.queries.certificates import certificates, file_of, rendered_certificates
from inventory.services.certificates import enter_certificate, lay_certificate
from inventory.services.receive import ReceiveLine, receive
from inventory.services.stops import free_lot
from tests.factories.acts import done, ends, held, item, refused, standing
from tests.factories.orders import came
from tests.factories.papers import PDF, certified
from tests.factories.stores import PartFactory, SupplierFactory, cart, shelf
from tests.inventory.services.test_orders import undo

pytestmark = pytest.mark.django_db


def lot(code: str = "A") -> int:
    """Ten rings of a lot on the shelf; its id."""
    if not Lot.objects.exists():
        PartFactory(number="O-1")
    came(ReceiveLine("O-1", 10, lot=code))
    return Lot.objects.get(code=code).pk


def test_a_certificate_is_kept_with_its_file_and_its_lots():
    its = lot("SB-3421")
    body = certified("SB 3421", "SB 3422", lots=(its,), heat="H-9")
    assert (body["sha256"], body["size_bytes"], body["stops"]) == (checksum(PDF), len(PDF), [])
    assert body["lots"] == [{"lot_id": its, "part": "O-1", "lot": "SB-3421", "speaks_of_it": True}]
    found, content = file_of(body["certificate"])
    assert (found.heat, found.lots, content) == ("H-9", ["SB 3421", "SB 3422"], PDF)
    # The same scan under another number is kept once.
    certified("SB 9", number="C-2")
    assert CertificateFile.objects.count() == 1


def test_a_certificate_of_another_lot_blocks_the_lot_it_was_laid_beside():
    its = lot("A")
    hold = held(item("O-1", "lot=A"), cart("cart J1"), 4)
    body = certified("B", lots=(its,))
    assert [one["lot"] for one in body["stops"]] == ["A"]
    assert ends() == [(hold.pk, "made impossible")]
    assert body["stops"][0]["shorts"][0]["for"] == "cart J1"
    assert "C-1 is for B" in Stop.objects.get().reason
    # Laid beside it once more it stays stopped, once.
    assert done(lay_certificate, certificate=body["certificate"], lots=[its])["stops"] == []
    undo("enter certificate", "not-correctable")
    done(free_lot, lot_id=its, stop_id=Stop.objects.get().pk, reason="the maker wrote again")
    undo("lay certificate beside lots")
    assert [len(one.lots) for one in rendered_certificates(certificates())] == [1]


def test_at_receipt_a_bag_of_another_lot_goes_to_quarantine():
    PartFactory(number="O-1")
    certified("B")
    lines = came(
        ReceiveLine("O-1", 3, lot="A", certificate="C-1"),
        ReceiveLine("O-1", 4, lot="B", certificate="C-1"),
        ReceiveLine("O-1", 5, lot="B", certificate="C-1"),
    )
    assert [(one["lot"], one["place"], one["why"]) for one in lines] == [
        ("A", "Q1", "certificate differs"), ("B", "R1", ""), ("B", "R1", ""),
    ]  # fmt: skip
    (row,) = rendered_certificates(certificates())
    assert [(one.lot, one.speaks_of_it) for one in row.lots] == [("A", False), ("B", True)]
    given = {"supplier": "maker", "place": shelf("R1").code}
    refused("quarantine-needed", receive, lines=[ReceiveLine("O-1", 3, lot="A", certificate="C-1")], **given)
    refused("not-found", receive, lines=[ReceiveLine("O-1", 3, lot="A", certificate="C-2")], **given)
    PartFactory(number="W-1", tracked_by="nothing")
    refused("lot-missing", receive, lines=[ReceiveLine("W-1", 3, certificate="C-1")], **given)
    SupplierFactory(code="other", name="Another")
    refused(
        "not-found",
        receive,
        lines=[ReceiveLine("O-1", 3, lot="A", certificate="C-1")],
        **(given | {"supplier": "other"}),
    )
    assert standing() == [("O-1", "lot=A", "Q1", 3), ("O-1", "lot=B", "R1", 9)]


def test_what_is_wrong_with_a_certificate_is_named():
    its = lot()
    given = {
        "supplier": "maker", "number": "C-1", "dated_on": date(2025, 1, 15), "printed_lots": ["A"], "filename": "c.pdf",
        "content_type": "application/pdf", "content": PDF,
    }  # fmt: skip
    for more, code in (
        ({"supplier": "nobody"}, "not-found"), ({"number": " "}, "nothing-given"), ({"printed_lots": [" "]}, "nothing-given"),
        ({"dated_on": date(2025, 1, 16)}, "from-the-future"), ({"content": b"<html>"}, "file-unusable"),
        ({"lots": [its, 999_999]}, "not-found"), ({"lots": [its] * 201}, "too-many-lines"),
    ):  # fmt: skip
        refused(code, enter_certificate, **(given | more))
    assert not CertificateFile.objects.exists()
    body = done(enter_certificate, **given)
    refused("certificate-known", enter_certificate, **given)
    refused("nothing-given", lay_certificate, certificate=body["certificate"], lots=[])
    refused("not-found", lay_certificate, certificate=999_999, lots=[its])
    undo("enter certificate")
    refused("not-found", lay_certificate, certificate=body["certificate"], lots=[its])
    done(enter_certificate, **given)


def test_one_code_of_two_suppliers_a_certificate_is_laid_beside_the_lot_of_its_own():
    its = lot("A")
    SupplierFactory(code="other", name="Another")
    stranger = {"supplier": "other", "number": "C-9"}
    error = refused("wrong-supplier", certificate_of, lots=[its], **stranger)
    assert error.values == {"lot": its, "supplier": "other", "delivered_by": ["maker"]}
    assert (error.ways_out[0], Stop.objects.count()) == ("Enter the certificate that maker sent.", 0)
    kept = certified("A", **stranger)["certificate"]
    refused("wrong-supplier", lay_certificate, certificate=kept, lots=[its])
    # Once some of the lot came from them too, it may be theirs.
    done(receive, supplier="other", place="R1", lines=[ReceiveLine("O-1", 5, lot="A")])
    assert done(lay_certificate, certificate=kept, lots=[its])["stops"] == []


def test_beside_a_lot_that_nobody_on_record_delivered_any_certificate_may_lie():
    its = lot("A")
    undo("receive")
    SupplierFactory(code="other", name="Another")
    assert certified("A", supplier="other", lots=(its,))["lots"][0]["speaks_of_it"] is True


def certificate_of(**given):
    """A certificate that names lot A."""
    file = {"filename": "c.pdf", "content_type": "application/pdf", "content": PDF}
    return enter_certificate(dated_on=date(2025, 1, 2), printed_lots=["A"], **given, **file)
