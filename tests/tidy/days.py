"""The house rule about days: which day a moment is of depends on where the shop stands, so one place answers it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

from tests.tidy.rules import Fault, Rule, Source, imports, in_code

PLACE = "inventory/queries/days.py"
#: Cells of table files have no zone: what a table program wrote as a day is that day everywhere.
CELLS = "api/tables/"
ZONED = {
    "ExtractDay",
    "TruncDate",
    "TruncDay",
    "get_current_timezone",
    "get_default_timezone",
    "localdate",
    "localtime",
    "make_aware",
    "make_naive",
}
LOOKUP = re.compile(r"__(date|day|month|year)(__|$)")


def check_days(source: Source) -> Iterator[Fault]:
    """No moment is cut to a day, and no day made a moment, by the way."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Attribute) and node.attr in ZONED:
            yield Fault(node.lineno, f"{node.attr} outside {PLACE}")
        if isinstance(node, ast.keyword) and node.arg and LOOKUP.search(node.arg):
            yield Fault(node.value.lineno, f"{node.arg} is a day by the database: compare with start_of or last_of")
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        if node.func.attr == "date" and not node.args and not node.keywords:
            yield Fault(node.lineno, ".date() is the day at Greenwich: shop_day")
        if node.func.attr == "combine":
            yield Fault(node.lineno, "a day becomes a moment by start_of or last_of")
    for line, _, name in imports(source):
        if name in ZONED:
            yield Fault(line, f"{name} outside {PLACE}")


DAYS = Rule(
    "a day is that of the shop",
    lambda path: in_code(path) and path != PLACE and not path.startswith(CELLS),
    check_days,
    good=(
        ("kits/services/a.py", "from inventory.queries.days import shop_day\nday = shop_day(act.occurred_at)"),
        ("inventory/domain/a.py", "from datetime import date\nx = date(2026, 3, 2).replace(day=1)"),
        ("inventory/queries/a.py", "Lot.objects.filter(expires_on__lte=on, act__occurred_at__lte=last_of(on))"),
        ("inventory/queries/days.py", "def shop_day(moment): return shop_time(moment).date()"),
        ("api/tables/a.py", "day = cell.date()"),
    ),
    bad=(
        ("kits/services/a.py", "def work(act): return act.occurred_at.date()"),
        ("api/rest/a.py", "from django.utils import timezone\ntoday = timezone.now().date()"),
        ("api/rest/a.py", "from django.utils import timezone\ntoday = timezone.localdate()"),
        ("kits/queries/a.py", "from django.utils.timezone import get_current_timezone"),
        ("inventory/queries/a.py", "Act.objects.filter(occurred_at__date__lte=on)"),
        ("inventory/queries/a.py", "Act.objects.filter(act__occurred_at__date=on)"),
        ("inventory/queries/a.py", "from django.db.models.functions import TruncDate"),
        ("kits/services/a.py", "from datetime import UTC, datetime, time\nx = datetime.combine(day, time(), UTC)"),
    ),
)

RULES = (DAYS,)
