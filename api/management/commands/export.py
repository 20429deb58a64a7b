"""`manage.py export FOLDER`: everything the shop owns, in open formats."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from api.tables.kinds import KINDS, table
from api.tables.write import FORMATS, json_lines
from inventory.queries.export import everything
from inventory.queries.snapshot import snapshot


class Command(BaseCommand):
    """Into a folder that is new or empty; all of it as of one moment, while the shop is served. Exit code 1 where it cannot be written."""

    help = "Export tables (CSV, XLSX or JSON lines) that `import` reads again, and every table of the program as JSON lines."

    def add_arguments(self, parser: CommandParser) -> None:
        """Where to, and as what."""
        parser.add_argument("folder", type=Path)
        parser.add_argument("--format", default="csv", choices=sorted(FORMATS))

    def handle(self, *args: Any, **options: Any) -> None:
        """Write, table by table, saying each."""
        folder: Path = options["folder"]
        _, write = FORMATS[options["format"]]
        try:
            if folder.exists() and any(folder.iterdir()):
                raise CommandError(f"{folder} is not empty; nothing was written", returncode=1)
            (folder / "everything").mkdir(parents=True, exist_ok=True)
            with snapshot():
                for kind in KINDS:
                    _written(folder / f"{kind}.{options['format']}", write(*table(kind)))
                    self.stdout.write(f"{kind}.{options['format']}")
                names = []
                for name, rows in everything():
                    names.append(name)
                    lines = (line for row in rows for line in json_lines(list(row), [list(row.values())]))
                    _written(folder / "everything" / f"{name}.jsonl", lines)
                self.stdout.write(f"everything/: {len(names)} tables")
        except OSError as error:
            raise CommandError(str(error), returncode=1) from error


def _written(path: Path, chunks: Iterable[bytes]) -> None:
    with path.open("wb") as file:
        file.writelines(chunks)
