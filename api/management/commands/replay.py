"""`manage.py replay --on DAY`: stock on a past day by replaying every movement, held against the balances rolled back to that day."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.queries.replay import replay_until


class Command(BaseCommand):
    """Exit code 0 when both ways agree and nothing ever stood below nothing; 1 when not; 2 for a day that is none."""

    help = "Replay every movement up to the end of a day and compare with the balances; exit 1 if they differ."

    def add_arguments(self, parser: CommandParser) -> None:
        """Which day, and whether its stock is listed."""
        parser.add_argument("--on", required=True, metavar="DAY", help="the day, as 2025-01-31")
        parser.add_argument("--list", action="store_true", help="list what stood where")

    def handle(self, *args: Any, **options: Any) -> None:
        """Replay, list, and name every difference."""
        try:
            day = date.fromisoformat(options["on"])
        except ValueError:
            raise CommandError(f'"{options["on"]}" is not a day as 2025-01-31', returncode=2) from None
        found = replay_until(day)
        for one in found.standing if options["list"] else ():
            self.stdout.write(f"{one.place} {one.spot}: {one.amount} of {one.part} {one.identity}")
        for fault in found.faults:
            self.stdout.write(fault)
        if found.faults:
            raise CommandError(f"the replay differs: {len(found.faults)} findings", returncode=1)
        self.stdout.write(
            f"{found.movements} movements up to {day} give the stock of that day: {len(found.standing)} rows"
        )
