"""The house rules about layers that the import contracts cannot say: who may know the time, write, open a transaction,
lock."""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from functools import cache

from tests.tidy.rules import (
    Fault,
    Rule,
    Source,
    dotted,
    imports,
    in_code,
    in_layer,
    last_two,
    sources,
    texts,
)

#: Parts of the standard library that look at the machine, the clock or chance.
IMPURE = {
    "asyncio",
    "http",
    "multiprocessing",
    "os",
    "secrets",
    "shutil",
    "socket",
    "sqlite3",
    "subprocess",
    "tempfile",
    "threading",
    "time",
}  # fmt: skip - one line of names reads better than twelve
MATHS = {"numpy", "scipy"}
#: The one module that may use a library of units, to convert by exact fractions.
UNITS = ("inventory/domain/units.py", "pint")
CLOCK = {
    ("timezone", "now"),
    ("timezone", "localtime"),
    ("timezone", "localdate"),
    ("datetime", "now"),
    ("datetime", "utcnow"),
    ("datetime", "today"),
    ("date", "today"),
    ("time", "time"),
    ("functions", "Now"),
}  # fmt: skip - pairs read better side by side
_WRITES = ("save", "create", "update", "delete", "bulk_create", "bulk_update", "get_or_create", "update_or_create")
WRITES = {*_WRITES, *(f"a{name}" for name in _WRITES), "create_user", "create_superuser", "_raw_delete"}
WRITING_SQL = re.compile(r"\s*(INSERT INTO|UPDATE|DELETE FROM|REPLACE INTO|MERGE INTO|TRUNCATE|COPY)\s")
TRANSACTION_SQL = re.compile(r"\s*(BEGIN|COMMIT|ROLLBACK|SAVEPOINT|RELEASE|START TRANSACTION|SET TRANSACTION)\b")
OPENING = {
    "atomic",
    "set_autocommit",
    "set_rollback",
    "savepoint",
    "savepoint_commit",
    "savepoint_rollback",
    "clean_savepoints",
}
LOCKING_SQL = re.compile(r"FOR (NO KEY )?UPDATE|FOR (KEY )?SHARE|pg_(try_)?advisory|LOCK TABLE")
PRIVATE_MARK = "Private to services"
#: Builds a synthetic shop by bulk loading, and writes by hand-written SQL what the services write, to compare the two; no
#: command that runs a shop uses it.
MEASURING = "api/measure/"
#: Makes every table anew and fills it from a backup, all or nothing: below the services, for it is no act of the shop.
RESTORING = "api/backup/"


def check_pure(source: Source) -> Iterator[Fault]:
    """Domain code knows values only: standard library, maths, and the domain of its own or a lower package."""
    package = source.path.split("/")[0]
    own = {f"{name}.domain" for name in ("inventory", package)}
    for line, module, name in imports(source):
        root = module.split(".")[0]
        if any(module == one or module.startswith(one + ".") or f"{module}.{name}" == one for one in own):
            continue
        if (source.path, root) == UNITS:
            continue
        if root in IMPURE or module == "urllib.request" or (root not in sys.stdlib_module_names and root not in MATHS):
            yield Fault(line, f"domain code may not import {module}")
        if root == "random" and name not in {"", "Random"}:
            yield Fault(line, "chance comes in as random.Random(seed)")
        if root == "uuid" and name in {"uuid1", "uuid4"}:
            yield Fault(line, "identifiers come in from outside")
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Attribute) and dotted(node).startswith("random.") and dotted(node) != "random.Random":
            yield Fault(node.lineno, "chance comes in as random.Random(seed)")
        if isinstance(node, ast.Attribute) and last_two(node) in {("uuid", "uuid1"), ("uuid", "uuid4")}:
            yield Fault(node.lineno, "identifiers come in from outside")
        if isinstance(node, ast.Call) and dotted(node.func) in {"random.Random", "Random"} and not node.args:
            yield Fault(node.lineno, "random.Random needs its seed")


PURE = Rule(
    "domain code is pure",
    lambda path: in_layer(path, "domain"),
    check_pure,
    good=(
        (
            "inventory/domain/a.py",
            "import random\nfrom fractions import Fraction\ndef f(seed): return random.Random(seed)",
        ),
        (
            "kits/domain/a.py",
            "import numpy as np\nfrom inventory.domain import errors\nfrom .bores import A\nimport kits.domain.bores",
        ),
    ),
    bad=(
        ("inventory/domain/a.py", "from django.db import models"),
        ("inventory/domain/a.py", "from kits.domain import bores"),
        ("kits/domain/a.py", "from inventory.models import Part"),
        ("kits/domain/a.py", "import inventory.services.run"),
        ("kits/domain/a.py", "from ..models import Job"),
        ("inventory/domain/a.py", "import time"),
        ("inventory/domain/a.py", "import random\nx = random.random()"),
        ("inventory/domain/a.py", "from random import shuffle"),
        ("inventory/domain/a.py", "import random\nx = random.Random()"),
        ("inventory/domain/a.py", "import uuid\nx = uuid.uuid4()"),
        ("inventory/domain/a.py", "import rest_framework"),
        ("inventory/domain/a.py", "import pint"),
    ),
)


def check_clock(source: Source) -> Iterator[Fault]:
    """Time enters at the edge and is handed in."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Attribute) and last_two(node) in CLOCK:
            yield Fault(node.lineno, f"{dotted(node)} reads the clock")
        if isinstance(node, ast.keyword) and node.arg in {"auto_now", "auto_now_add"}:
            yield Fault(node.value.lineno, f"{node.arg} reads the clock")
    for line, module, name in imports(source):
        if (module.split(".")[-1], name) in CLOCK:
            yield Fault(line, f"{module}.{name} reads the clock")


CLOCKLESS = Rule(
    "no clock in domain, models, queries and services",
    lambda path: in_layer(path, "domain", "models", "queries", "services", "locks"),
    check_clock,
    good=(
        ("inventory/services/a.py", "from datetime import datetime\ndef f(*, actor, now: datetime): return now"),
        ("kits/domain/a.py", "from datetime import date\nx = date(2026, 3, 2)"),
    ),
    bad=(
        ("inventory/services/a.py", "from django.utils import timezone\nx = timezone.now()"),
        ("inventory/models/a.py", "import django.utils.timezone\nx = dict(default=django.utils.timezone.now)"),
        ("kits/services/a.py", "from django.utils.timezone import now"),
        ("kits/domain/a.py", "from datetime import date\nx = date.today()"),
        ("kits/domain/a.py", "import datetime as dt\nx = dt.datetime.now()"),
        ("inventory/queries/a.py", "from time import time"),
        ("inventory/models/a.py", "from django.db import models\nx = models.DateTimeField(auto_now_add=True)"),
        ("inventory/queries/a.py", "from django.db.models.functions import Now"),
    ),
)


def check_writes(source: Source) -> Iterator[Fault]:
    """Only services write; `locks.py` makes the rows that it locks."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in WRITES:
            yield Fault(node.lineno, f".{node.func.attr}( outside services (a dict is joined with |=)")
    for line, text in texts(source.tree):
        if WRITING_SQL.match(text):
            yield Fault(line, "writing SQL outside services")


ONLY_SERVICES_WRITE = Rule(
    "only services write",
    lambda path: (
        in_code(path)
        and not in_layer(path, "services", "domain")
        and path != "inventory/locks.py"
        and not path.startswith((MEASURING, RESTORING))
    ),
    check_writes,
    good=(
        ("api/rest/views/a.py", "def post(request): return issue(actor=request.user)"),
        ("inventory/queries/a.py", "SQL = 'SELECT id FROM inventory_part'\nknown = {}\nknown |= {1: 2}"),
    ),
    bad=(
        ("api/rest/views/a.py", "def post(serializer): serializer.save()"),
        ("api/management/commands/demo.py", "Part.objects.create(number='1')"),
        ("inventory/queries/a.py", "Part.objects.filter(pk=1).update(name='x')"),
        ("inventory/models/a.py", "def go(self): self.part.delete()"),
        ("kits/queries/a.py", "async def go(): await Job.objects.abulk_create([])"),
        ("api/pages/a.py", "cursor.execute('INSERT INTO inventory_part VALUES (1)')"),
        ("api/pages/a.py", "cursor.execute(f'UPDATE {table} SET x = 1')"),
    ),
)


def check_transactions(source: Source) -> Iterator[Fault]:
    """`services/run.py` opens the one transaction of a write, `queries/snapshot.py` the one of a long read."""
    in_services = in_layer(source.path, "services")
    for line, module, name in imports(source):
        if module.startswith("django.db.transaction") or (module == "django.db" and name == "transaction"):
            if not in_services:
                yield Fault(line, "django.db.transaction outside services")
            if name in OPENING:
                yield Fault(line, f"{name} outside run.py")
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Attribute) and node.attr in OPENING:
            yield Fault(node.lineno, f"{dotted(node)} outside run.py")
    for line, text in texts(source.tree):
        if TRANSACTION_SQL.match(text) and not source.path.endswith("/queries/snapshot.py"):
            yield Fault(line, "a transaction opened by SQL")


ONLY_RUN_OPENS = Rule(
    "only run.py opens transactions",
    lambda path: in_code(path) and path != "inventory/services/run.py" and not path.startswith((MEASURING, RESTORING)),
    check_transactions,
    good=(
        ("inventory/services/a.py", "from django.db import transaction\ntransaction.on_commit(print)"),
        ("inventory/queries/snapshot.py", "cursor.execute('BEGIN')"),
        ("api/rest/a.py", "TITLE = 'Beginning'"),
    ),
    bad=(
        ("inventory/services/a.py", "from django.db import transaction\nwith transaction.atomic(): pass"),
        ("kits/services/run.py", "from django.db.transaction import atomic"),
        ("api/rest/a.py", "from django.db import transaction"),
        ("inventory/queries/a.py", "cursor.execute('BEGIN')"),
        ("kits/services/a.py", "cursor.execute('SAVEPOINT a')"),
    ),
)


def check_locks(source: Source) -> Iterator[Fault]:
    """`inventory/locks.py` locks, in one order."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Attribute) and node.attr == "select_for_update":
            yield Fault(node.lineno, "select_for_update outside locks.py")
    for line, text in texts(source.tree):
        if LOCKING_SQL.search(text):
            yield Fault(line, "locking SQL outside locks.py")


ONLY_LOCKS_LOCKS = Rule(
    "only locks.py locks",
    lambda path: in_code(path) and path != "inventory/locks.py" and not path.startswith((MEASURING, RESTORING)),
    check_locks,
    good=(("inventory/services/a.py", "from inventory import locks\nlocks.key(1)"),),
    bad=(
        ("inventory/services/a.py", "Item.objects.select_for_update().filter(pk=1)"),
        ("inventory/services/a.py", "cursor.execute('SELECT pg_advisory_xact_lock(1)')"),
        ("kits/queries/a.py", "SQL = 'SELECT 1 FROM kits_job FOR UPDATE'"),
    ),
)


def is_private(source: Source) -> bool:
    """A module of services that says of itself that only services use it."""
    return PRIVATE_MARK in (ast.get_docstring(source.tree) or "")


def check_actor(source: Source) -> Iterator[Fault]:
    """A public function of a service is one use case, and says who does it, by name."""
    if is_private(source):
        return
    for node in source.tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and not node.name.startswith("_"):
            named = {argument.arg for argument in node.args.kwonlyargs}
            if "actor" not in named:
                yield Fault(node.lineno, f"{node.name} has no keyword-only actor")


ACTOR = Rule(
    "every service says who acts",
    lambda path: in_layer(path, "services") and path != "inventory/services/run.py",
    check_actor,
    good=(
        ("inventory/services/a.py", "def receive(lines, *, actor): pass\ndef _check(lines): pass"),
        ("inventory/services/b.py", '"""Rows. Private to services."""\ndef post(act): pass'),
    ),
    bad=(
        ("inventory/services/a.py", "def receive(lines): pass"),
        ("kits/services/a.py", "def receive(actor, lines): pass"),
    ),
)


#: Names of calls that look things up or read what was typed, and refuse what is not there.
REFUSING = re.compile(r"(things|lookup)\.|read_|parse_|open_job|job_by_number")


def check_kept(source: Source) -> Iterator[Fault]:
    """A rule says no inside the act, where `run` keeps the refusal: beside it nothing is refused."""
    for node in source.tree.body:
        if not isinstance(node, ast.FunctionDef) or "stamp" not in {one.arg for one in node.args.kwonlyargs}:
            continue
        waiting: list[ast.AST] = list(node.body)
        while waiting:
            one = waiting.pop()
            if isinstance(one, ast.FunctionDef | ast.Lambda):
                continue  # the work, done in the act
            if isinstance(one, ast.Raise) and one.exc is not None:
                yield Fault(one.lineno, f"{node.name} refuses outside its act")
            if isinstance(one, ast.Call) and REFUSING.match(dotted(one.func)):
                yield Fault(one.lineno, f"{node.name} calls {dotted(one.func)} outside its act")
            waiting.extend(ast.iter_child_nodes(one))


KEPT = Rule(
    "a refusal is kept",
    lambda path: in_layer(path, "services") and path != "inventory/services/run.py",
    check_kept,
    good=(
        (
            "kits/services/a.py",
            "def a(*, actor, stamp, x):\n    def work(act):\n        if not x: raise DomainError('a')\n    return run('a', work)",
        ),
        ("kits/services/a.py", "def _check(x):\n    if not x: raise DomainError('a')"),
        ("kits/services/a.py", "def a(*, actor, stamp):\n    try: go()\n    except IntegrityError:\n        raise"),
    ),
    bad=(
        (
            "kits/services/a.py",
            "def a(*, actor, stamp, x):\n    if not x: raise DomainError('a')\n    return run('a', work)",
        ),
        ("kits/services/a.py", "def a(*, actor, stamp, x):\n    there = things.place(x)\n    return run('a', work)"),
        ("kits/services/a.py", "def a(*, actor, stamp, x):\n    return run('a', work, subject=parse_family(x).code)"),
    ),
)


@cache
def private_modules() -> set[str]:
    """Dotted names of the modules that are private to services."""
    return {
        source.path.removesuffix(".py").replace("/", ".")
        for source in sources()
        if in_layer(source.path, "services") and is_private(source)
    }


def check_private(source: Source) -> Iterator[Fault]:
    """What is private to services is not imported by anybody else."""
    private = private_modules()
    for line, module, name in imports(source):
        if module in private or f"{module}.{name}" in private:
            yield Fault(line, f"{module} is private to services")


PRIVATE = Rule(
    "private modules of services stay inside",
    lambda path: in_code(path) and not in_layer(path, "services"),
    check_private,
    good=(("api/rest/a.py", "from inventory.services.run import Stamp"),),
    bad=(
        ("api/rest/a.py", "from inventory.services.post import post"),
        ("api/management/commands/a.py", "from inventory.services import post"),
    ),
)

HTTP = re.compile(r"django\.(http|shortcuts|views|urls|template|forms|middleware|contrib\.(admin|messages|sessions))\b")


def check_no_http(source: Source) -> Iterator[Fault]:
    """Below the api nobody knows of requests, answers and pages."""
    for line, module, name in imports(source):
        if HTTP.match(f"{module}.{name}") or module.split(".")[0] in {"rest_framework", "drf_spectacular"}:
            yield Fault(line, f"{module} belongs to the api")


NO_HTTP = Rule(
    "no HTTP below the api",
    lambda path: in_code(path) and not path.startswith("api/"),
    check_no_http,
    good=(
        ("inventory/models/a.py", "from django.db import models"),
        ("api/rest/a.py", "from django.http import HttpRequest"),
    ),
    bad=(
        ("inventory/services/a.py", "from django.http import HttpRequest"),
        ("kits/queries/a.py", "from rest_framework import serializers"),
        ("kits/models/a.py", "from django import forms"),
    ),
)

RULES = (PURE, CLOCKLESS, ONLY_SERVICES_WRITE, ONLY_RUN_OPENS, ONLY_LOCKS_LOCKS, ACTOR, KEPT, PRIVATE, NO_HTTP)
