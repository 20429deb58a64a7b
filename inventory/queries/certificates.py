"""Certificates as they are read, and their files."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch, QuerySet

from inventory.domain.certificates import checksum, speaks_of
from inventory.domain.errors import DomainError
from inventory.models import Certificate, CertificateFile, CertificateLot
from inventory.queries.days import shop_day


@dataclass(frozen=True, slots=True)
class CertifiedLot:
    """A lot that a certificate was laid beside; `speaks_of_it`: its code is printed there."""

    lot_id: int
    part: str
    lot: str
    speaks_of_it: bool


@dataclass(frozen=True, slots=True)
class CertificateRow:
    """A certificate; its file has the checksum SHA-256 and is at `certificates/{id}/file`."""

    certificate: int
    number: str
    supplier: str
    heat: str
    dated_on: date
    entered_on: date
    by: str
    printed_lots: tuple[str, ...]
    filename: str
    content_type: str
    size_bytes: int
    sha256: str
    lots: tuple[CertifiedLot, ...]


def certificates() -> QuerySet[Certificate]:
    """Certificates that were not taken back, without the bytes of their files."""
    links = CertificateLot.objects.filter(act__corrected_by__isnull=True).select_related("lot__part").order_by("pk")
    return (
        Certificate.objects.filter(act__corrected_by__isnull=True)
        .select_related("act__actor", "supplier", "file")
        .defer("file__content")
        .prefetch_related(Prefetch("links", queryset=links))
    )


def rendered_certificates(rows: Iterable[Certificate]) -> list[CertificateRow]:
    """Records. No query: the rows come with their links."""
    return [
        CertificateRow(
            certificate=one.pk,
            number=one.number,
            supplier=one.supplier.code,
            heat=one.heat,
            dated_on=one.dated_on,
            entered_on=shop_day(one.act.occurred_at),
            by=one.act.actor.username,
            printed_lots=tuple(one.lots),
            filename=one.filename,
            content_type=one.content_type,
            size_bytes=one.file.size_bytes,
            sha256=one.file_id,
            lots=tuple(
                CertifiedLot(link.lot_id, link.lot.part.number, link.lot.code, speaks_of(one.lots, link.lot.code))
                for link in one.links.all()
            ),
        )
        for one in rows
    ]


def certificate(number: int) -> Certificate:
    """One by its id; DomainError "not-found"."""
    found = certificates().filter(pk=number).first()
    if found is None:
        raise DomainError("not-found", f"There is no certificate {number}.", certificate=number)
    return found


def file_of(number: int) -> tuple[Certificate, bytes]:
    """A certificate with the bytes of its file; DomainError "not-found". Three queries."""
    found = certificate(number)
    return found, bytes(CertificateFile.objects.values_list("content", flat=True).get(pk=found.file_id))


def by_number(supplier_id: int, numbers: Iterable[str]) -> dict[str, Certificate]:
    """The newest certificate of each number from a supplier. One query, none for none."""
    wanted = {number for number in numbers if number}
    if not wanted:
        return {}
    rows = Certificate.objects.filter(supplier=supplier_id, number__in=wanted, act__corrected_by__isnull=True)
    return {one.number: one for one in rows.order_by("pk")}


def file_differs(sha256: str, size_bytes: int) -> tuple[int, int, str] | None:
    """Size on record, size and checksum of a kept file's bytes where they are not those of its record; None: they are."""
    content = bytes(CertificateFile.objects.values_list("content", flat=True).get(pk=sha256))
    real = checksum(content)
    return None if (real, len(content)) == (sha256, size_bytes) else (size_bytes, len(content), real)
