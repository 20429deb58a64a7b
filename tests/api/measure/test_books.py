"""`measure books` at its smallest, on the database of this run: every act beside a twin that answers and writes the same."""

import os
import re
import subprocess
import sys
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection

from api.measure import books, own, twins, twins_of_reads
from api.measure.books import LIMITS
from api.measure.catalogue import BORES, HOLDS, LINES, NOW, hold_lines
from api.measure.shop import load_shop
from inventory.models import Hold, Movement
from inventory.queries.audit import audit
from kits.models import Fitting, Job
from tests import databases

ROOT = Path(__file__).resolve().parents[3]


def left_by(process: int) -> list[str]:
    """Databases that a measurement of this process did not remove."""
    if not databases.on_postgresql():
        return sorted(path.name for path in Path(settings.DATA_DIR).glob(f"measure-{process}-*"))
    with connection.cursor() as cursor:
        cursor.execute("SELECT datname FROM pg_database WHERE starts_with(datname, %s)", [f"measure_{process}_"])
        return [row[0] for row in cursor.fetchall()]


def test_every_act_has_a_twin_with_equal_answers(shop_database):
    words = [sys.executable, "manage.py", "measure", "books", "--jobs", "50", "--pairs", "3"]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    with subprocess.Popen(words, cwd=ROOT, env=shop_database.environment(), **pipes) as done:
        said, complained = done.communicate(timeout=300)
    lines = [re.split(r"\s{2,}", line.strip()) for line in said.splitlines()]
    table = {line[0]: line for line in lines if line[0] in LIMITS}
    assert list(table) == list(LIMITS), said + complained
    for act, row in table.items():
        assert len(row) == 9, row
        assert row[7] == "3 of 3", row
        assert row[6] == LIMITS[act].said()
        assert int(row[3]) > 0
    # The exit code says what the table says; which of the two it is depends on the machine and on what else it does.
    short = [act for act, row in table.items() if row[8] == "short"]
    assert done.returncode == (1 if short else 0), said + complained
    assert [act for act in LIMITS if f"{act} at 50 jobs" in complained] == short
    assert left_by(done.pid) == []
    assert Job.objects.count() == 0  # the shop's own database was not touched


@pytest.fixture
def copied(monkeypatch, template_database):
    """The measurement's own databases are copies of the migrated template; `test_own` and the first test migrate theirs."""

    def made(name):
        with databases.copied(template_database, name):
            yield name

    monkeypatch.setattr(own, "_made", made)


def small_measurement():
    call_command("measure", "books", jobs=[12], pairs=1, stdout=StringIO())


def test_a_twin_with_another_answer_ends_the_measurement(shop_database, copied, monkeypatch):
    monkeypatch.setattr(twins_of_reads, "on_hand", lambda part: ())
    with pytest.raises(CommandError, match="on hand: answer and twin's differ") as raised:
        small_measurement()
    assert raised.value.returncode == 2


def test_a_twin_that_writes_other_rows_ends_the_measurement(shop_database, copied, monkeypatch):
    monkeypatch.setattr(twins, "bump", lambda job, version: None)
    with pytest.raises(CommandError, match="hold a kit: the twin wrote other rows: job:") as raised:
        small_measurement()
    assert raised.value.returncode == 2
    assert left_by(os.getpid()) == []


def test_the_twins_agree_on_a_day_after_the_planned_one(shop_database, copied, monkeypatch):
    # Lots of the first delivery of the stock (four days before NOW) are usable for 900 days, the margin is 14: on this day it is
    # they that are too old and no others. What was planned for the week after NOW would still have taken them.
    monkeypatch.setattr(books, "NOW", NOW + timedelta(days=900 - 3 - 14))
    try:
        small_measurement()
    except CommandError as error:
        assert error.returncode == 1, error  # slower than its limit here; answers and rows were the same


def test_a_loaded_shop_is_whole(shop_database):
    jobs = 14
    load_shop(jobs, lambda text: None)
    assert audit() == []
    connection.check_constraints()
    uses = sum(len(line.uses) for line in hold_lines(0))
    assert (LINES, HOLDS, uses) == (120, 123, 180)
    assert Job.objects.filter(state=Job.State.CLOSED, end__isnull=False).count() == jobs
    assert Hold.objects.count() == Hold.objects.filter(end__how="picked").count() == jobs * HOLDS
    assert Fitting.objects.count() == jobs * uses
    fitted = Movement.objects.filter(act__kind="fit")
    assert fitted.count() == jobs * uses
    assert fitted.filter(item__single=True).count() == jobs * BORES
    # What comes next gets an id of its own.
    assert Job.objects.order_by("-pk").values_list("pk", flat=True)[0] == jobs
