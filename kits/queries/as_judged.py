"""How a liner that was fitted stands: turned, on which shim and base ring."""

from __future__ import annotations

from inventory.models import Balance
from kits.domain.as_judged import AsJudged, sizes_under
from kits.domain.families import Family
from kits.domain.standing_verdicts import SET_KIND
from kits.models import Fitting, Job
from kits.queries.at_positions import outs_of
from kits.queries.job_list import sits_in
from kits.queries.served import promises_of


def stands_otherwise(job: Job, family: Family, position: str, serial: str, judged: AsJudged) -> tuple[str, ...]:
    """How the liner that went in there on this job stands otherwise than it is judged, for a person; () where nothing is on record, or
    another set was judged. One query where no set was fitted there; seven at most.

    serial  of the set that is judged; empty: what was read by its bore, of which nobody can say how far it was turned since
    """
    cylinder = position.partition("/")[0]
    rows = Fitting.objects.filter(
        job=job, spot__name__startswith=f"{cylinder}/", item__part__kind=SET_KIND, act__corrected_by__isnull=True,
        correction__isnull=True,
    )  # fmt: skip
    row = rows.select_related("item__serial").order_by("-pk").first()
    if row is None or not Balance.objects.filter(item=row.item_id, spot=row.spot_id, amount__gt=0).exists():
        return ()
    its = row.item.serial.number if row.item.serial is not None else ""
    if serial not in ("", its):
        return ()
    turned = _turned(job, row) if serial else None
    promises = [one for one in promises_of(job) if not one.on_approval]
    sizes = sizes_under(family.facts, {(one.wanted, one.hold.item.part.number) for one in promises})
    there = sits_in(job).items()
    under = [
        {known[part] for at, part in there if part in known and _holder(family, at) == cylinder} for known in sizes
    ]
    return judged.unlike(turned, *under, old=row.reused)


def _holder(family: Family, position: str) -> str:
    return family.map.position(position).holder if family.map.is_position(position) else ""


def _turned(job: Job, row: Fitting) -> int | None:
    if not row.reused:
        return row.clock_deg or 0
    outs = outs_of(job, [row.item_id]).get(row.item_id, ())
    stood = outs[-1].clock_deg if outs else None
    return None if stood is None or row.clock_deg is None else (row.clock_deg - stood) % 360
