"""`manage.py import`: what it prints and how it exits."""

import io

import pytest
from django.core.management import CommandError, call_command

from inventory.models import Part
from tests.api.rest.clients import somebody

pytestmark = pytest.mark.django_db


def ran(path, *more, login=None):
    """What was printed, and the exit code."""
    out = io.StringIO()
    login = login or somebody("parts manager").username
    try:
        call_command("import", str(path), "--kind", "parts", "--as", login, *more, stdout=out)
    except CommandError as error:
        return f"{out.getvalue()}{error}", error.returncode
    return out.getvalue(), 0


def test_a_table_is_read_told_and_booked(tmp_path):
    path = tmp_path / "p.csv"
    path.write_text("number,name,unit,colour\n00410,a,EA,red\n00411,b,EA,\n")
    said, code = ran(path, "--book")
    assert (code, Part.objects.count()) == (0, 2)
    assert "not used: column 'colour'" in said
    assert "2 rows = 2 accepted (0 on record already) + 0 questioned + 0 refused" in said
    assert "booked: 2 parts, 0 replacements" in said


def test_questions_are_named_and_nothing_is_booked(tmp_path):
    path = tmp_path / "p.csv"
    path.write_text("number,name,unit\n00410,a,EA\n411,b,EA\nX,,EA\n")
    said, code = ran(path)
    assert (code, Part.objects.count()) == (1, 0)
    assert "row 3: number: is 00411 meant by 411?" in said
    assert "row 4 refused: The row has no name." in said
    assert ran(path, "--book")[1] == 2
    assert ran(path, "--book", "--without-questioned")[1] == 1
    assert [part.number for part in Part.objects.all()] == ["00410"]


def test_who_may_not_and_what_is_no_file(tmp_path):
    assert ran(tmp_path / "none.csv")[1] == 2
    assert ran(tmp_path, login=somebody("storekeeper").username)[1] == 2
    assert "nobody who is active has the login marren" in ran(tmp_path, login="marren")[0]
    (tmp_path / "headless.csv").write_text("number;name\n4127;washer\n")
    assert "no column unit. (heading-missing)\n  Its first row says: number, name." in ran(tmp_path / "headless.csv")[0]
    (tmp_path / "empty.csv").write_bytes(b"")
    assert ran(tmp_path / "empty.csv")[1] == 2
