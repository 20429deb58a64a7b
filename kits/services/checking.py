"""Whether somebody may check at a site on a day. Private to services: an open transaction is there."""

from __future__ import annotations

from datetime import date

from inventory.domain.errors import DomainError
from inventory.models import Person, Site
from kits.domain.checkers import next_day, on_duty
from kits.queries.build import duties_at


def must_be_checker(site: Site, checker: Person, day: date) -> None:
    """DomainError "may-not-check" without the right; "not-on-duty" where the site names others for that day, with the next day."""
    if not checker.has_perm("kits.act_check"):
        raise DomainError("may-not-check", f"{checker} may not check.", person=str(checker))
    duties = duties_at(site.pk)
    if not duties or checker.pk in on_duty(duties, day):
        return
    then = next_day(duties, None, day)
    raise DomainError(
        "not-on-duty",
        f"{checker} does not check at {site.code} on {day}.",
        ways_out=(
            "Ask who checks or stands in that day.",
            f"The step waits, and the hand-over with it: somebody checks there on {then}."
            if then
            else "Name a checker for the site.",
        ),
        person=str(checker),
        site=site.code,
        day=day.isoformat(),
        next_day=then.isoformat() if then else None,
    )
