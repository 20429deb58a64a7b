"""`manage.py measure TOPIC`: how long the program takes beside hand-written SQL, on a synthetic shop of a chosen size."""

from __future__ import annotations

import time
from itertools import pairwise
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from api.measure.books import OtherAnswer, measure
from api.measure.table import growth, growth_lines, sample_lines


class Command(BaseCommand):
    """Exit code 0 when every limit is kept, 1 when one is not, 2 when an act and its twin gave different answers."""

    help = "Measure the program on a database of its own, beside hand-written twins; exit 1 where a limit is not kept."

    def add_arguments(self, parser: CommandParser) -> None:
        """Every topic is a sub-command of this one; all print the same kind of table."""
        topics = parser.add_subparsers(dest="topic", required=True)
        books = topics.add_parser("books", help="acts and traces of the books, and the audit")
        books.add_argument(
            "--jobs", type=int, action="append", metavar="N", help="closed jobs in the shop; twice or more: also growth"
        )
        books.add_argument(
            "--pairs", type=int, default=0, metavar="N", help="timed pairs of each act (20; 5 under 500 jobs)"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Measure, print, and say by the exit code whether every limit was kept."""
        sizes = sorted(set(options["jobs"] or [1000]))
        if sizes[0] < 12 or not 0 <= options["pairs"] <= 30:
            raise CommandError("a shop has at least 12 jobs, and at most 30 pairs are measured")
        pairs = options["pairs"] or (20 if sizes[-1] >= 500 else 5)
        began = time.monotonic()

        def progress(text: str) -> None:
            self.stdout.write(f"[{time.monotonic() - began:5.1f} s] {text}")
            self.stdout.flush()

        try:
            measured = measure(sizes, pairs, progress)
        except OtherAnswer as error:
            raise CommandError(str(error), returncode=2) from error
        short = []
        for size, samples in zip(sizes, measured, strict=True):
            self.stdout.write(f"\nbooks at {size} jobs")
            self.stdout.write("\n".join(sample_lines(samples)))
            short += [f"{sample.act} at {size} jobs" for sample in samples if not sample.ok]
        for (small, before), (large, after) in pairwise(zip(sizes, measured, strict=True)):
            rows = growth(before, after)
            self.stdout.write(f"\ngrowth from {small} to {large} jobs")
            self.stdout.write("\n".join(growth_lines(rows, small, large)))
            short += [f"{row.act} from {small} to {large} jobs" for row in rows if not row.ok]
        self.stdout.write("")
        if short:
            raise CommandError("short: " + ", ".join(short), returncode=1)
        self.stdout.write("every limit is kept")
