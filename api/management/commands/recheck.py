"""`manage.py recheck --as LOGIN`: the open holds of every open job checked against its day of fitting, every night."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from api.rest.permissions import may
from inventory.domain.errors import DomainError
from inventory.models import Person
from inventory.queries.days import shop_day
from inventory.services.run import Stamp
from kits.queries.jobs import open_numbers
from kits.services.dates import recheck_job

#: The key of a check is made of its job, its day and its person, in this space: a second run on one day asks for the same acts.
_SPACE = UUID("5f3d7d4e-3f0a-4e0b-9a3e-6c1f0a6b7d28")


class Command(BaseCommand):
    """Exit code 0 when every hold is good and nothing picked is too old; 1 when a hold ended, something picked may not be fitted,
    or a job could not be checked."""

    help = "Check the holds of every open job against its day of fitting, or today where that has passed; exit 1 if one ended."

    def add_arguments(self, parser: CommandParser) -> None:
        """Who."""
        parser.add_argument("--as", dest="login", required=True, help="login of the person in whose name it is checked")

    def handle(self, *args: Any, **options: Any) -> None:
        """Check job by job, in order of their days, one act each, and name what was found."""
        person, now = _person(options["login"]), timezone.now()
        jobs = open_numbers()
        bad = 0
        for job in jobs:
            found = list(_found(person, now, job))
            for sentence in found:
                self.stdout.write(f"{job}: {sentence}")
            bad += bool(found)
        if bad:
            raise CommandError(f"{bad} of {len(jobs)} open jobs need a person on {shop_day(now)}", returncode=1)
        self.stdout.write(f"the holds of {len(jobs)} open jobs are good on {shop_day(now)}")


def _person(login: str) -> Person:
    person = Person.objects.filter(username=login, is_active=True).first()
    if person is None:
        raise CommandError(f"nobody may log in as {login!r}", returncode=2)
    if not person.has_perm(may("hold")):
        raise CommandError(f"{login} may not hold for jobs, nor check holds", returncode=2)
    return person


def _found(person: Person, now: datetime, job: str) -> Iterator[str]:
    """What the check of one job found, a sentence for each thing; nothing where all is good."""
    key = uuid5(_SPACE, f"{shop_day(now)} {person.pk} {job}")
    try:
        body = recheck_job(actor=person, stamp=Stamp(key, now, now), job=job).body
    except DomainError as error:
        yield f"NOT CHECKED: {error.message} ({error.code})"
        return
    for one in body["replaced"]:
        yield f"REPLACED {one['amount']} of {one['part']}: lot {one['from_lot']} by {one['to_lot']}; {one['why']}"
    for one in body["shorts"]:
        yield f"SHORT of {one['amount']} of {one['part']}: {one['why']}"
    for one in body["too_old"]:
        why = "it is stopped" if one["stopped"] else f"usable through {one['use_by']}"
        yield f"NOT TO BE FITTED: {one['amount']} of {one['part']} {one['lot']} at {one['place']}; {why}"
