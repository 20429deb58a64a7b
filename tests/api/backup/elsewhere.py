"""A program of its own on an SQLite file: `python -m tests.api.backup.elsewhere lived-in FILE` makes a shop and backs it up there;
`… again FROM FILE` restores a backup and backs up what it then holds."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import django

AT = datetime(2025, 1, 15, 20, tzinfo=UTC)


def main(what: str, *paths: str) -> None:
    """Nothing is printed; the exit code is 0 if the backup is written and the books in it are right."""
    django.setup()
    from django.core.management import call_command
    from django.db import connection

    from api.backup.restore import restore
    from api.backup.write import write_backup

    assert connection.vendor == "sqlite"
    call_command("migrate", verbosity=0, interactive=False)
    if what == "lived-in":
        from tests.api.rest.rebuilds import rebuild, small_shop
        from tests.factories.orders import every_row

        small_shop()
        rebuild().at_bench()
        every_row()
    else:
        restore(Path(paths[0]), len)
    assert write_backup(Path(paths[-1]), AT, len)["findings"] == []


if __name__ == "__main__":
    main(*sys.argv[1:])
