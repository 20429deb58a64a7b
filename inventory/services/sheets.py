"""Product sheets of sealants: entered by revision from the sheet that came with the product, and signed as read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.product_sheets import check_sheet, density_of, read_entries
from inventory.models import Act, Person, SealantSheet, SheetReading
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run


def enter_sheet(
    *,
    actor: Person,
    stamp: Stamp,
    part: str,
    edition: str,
    cures_by: str,
    entries: Sequence[Mapping[str, str]] = (),
    density: str = "",
    open_days: int | None = None,
    sensor_safe: bool | None = None,
) -> Done:
    """Enter the product sheet of a sealant; it holds from now on, earlier ones stay on record.

    edition   which sheet, its edition and page
    entries  its table: {"temperature": "23 °C", "humidity": "50 %", "window": "10 min", "fill_after": "2 h", "run_after": "12 h"}
    density  "1.32 g/mL", "" where the sheet is silent
    sensor_safe  whether it harms no sensors, None where the sheet is silent
    Outcome: {"part", "revision", "cures_by", "edition", "density_mg_per_ml", "open_days", "entries",
    "sensor_safe", "warnings"}.
    Raises DomainError "not-found", "part-unusable" (no sealant), "sheet-unusable", "bay-unreadable", those of typed amounts.
    """
    rows = [dict(row) for row in entries]
    request = {
        "part": part, "edition": edition, "cures_by": cures_by, "entries": rows, "density": density, "open_days": open_days,
        "sensor_safe": sensor_safe,
    }  # fmt: skip

    def work(act: Act) -> Body:
        found = things.parts_by_number([part])[part]
        if found.kind != "sealant":
            raise DomainError("part-unusable", f"{part} is no sealant: it has no such sheet.", part=part)
        dense = density_of(density) if density else None
        check_sheet(cures_by, edition, dense, open_days)
        table = [asdict(entry) for entry in read_entries(rows)]
        locks.name("sheet", part)
        revision = SealantSheet.objects.filter(part=found).count() + 1
        SealantSheet.objects.create(
            part=found, revision=revision, act=act, edition=edition, cures_by=cures_by, density_mg_per_ml=dense,
            open_days=open_days, entries=table, sensor_safe=sensor_safe,
        )  # fmt: skip
        warnings = []
        if dense is not None and found.density_mg_per_ml and dense != found.density_mg_per_ml:
            warnings.append(
                f"the catalogue has {found.density_mg_per_ml} mg/mL: tubes are weighed by that until it is changed"
            )
        if not found.density_mg_per_ml:
            warnings.append(
                "the catalogue has no density of it: no tube can be weighed, and no gate opened, until it is entered there"
            )
        return {
            "part": part, "revision": revision, "edition": edition, "cures_by": cures_by, "density_mg_per_ml": dense,
            "open_days": open_days, "entries": table, "sensor_safe": sensor_safe, "warnings": warnings,
        }  # fmt: skip

    return run("enter product sheet", work, actor=actor, stamp=stamp, request=request, subject=part[:80])


def sign_sheet(*, actor: Person, stamp: Stamp, part: str) -> Done:
    """Sign that one has read the newest sheet of a part.

    Outcome: {"part", "revision", "person"}. Raises DomainError "not-found", "nothing-changed" (signed already).
    """

    def work(act: Act) -> Body:
        found = things.parts_by_number([part])[part]
        locks.name("sheet", part)
        sheet = SealantSheet.objects.filter(part=found).order_by("-revision").first()
        if sheet is None:
            raise DomainError("not-found", f"No product sheet of {part} is on record.", part=part)
        if SheetReading.objects.filter(sheet=sheet, person=actor).exists():
            raise DomainError("nothing-changed", f"{actor} signed sheet {sheet.revision} of {part} already.", part=part)
        SheetReading.objects.create(sheet=sheet, act=act, person=actor)
        return {"part": part, "revision": sheet.revision, "person": actor.username}

    return run("sign product sheet", work, actor=actor, stamp=stamp, request={"part": part}, subject=part[:80])
