"""Certificates and inspections, for tests."""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory.services.certificates import enter_certificate
from inventory.services.inspections import inspect_lot, set_sample_plan
from tests.factories.stores import PersonFactory, SupplierFactory, stamp

PDF = b"%PDF-1.7 a certificate"


def certified(*printed: str, number: str = "C-1", lots: tuple[int, ...] = (), **more: Any) -> dict[str, Any]:
    """A certificate of the maker that names these lots, laid beside others; the outcome."""
    given = {
        "supplier": SupplierFactory().code,
        "number": number,
        "dated_on": date(2025, 1, 2),
        "printed_lots": printed,
    } | more
    kept = {"filename": "c.pdf", "content_type": "application/pdf", "content": PDF} | more
    done = enter_certificate(actor=PersonFactory(), stamp=stamp(), lots=lots, **(given | kept))
    return dict(done.body)


def planned(part: str, sample: int = 5, accept: int = 1, **more: Any) -> None:
    """The part's lots are sampled."""
    set_sample_plan(actor=PersonFactory(), stamp=stamp(), part=part, sample=sample, accept=accept, **more)


def inspected(receipt: int, lot_id: int, sampled: int = 5, bad: int = 0, actor: Any = None) -> dict[str, Any]:
    """A sample was looked at; the outcome."""
    done = inspect_lot(
        actor=actor or PersonFactory(), stamp=stamp(), receipt=receipt, lot_id=lot_id, sampled=sampled, bad=bad,
        results=["section 3.52 mm", "hardness 71 IRHD"],
    )  # fmt: skip
    return dict(done.body)
