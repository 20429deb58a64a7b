"""`manage.py measure TOPIC`: how long the program takes beside a twin that does the same another way.

The topics `books` and `money` are measured beside hand-written SQL on a synthetic shop of a chosen size, the topic `layout` beside a general
solver on made-up engines; `import` brings in long tables beside limits of time, memory and how long others wait.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from api.measure.books import measure
from api.measure.imports import measure_imports
from api.measure.layout import measure_layouts
from api.measure.layout_by_solver import NoSolver
from api.measure.money import measure_money
from api.measure.table import OtherAnswer, Sample, growth, growth_lines, sample_lines
from api.tables.read import MOST_ROWS


class Command(BaseCommand):
    """Exit code 0 when every limit is kept, 1 when one is not, 2 when an act and its twin gave different answers, or when what
    the twin needs is not installed."""

    help = "Measure the program, never on the shop's database, beside twins; exit 1 where a limit is not kept."

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

        money = topics.add_parser("money", help="what stock is worth and what jobs cost, both ways of valuation")
        money.add_argument(
            "--jobs", type=int, action="append", metavar="N", help="closed jobs in the shop; twice or more: also growth"
        )
        money.add_argument("--pairs", type=int, default=3, metavar="N", help="timed pairs of each read (3)")

        layout = topics.add_parser("layout", help="which set goes to which bore, beside OR-tools' CP-SAT")
        layout.add_argument(
            "--instances",
            type=int,
            default=300,
            metavar="N",
            help="engines in all (300: a quarter of an hour, nearly all of it the solver's)",
        )

        tables = topics.add_parser("import", help="long tables of parts and of stock, from the file to the books")
        tables.add_argument("--rows", type=int, default=100_000, metavar="N", help="rows of each table")

    def handle(self, *args: Any, **options: Any) -> None:
        """Measure, print, and say by the exit code whether every limit was kept."""
        topic = {"layout": self._layout, "books": self._books, "money": self._money, "import": self._imports}[
            options["topic"]
        ]
        short = topic(**options)
        self.stdout.write("")
        if short:
            raise CommandError("short: " + ", ".join(short), returncode=1)
        self.stdout.write("every limit is kept")

    def _say(self) -> Callable[[str], None]:
        """Progress, with the seconds since now."""
        began = time.monotonic()

        def progress(text: str) -> None:
            self.stdout.write(f"[{time.monotonic() - began:5.1f} s] {text}")
            self.stdout.flush()

        return progress

    def _layout(self, **options: Any) -> list[str]:
        """What is short of its limit."""
        if options["instances"] < 1:
            raise CommandError("at least one engine is measured")
        try:
            samples = measure_layouts(options["instances"], self._say())
        except (OtherAnswer, NoSolver) as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(f"\nlayout, {sum(len(sample.taken_ns) for sample in samples)} engines")
        self.stdout.write("\n".join(sample_lines(samples, twin="CP-SAT's", instances=True)))
        return [sample.act for sample in samples if not sample.ok]

    def _imports(self, **options: Any) -> list[str]:
        """What is short of its limit."""
        if not 1 <= options["rows"] <= MOST_ROWS:
            raise CommandError(f"from 1 to {MOST_ROWS} rows are measured")
        try:
            measured = measure_imports(options["rows"], self._say())
        except OtherAnswer as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write("\nimport\n" + "\n".join(map(str, measured)))
        return [f"{what} of {one.kind}" for one in measured for what in one.short]

    def _books(self, **options: Any) -> list[str]:
        """What is short of its limit."""
        sizes = sorted(set(options["jobs"] or [1000]))
        if sizes[0] < 12 or not 0 <= options["pairs"] <= 30:
            raise CommandError("a shop has at least 12 jobs, and at most 30 pairs are measured")
        pairs = options["pairs"] or (20 if sizes[-1] >= 500 else 5)
        try:
            measured = measure(sizes, pairs, self._say())
        except OtherAnswer as error:
            raise CommandError(str(error), returncode=2) from error
        return self._sized("books", sizes, measured)

    def _money(self, **options: Any) -> list[str]:
        """What is short of its limit."""
        sizes = sorted(set(options["jobs"] or [1000]))
        if sizes[0] < 12 or not 1 <= options["pairs"] <= 30:
            raise CommandError("a shop has at least 12 jobs, and from 1 to 30 pairs are measured")
        try:
            measured = measure_money(sizes, options["pairs"], self._say())
        except OtherAnswer as error:
            raise CommandError(str(error), returncode=2) from error
        return self._sized("money", sizes, measured)

    def _sized(self, topic: str, sizes: Sequence[int], measured: Sequence[Sequence[Sample]]) -> list[str]:
        """The tables of each size, and of growth from one to the next; what is short of its limit."""
        short = []
        for size, samples in zip(sizes, measured, strict=True):
            self.stdout.write(f"\n{topic} at {size} jobs")
            self.stdout.write("\n".join(sample_lines(samples)))
            short += [f"{sample.act} at {size} jobs" for sample in samples if not sample.ok]
        for (small, before), (large, after) in pairwise(zip(sizes, measured, strict=True)):
            rows = growth(before, after)
            self.stdout.write(f"\ngrowth from {small} to {large} jobs")
            self.stdout.write("\n".join(growth_lines(rows, small, large)))
            short += [f"{row.act} from {small} to {large} jobs" for row in rows if not row.ok]
        return short
