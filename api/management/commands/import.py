"""`manage.py import FILE --kind KIND --as LOGIN`: a table from a file to the books, of any length, with progress."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from uuid import uuid4

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from api.rest.permissions import may
from api.tables.kinds import KINDS
from api.tables.read import read_table
from inventory.domain.errors import DomainError
from inventory.domain.import_cells import DayOrder
from inventory.domain.import_rows import Verdict
from inventory.models import Person
from inventory.queries import imports as read
from inventory.services.bring_in import book_table, keep_table, read_table_rows
from inventory.services.run import Stamp


class Command(BaseCommand):
    """Reads and judges; books only with --book. Exit 1 while rows are questioned or refused, 2 for a file that is none."""

    help = "Bring in a table (CSV or XLSX): every row is accepted, questioned or refused; with --book, what is accepted is booked."

    def add_arguments(self, parser: CommandParser) -> None:
        """What, by whom, how far."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--kind", required=True, choices=sorted(KINDS))
        parser.add_argument("--as", dest="login", required=True, help="login of the person in whose name it is done")
        parser.add_argument("--days", default="", choices=["", *(order.value for order in DayOrder)])
        parser.add_argument("--book", action="store_true", help="book what is accepted")
        parser.add_argument(
            "--without-questioned", action="store_true", help="book also while rows are questioned, without those"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Keep, read in steps, report, book."""
        person = Person.objects.filter(username=options["login"], is_active=True).first()
        if person is None:
            raise CommandError(f"nobody who is active has the login {options['login']}", returncode=2)
        if not person.has_perm(may("import")):
            raise CommandError(f"{options['login']} may not bring in tables", returncode=2)
        try:
            number = self._read(person, options)
            bad = self._report(number)
            if options["book"]:
                done = book_table(
                    actor=person, stamp=_stamp(), file_id=number, without_questioned=options["without_questioned"]
                )
                self.stdout.write(
                    f"booked: {', '.join(f'{count} {what}' for what, count in done.body['booked'].items())}"
                )
        except DomainError as error:
            ways = "".join(f"\n  {way}" for way in error.ways_out)
            raise CommandError(f"{error.message} ({error.code}){ways}", returncode=2) from error
        except OSError as error:
            raise CommandError(str(error), returncode=2) from error
        if bad:
            raise CommandError(f"{bad} rows are questioned or refused", returncode=1)

    def _read(self, person: Person, options: dict[str, Any]) -> int:
        content = options["file"].read_bytes()
        kept = keep_table(
            actor=person,
            stamp=_stamp(),
            kind=options["kind"],
            name=options["file"].name,
            content=content,
            reader=read_table,
            day_order=options["days"],
        ).body
        self.stdout.write(f"import {kept['import']}: {kept['rows']} rows, {kept['read_as']}")
        for heading in kept["unknown_headings"]:
            self.stdout.write(f"not used: column {heading!r}")
        number, done, table = int(kept["import"]), 0, read_table(content, options["file"].name)
        while done < kept["rows"]:
            done = read_table_rows(actor=person, stamp=_stamp(), file_id=number, rows=table.rows).body["read"]
            self.stdout.write(f"{done} of {kept['rows']} rows read")
        return number

    def _report(self, number: int) -> int:
        found = read.summary(read.import_file(number))
        self.stdout.write(
            f"{found['rows']} rows = {found['accepted']} accepted ({found['known']} on record already)"
            f" + {found['questioned']} questioned + {found['refused']} refused"
        )
        for verdict in (Verdict.QUESTIONED, Verdict.REFUSED):
            for row in read.rows_of(number, verdict.value):
                for one in row["questions"]:
                    self.stdout.write(f"row {row['row']}: {one['words']} [{one['code']}]")
                for one in row["refusals"]:
                    self.stdout.write(f"row {row['row']} refused: {one['message']} [{one['code']}]")
        return int(found["questioned"] + found["refused"])


def _stamp() -> Stamp:
    now = timezone.now()
    return Stamp(uuid4(), now, now)
