"""Safety data sheets: where each is and when it was issued, by revision, and who signed that they read it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.safety_sheets import check_safety_sheet, missing
from inventory.models import Act, Person, SafetySheet, SafetySheetReading
from inventory.queries.days import shop_day
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run


def enter_safety_sheet(*, actor: Person, stamp: Stamp, part: str, link: str, issued_on: date) -> Done:
    """Enter the safety data sheet of a chemical. A newer one replaces it, and is read and signed anew.

    link   an address, or where it hangs
    Outcome: {"part", "revision", "link", "issued_on"}. Raises DomainError "not-found", "safety-sheet-unusable".
    """

    def work(act: Act) -> Body:
        found = things.parts_by_number([part])[part]
        locks.name("safety sheet", part)
        last = SafetySheet.objects.filter(part=found).order_by("-revision").first()
        check_safety_sheet(
            part, found.kind, link, issued_on, shop_day(act.occurred_at), last.issued_on if last is not None else None
        )
        revision = last.revision + 1 if last is not None else 1
        SafetySheet.objects.create(part=found, revision=revision, act=act, link=link, issued_on=issued_on)
        return {"part": part, "revision": revision, "link": link, "issued_on": issued_on.isoformat()}

    request = {"part": part, "link": link, "issued_on": issued_on}
    return run("enter safety sheet", work, actor=actor, stamp=stamp, request=request, subject=part[:80])


def sign_safety_sheets(*, actor: Person, stamp: Stamp, parts: Sequence[str]) -> Done:
    """Sign that one has read the newest safety data sheets of these parts; one that was signed before is left as it is.

    Outcome: {"person", "signed": [{"part", "revision"}], "before": parts signed already}. Raises DomainError "nothing-given",
    "not-found", "nothing-changed" (all signed already); ManyErrors "safety-sheet-missing".
    """
    wanted = list(dict.fromkeys(parts))

    def work(act: Act) -> Body:
        if not wanted:
            raise DomainError("nothing-given", "No sheet is named.")
        found = things.parts_by_number(wanted)
        for part in sorted(wanted):
            locks.name("safety sheet", part)
        rows = SafetySheet.objects.filter(part__in=found.values()).select_related("part").order_by("revision")
        newest = {row.part.number: row for row in rows}
        errors = tuple((number, missing(part)) for number, part in enumerate(wanted, 1) if part not in newest)
        if errors:
            raise ManyErrors(errors)
        mine = SafetySheetReading.objects.filter(person=actor, sheet__in=newest.values())
        before = set(mine.values_list("sheet_id", flat=True))
        signed = [newest[part] for part in wanted if newest[part].pk not in before]
        if not signed:
            raise DomainError("nothing-changed", f"{actor} signed all of them already.", parts=wanted)
        SafetySheetReading.objects.bulk_create(
            [SafetySheetReading(sheet=sheet, act=act, person=actor) for sheet in signed]
        )
        return {
            "person": actor.username,
            "signed": [{"part": sheet.part.number, "revision": sheet.revision} for sheet in signed],
            "before": [part for part in wanted if newest[part].pk in before],
        }

    return run("sign safety sheets", work, actor=actor, stamp=stamp, request={"parts": wanted})
