"""Certificates: entered with their file, laid beside lots. One that speaks of another lot blocks the lot it was laid beside; one of a supplier
that did not deliver the lot is not laid beside it, for two makers may print one code."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from hashlib import sha256

from inventory import locks
from inventory.domain.certificates import check_file, speaks_of
from inventory.domain.errors import DomainError
from inventory.models import Act, Certificate, CertificateFile, CertificateLot, Lot, Person, Stop, Supplier
from inventory.queries import certificates as read
from inventory.queries.catalogue import no_such_supplier
from inventory.queries.days import shop_day
from inventory.queries.sellers import sellers_of_lots
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.stopping import stop_now

MOST_LOTS = 200


def enter_certificate(
    *,
    actor: Person,
    stamp: Stamp,
    supplier: str,
    number: str,
    dated_on: date,
    printed_lots: Sequence[str],
    filename: str,
    content_type: str,
    content: bytes,
    heat: str = "",
    lots: Sequence[int] = (),
) -> Done:
    """Keep a certificate with its file, and lay it beside lots that are here.

    printed_lots  lot codes as they stand on it; lots: ids of lots on record that it came with
    A lot whose code is not printed on it is stopped in the same act, wherever it lies, until somebody frees it.
    Outcome: {"certificate", "number", "supplier", "sha256", "size_bytes", "lots": [{lot_id, part, lot, speaks_of_it}], "stops": [as
    `stop_lot`]}. Raises DomainError "not-found", "nothing-given", "file-unusable", "certificate-known", "too-many-lines",
    "from-the-future" (dated after the act), "wrong-supplier" (others delivered a lot; one that nobody on record delivered may have it).
    """
    request = {
        "supplier": supplier, "number": number, "dated_on": dated_on, "printed_lots": list(printed_lots), "heat": heat,
        "filename": filename, "content_type": content_type, "sha256": sha256(content).hexdigest(), "lots": list(lots),
    }  # fmt: skip

    def work(act: Act) -> Body:
        digest = check_file(filename, content_type, content)
        seller = Supplier.objects.filter(code=supplier).first()
        if seller is None:
            raise no_such_supplier(supplier)
        codes = [code.strip() for code in printed_lots if code.strip()]
        if not number.strip() or not codes:
            raise DomainError("nothing-given", "A certificate has a number and names at least one lot.")
        if dated_on > shop_day(act.occurred_at):
            raise DomainError("from-the-future", f"{number} is dated {dated_on}.", dated_on=dated_on.isoformat())
        locks.name("certificate", f"{seller.pk} {number.strip()}")
        if read.by_number(seller.pk, [number.strip()]):
            raise DomainError("certificate-known", f"{number} of {supplier} is on record.", number=number)
        kept, _ = CertificateFile.objects.get_or_create(
            sha256=digest, defaults={"content": content, "size_bytes": len(content)}
        )
        made = Certificate.objects.create(
            act=act, supplier=seller, number=number.strip(), heat=heat, dated_on=dated_on, lots=codes, file=kept,
            filename=filename, content_type=content_type,
        )  # fmt: skip
        beside, stops = _lay(act, made, lots)
        return {
            "certificate": made.pk,
            "number": made.number,
            "supplier": seller.code,
            "sha256": digest,
            "size_bytes": kept.size_bytes,
            "lots": beside,
            "stops": stops,
        }

    return run("enter certificate", work, actor=actor, stamp=stamp, request=request, subject=number[:80])


def lay_certificate(*, actor: Person, stamp: Stamp, certificate: int, lots: Sequence[int]) -> Done:
    """Lay a certificate on record beside more lots, as `enter_certificate` does.

    Outcome: {"certificate", "number", "lots", "stops"}. Raises DomainError "not-found", "nothing-given", "too-many-lines", "wrong-supplier".
    """
    request = {"certificate": certificate, "lots": list(lots)}

    def work(act: Act) -> Body:
        if not lots:
            raise DomainError("nothing-given", f"Beside which lots is certificate {certificate} laid?")
        found = read.certificate(certificate)
        beside, stops = _lay(act, found, lots)
        return {"certificate": found.pk, "number": found.number, "lots": beside, "stops": stops}

    return run("lay certificate beside lots", work, actor=actor, stamp=stamp, request=request)


def _lay(act: Act, certificate: Certificate, ids: Sequence[int]) -> tuple[list[Body], list[Body]]:
    """The links, and the stops of lots that the certificate does not speak of; one that is stopped already stays so."""
    if len(ids) > MOST_LOTS:
        raise DomainError("too-many-lines", f"{len(ids)} lots; at most {MOST_LOTS}.", lines=len(ids))
    wanted = sorted(set(ids))
    lots = {lot.pk: lot for lot in Lot.objects.filter(pk__in=wanted).select_related("part")}
    missing = next((one for one in wanted if one not in lots), None)
    if missing is not None:
        raise DomainError("not-found", f"There is no lot {missing}.", lot=missing)
    _check_sellers(certificate, lots)
    CertificateLot.objects.bulk_create(
        CertificateLot(certificate=certificate, lot=lots[one], act=act) for one in wanted
    )
    said, stops = [], []
    for one in wanted:
        lot = lots[one]
        fits = speaks_of(certificate.lots, lot.code)
        said.append({"lot_id": one, "part": lot.part.number, "lot": lot.code, "speaks_of_it": fits})
        if not fits and not Stop.objects.filter(lot=lot, freed__isnull=True).exists():
            printed = ", ".join(certificate.lots)[:100]
            stops.append(
                stop_now(act, lot, f"certificate {certificate.number} is for {printed}, the bag says {lot.code}")
            )
    return said, stops


def _check_sellers(certificate: Certificate, lots: Mapping[int, Lot]) -> None:
    """The same code may stand on bags of two suppliers; DomainError "wrong-supplier" names the first lot that others delivered."""
    code = certificate.supplier.code
    for pk, sellers in sorted(sellers_of_lots(lots).items()):
        if sellers and code not in sellers:
            said = ", ".join(sorted(sellers))
            lot = lots[pk]
            raise DomainError(
                "wrong-supplier",
                f"{certificate.number} is a certificate of {code}; lot {lot.code} of {lot.part.number} came from {said}.",
                ways_out=(
                    f"Enter the certificate that {said} sent.",
                    f"Enter it as one of {said}, if it came with their delivery.",
                ),
                lot=pk, supplier=code, delivered_by=sorted(sellers),
            )  # fmt: skip
