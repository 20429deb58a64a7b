"""`manage.py paper FOLDER`: every pick list of which something is still to be brought, as pages to print, for a day on which nothing runs."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.template import loader
from django.utils import timezone

from inventory.queries.days import shop_day
from inventory.queries.snapshot import snapshot
from kits.domain.sheet import sheet
from kits.queries.pick_lists import full_record, open_lists
from kits.queries.revisions import stops_of
from kits.queries.to_return import unasked_on

_ODD = re.compile(r"[^\w.-]")


class Command(BaseCommand):
    """Into a folder that is new or empty; all of it as of one moment, while the shop is served. Exit code 1 where it cannot be written."""

    help = "Write every open pick list as a page to print, a file each, named by site, job and number."

    def add_arguments(self, parser: CommandParser) -> None:
        """Where to."""
        parser.add_argument("folder", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        """Write, list by list, saying each."""
        folder: Path = options["folder"]
        today = shop_day(timezone.now())
        try:
            if folder.exists() and any(folder.iterdir()):
                raise CommandError(f"{folder} is not empty; nothing was written", returncode=1)
            folder.mkdir(parents=True, exist_ok=True)
            with snapshot():
                for row in open_lists():
                    record = full_record(row)
                    now = {"stopped_by_maker": stops_of(row.job), "unasked": unasked_on(row, today)}
                    page = loader.render_to_string("pick_list.html", {"page": sheet(record | now)})
                    name = _ODD.sub("_", f"{record['site']}-{record['job']}-{record['number']}") + ".html"
                    (folder / name).write_text(page, encoding="utf-8")
                    self.stdout.write(name)
        except OSError as error:
            raise CommandError(str(error), returncode=1) from error
