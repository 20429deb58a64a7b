"""`manage.py measure import`: small, and what ends it."""

import io

from django.core.management import CommandError, call_command

from api.measure import imports
from inventory.models import Part


def run(*words):
    out = io.StringIO()
    try:
        call_command("measure", "import", *words, stdout=out)
    except CommandError as error:
        return f"{out.getvalue()}{error}", error.returncode
    return out.getvalue(), 0


def test_the_tables_are_brought_in_and_told(shop_database, monkeypatch):
    # the memory is that of this whole test process
    monkeypatch.setattr(imports, "MOST_MB", 1_000_000)
    said, code = run("--rows", "40")
    assert code == 0, said
    lines = [line.split() for line in said.splitlines() if line.endswith("ok")]
    assert [line[:3] for line in lines] == [
        [kind, "41" if kind == "parts" else "40", "rows"]
        for kind in ("parts", "suppliers", "prices", "lots", "stock", "sets")
    ]
    assert not Part.objects.exists()


def test_what_is_over_its_limit_ends_with_1(shop_database, monkeypatch):
    monkeypatch.setattr(imports, "MOST_MB", 1)
    monkeypatch.setattr(imports, "LONGEST_WAIT_S", 0.0)
    said, code = run("--rows", "4")
    assert code == 1
    assert "short: longest wait, memory" in said


def test_a_row_that_is_not_accepted_ends_with_2(shop_database, monkeypatch):
    tables = [("parts", "number,name,unit\nX,a,EA\nX,b,furlong")]
    monkeypatch.setattr(imports, "_tables", lambda rows: iter(tables))
    assert run("--rows", "2")[1] == 2
