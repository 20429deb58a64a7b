"""`manage.py backup FILE`: everything the shop owns in one file, while it goes on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from api.backup.write import write_backup


class Command(BaseCommand):
    """Exit code 0 when the file is written and the books in it are right, 1 when it is not written or they are not."""

    help = "Write everything the shop owns into one new file, while it is served; the books in it are audited."

    def add_arguments(self, parser: CommandParser) -> None:
        """Where to."""
        parser.add_argument("file", type=Path, help="a new file, best on another disk")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write, and say what is in it."""
        path: Path = options["file"]
        try:
            about = write_backup(path, timezone.now(), self.stdout.write)
        except FileExistsError as error:
            raise CommandError(f"{path} is there already; nothing was written", returncode=1) from error
        except OSError as error:
            raise CommandError(f"{path} cannot be written: {error.strerror}", returncode=1) from error
        for finding in about["findings"]:
            self.stdout.write(finding)
        if about["findings"]:
            raise CommandError(f"{path} is written, but the books are wrong: see `audit`", returncode=1)
        self.stdout.write(
            f"{path}: {about['acts']} acts, the newest of {about['newest_act']}; the books in it are right"
        )
        self.stdout.write("It holds logins and owners' data: keep it where only the owner can read it.")
