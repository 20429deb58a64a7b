"""`manage.py restore FILE`: a backup in place of what the database holds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from api.backup.restore import Damaged, NewerShop, restore


class Command(BaseCommand):
    """Exit code 0 when the shop is restored and its books are right; 1 when nothing was changed, because the file is damaged, or
    because acts would be lost."""

    help = "Put a backup in place of what the database holds, all or nothing; the books are audited before it counts."

    def add_arguments(self, parser: CommandParser) -> None:
        """From where, and whether newer acts may be lost."""
        parser.add_argument("file", type=Path, help="a file that `backup` wrote")
        parser.add_argument(
            "--overwrite",
            action="store_true",
            help="also if the database has acts that the backup does not have: they are lost",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Restore, and say what was."""
        path: Path = options["file"]
        try:
            about = restore(path, self.stdout.write, overwrite=options["overwrite"])
        except NewerShop as error:
            raise CommandError(
                f"Nothing was changed: {error}. Make a backup of them first; --overwrite loses them.", returncode=1
            ) from error
        except Damaged as error:
            raise CommandError(f"Nothing was changed: {error}.", returncode=1) from error
        except OSError as error:
            raise CommandError(f"Nothing was changed: {path} cannot be read: {error.strerror}", returncode=1) from error
        self.stdout.write(f"restored as of {about['made_at']}: {about['acts']} acts; the books are right")
