"""`manage.py audit`: recompute everything that is cached or promised from the rows, and name every difference."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inventory.queries.audit import audit, size


class Command(BaseCommand):
    """Exit code 0 when the books are right, 1 when they are not; one finding a line."""

    help = "Recompute the books from their rows and name every difference; exit 1 if there is one."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the findings."""
        findings = audit()
        for finding in findings:
            self.stdout.write(str(finding))
        if findings:
            raise CommandError(f"the books are wrong: {len(findings)} findings", returncode=1)
        acts, movements = size()
        self.stdout.write(f"the books are right: {acts} acts, {movements} movements")
