"""The pack of a claim: everything that the record has of it, of the job whose work is claimed and of what that job fitted, in one read.

What was built and measured is the build sheet's (`build_sheet`), the claim is the claim's own read: nothing is worked out a second time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields, is_dataclass
from datetime import date, datetime
from typing import Any

from inventory.domain.certificates import speaks_of
from inventory.domain.places import PlaceKind, said_to
from inventory.models import CertificateLot, Item, Lot, Part, ReceiptLine
from inventory.queries.days import shop_day, shop_time
from inventory.queries.snapshot import snapshot
from kits.domain.claim_pack import sections
from kits.domain.claim_sheets import Section, contents_of, gaps_of, missing_section
from kits.models import EngineHandover, Job, OwnerClaim, Removal
from kits.queries.build_sheet import build_sheet
from kits.queries.contents import counting, history
from kits.queries.documents import family_of
from kits.queries.gauges import gauges_by_number, standing_on
from kits.queries.jobs import full_record
from kits.queries.owner_claims import claim_record, rendered_claims
from kits.queries.readings import ReadingRow

Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class RemovedSince:
    """What the job had fitted and left its position again. `job`: on which it did; `went_to`: a kind of place, or what was done with it.

    reason   as it was said; the kind of the act where that was no removal by name, as when a new fill took the place of an old one
    """

    position: str
    item: int
    part: str
    called: str
    job: str
    went_to: str
    reason: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Paper:
    """A certificate that was laid beside a lot. `speaks_of_it`: the lot's code is printed there; sha256: checksum of its file."""

    certificate: int
    number: str
    dated_on: date
    filename: str
    sha256: str
    speaks_of_it: bool


@dataclass(frozen=True, slots=True)
class LotPaper:
    """A lot or a serial that the job fitted: from whom and when it came, and the certificates of its lot. `ages`: its part has a life."""

    part: str
    name: str
    lot: str
    serial: str
    supplier: str
    received_on: date | None
    cure_code: str
    made_on: date | None
    expires_on: date | None
    ages: bool
    certificates: tuple[Paper, ...]


@dataclass(frozen=True, slots=True)
class GaugeUsed:
    """A gauge that something was read with on the job, and the calibration that stood on the day of its last reading; None: none did."""

    number: str
    name: str
    kind: str
    read_on: date
    state: str
    calibrated_on: date | None
    next_due: date | None
    done_by: str
    certificate: str


@dataclass(frozen=True, slots=True)
class PhotoKept:
    """A photograph that was said to be kept somewhere. `kept` empty: none was taken."""

    of: str
    kept: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class TorqueQuoted:
    """How fasteners that the job fitted are tightened, in the words of the family's document; `source`: book, edition and page."""

    part: str
    name: str
    positions: tuple[str, ...]
    quoted: str
    source: str


@dataclass(frozen=True, slots=True)
class Signature:
    """Who signed for what, and when; empty and None where it is not on record."""

    what: str
    who: str
    at: datetime | None
    on: date | None = None


def claim_pack(claim: OwnerClaim, today: date) -> dict[str, Any]:
    """The pack, JSON-ready but for dataclasses, with its contents and what is missing. As many queries for three positions as for two hundred.

    today  for what is late of the work after the first run
    """
    with snapshot():
        row = rendered_claims([claim])[0]
        told = asdict(row) | {"repeated": row.repeated} | claim_record(claim)
        job, sheet = claim.job, build_sheet(claim.job, today)
        out = (
            EngineHandover.objects.filter(job=job, act__corrected_by__isnull=True).select_related("act__actor").first()
        )
        pack = {
            "claim": told,
            "job": _job_card(job, out),
            "build_sheet": sheet,
            "removed_since": _removed_since(job, sheet["positions"]),
            "gauges": _gauges(sheet["readings"]),
            "lots": _lots(sheet["positions"]),
            "photos": _photos(claim, told, sheet),
            "torques": _torques(job, sheet["positions"]),
        }
        pack["signatures"] = _signatures(pack)
    on_paper = sheets_of(pack)
    return {
        "made_on": today,
        "contents": contents_of(on_paper),
        "missing": gaps_of(on_paper[:-1]),
        **pack,
    }


def sheets_of(pack: Mapping[str, Any]) -> tuple[Section, ...]:
    """The sections of a pack as they are printed, the list of what is missing last. No query."""
    found = sections(_of_the_shop(pack))
    return (*found, missing_section(gaps_of(found)))


def _of_the_shop(value: Any) -> Any:
    """Plain values, the moments in them as the shop's clocks show them."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _of_the_shop(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {name: _of_the_shop(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_of_the_shop(one) for one in value]
    return shop_time(value) if isinstance(value, datetime) else value


def _job_card(job: Job, out: EngineHandover | None) -> dict[str, Any]:
    row = Job.objects.select_related(
        "booked_by__actor", "site", "cart", "bench", "engine__family", "family_revision"
    ).get(pk=job.pk)
    return {
        **full_record(row),
        "booked_at": row.booked_by.occurred_at,
        "booked_by": row.booked_by.actor.username,
        "family_revision": row.family_revision.revision,
        "handed_over": None
        if out is None
        else {
            "on": out.handed_over_on,
            "by": out.act.actor.username,
            "used_in": out.used_in,
            "new_term": out.new_term,
        },
    }


def _removed_since(job: Job, positions: Rows) -> tuple[RemovedSince, ...]:
    """What the job fitted and left its position later, oldest first, by the movements of the books. Four queries."""
    fitted = {(row["position"], row["item"]): row for row in positions}
    _, left, acts = history(job.engine)
    gone = [
        row
        for row in counting(left, acts)
        if (row.position, row.item) in fitted and acts[row.act].occurred >= fitted[row.position, row.item]["fitted_at"]
    ]
    why = {
        (act, item, spot): ", ".join(word for word in (reason or said, looked) if word)
        for act, item, spot, reason, said, looked in Removal.objects.filter(
            act__in={row.act for row in gone}
        ).values_list("act", "item", "spot", "reason", "act__reason", "looked")
    }
    found = []
    for row in sorted(gone, key=lambda row: (acts[row.act].occurred, row.pk)):
        act, was = acts[row.act], fitted[row.position, row.item]
        found.append(
            RemovedSince(
                position=row.position,
                item=row.item,
                part=was["part"],
                called=was["serial"] or was["lot"],
                job=act.subject,
                went_to=said_to(PlaceKind(row.from_kind)) or row.from_kind,
                reason=why.get((row.act, row.item, row.spot), act.kind),
                by=act.by,
                at=act.occurred,
            )
        )
    return tuple(found)


def _gauges(readings: Sequence[ReadingRow]) -> tuple[GaugeUsed, ...]:
    """Gauges that the readings name, by number. Two queries, none without a reading."""
    last: dict[str, ReadingRow] = {}
    for row in readings:
        if row.gauge not in last or row.at >= last[row.gauge].at:
            last[row.gauge] = row
    known = gauges_by_number(last) if last else {}
    found = []
    for number, reading in sorted(last.items()):
        gauge, day = known[number], shop_day(reading.at)
        done = [one for one in gauge.calibrations.all() if one.done_on <= day]
        newest = max(done, key=lambda one: (one.done_on, one.pk), default=None)
        found.append(
            GaugeUsed(
                number=number,
                name=gauge.name,
                kind=gauge.kind,
                read_on=day,
                state=standing_on(gauge, day).state,
                calibrated_on=newest.done_on if newest else None,
                next_due=newest.next_due if newest else None,
                done_by=newest.done_by if newest else "",
                certificate=newest.certificate if newest else "",
            )
        )
    return tuple(found)


def _lots(positions: Rows) -> tuple[LotPaper, ...]:
    """Lots and serials that were fitted, by part. Three queries."""
    items = list(
        Item.objects.filter(pk__in={row["item"] for row in positions})
        .select_related("part", "lot__supplier", "serial")
        .order_by("part__number", "pk")
    )
    came = {
        row.item_id: row
        for row in ReceiptLine.objects.filter(
            item__in=[one.pk for one in items], receipt__act__corrected_by__isnull=True
        )
        .select_related("receipt__act", "receipt__supplier")
        .order_by("-pk")
    }
    papers = _papers({one.lot_id for one in items if one.lot_id is not None})
    found: dict[tuple[str, str, str], LotPaper] = {}
    for one in items:
        lot, serial = one.lot, one.serial.number if one.serial else ""
        if lot is None and not serial:
            continue
        line = came.get(one.pk)
        received = lot.received_on if lot is not None else None
        supplier = lot.supplier.code if lot is not None and lot.supplier else ""
        row = LotPaper(
            part=one.part.number,
            name=one.part.name,
            lot=lot.code if lot else "",
            serial=serial,
            supplier=supplier or (line.receipt.supplier.code if line else ""),
            received_on=received or (shop_day(line.receipt.act.occurred_at) if line else None),
            cure_code=lot.cure_code if lot else "",
            made_on=lot.made_on if lot else None,
            expires_on=lot.expires_on if lot else None,
            ages=bool(lot and (one.part.life or lot.expires_on)),
            certificates=tuple(_paper(link, lot) for link in papers[lot.pk]) if lot else (),
        )
        found[row.part, row.lot, row.serial] = row
    return tuple(found.values())


def _papers(lots: set[int]) -> dict[int, list[CertificateLot]]:
    """Lot → the links of its certificates that were not taken back. One query; the bytes of the files stay where they are."""
    rows = CertificateLot.objects.filter(
        lot__in=lots, act__corrected_by__isnull=True, certificate__act__corrected_by__isnull=True
    )
    found: dict[int, list[CertificateLot]] = defaultdict(list)
    for row in rows.select_related("certificate").order_by("pk"):
        found[row.lot_id].append(row)
    return found


def _paper(link: CertificateLot, lot: Lot) -> Paper:
    one = link.certificate
    return Paper(one.pk, one.number, one.dated_on, one.filename, one.file_id, speaks_of(one.lots, lot.code))


def _photos(claim: OwnerClaim, told: Mapping[str, Any], sheet: Mapping[str, Any]) -> tuple[PhotoKept, ...]:
    """Photographs of the claim, of its things and meters, and of what was looked at on the job. No query."""
    found = [PhotoKept("the claim", kept, told["by"], told["at"]) for kept in told["photos"]]
    found += [
        PhotoKept(f"{one['position']}, as claimed", one["photo"], one["by"], one["at"])
        for one in told["things"]
        if not one["withdrawn"]
    ]
    found += [
        PhotoKept(f"meter of {one['meter']}, {one['on']}", one["photo"], one["by"], claim.act.occurred_at)
        for one in told["readings"]
        if not one["withdrawn"]
    ]
    found += [
        PhotoKept(f"{one['position']}: {one['what']}", one["photo_ref"], one["by"], one["at"])
        for one in sheet["photo_checks"]
    ]
    return tuple(found)


def _torques(job: Job, positions: Rows) -> tuple[TorqueQuoted, ...]:
    """Fasteners that the job fitted, each with what the family's document quotes for it there. One query."""
    facts = family_of(job.family_revision).facts
    kinds = set(
        Part.objects.filter(kind="fastener", number__in={row["part"] for row in positions}).values_list(
            "number", flat=True
        )
    )
    fitted: dict[tuple[str, str], list[str]] = defaultdict(list)
    for row in positions:
        if row["part"] in kinds:
            fitted[row["part"], row["name"]].append(row["position"])
    found = []
    if facts.clamping is not None:
        name = f"{facts.clamping.bolts} bolts that hold a liner down for gauging"
        found.append(TorqueQuoted("", name, (), facts.clamping.torque, facts.clamping.source))
    for (part, name), places in fitted.items():
        quoted: dict[str, list[str]] = defaultdict(list)
        for place in places:
            words = [one.tightening for one in facts.bolts if one.part == part and place in one.positions]
            quoted[words[0] if words else ""].append(place)
        found += [TorqueQuoted(part, name, tuple(at), words, "") for words, at in quoted.items()]
    return tuple(found)


def _signatures(pack: Mapping[str, Any]) -> tuple[Signature, ...]:
    """Who fitted, checked, tested, released, closed, handed over and answered. No query."""
    sheet, card, told = pack["build_sheet"], pack["job"], pack["claim"]
    end, out, run = card["end"], card["handed_over"], sheet["first_run"]
    rows = sheet["positions"]
    found = []
    for word, key in (("fitted", "fitter"), ("checked", "checker")):
        by: dict[str, list[Mapping[str, Any]]] = defaultdict(list)
        for row in rows:
            by[row[key]].append(row)
        for who, theirs in sorted(by.items()):
            last = max(row["fitted_at"] for row in theirs) if who else None
            found.append(Signature(f"{word}: {len(theirs)} of {len(rows)} positions", who, last))
        if not rows:
            found.append(Signature(word, "", None))
    found += [
        Signature("first run", run["by"] if run else "", None, run["run_on"] if run else None),
        Signature(
            "released after the first run", run["released_by"] if run else "", None, run["run_on"] if run else None
        ),
        Signature("job closed", end["by"] if end else "", end["at"] if end else None),
        Signature("close checked", end["checker"] if end else "", end["at"] if end else None),
        Signature("handed over to the customer", out["by"] if out else "", None, out["on"] if out else None),
        Signature("claim entered", told["by"], told["at"]),
    ]
    for word, key in (("cause stated", "causes"), ("owner answered", "answers")):
        standing = next((one for one in told[key] if one["stands"]), None)
        found.append(Signature(word, standing["by"] if standing else "", standing["at"] if standing else None))
    return tuple(found)
