"""Every open pick list on paper, before a day on which nothing runs."""

import io
import re

import pytest
from django.core.management import CommandError, call_command

from inventory.models import Hold
from kits.models import PickList

pytestmark = pytest.mark.django_db


def written(folder):
    out = io.StringIO()
    call_command("paper", str(folder), stdout=out)
    assert sorted(out.getvalue().split()) == sorted(one.name for one in folder.iterdir())
    return {one.name: one.read_text(encoding="utf-8") for one in folder.iterdir()}


def test_a_list_is_printed_as_over_http_while_something_of_it_is_to_be_picked(rebuild, tmp_path):
    assert written(tmp_path / "none") == {}
    rebuild.booked().held()
    row = PickList.objects.get()
    (name,) = pages = written(tmp_path / "open")
    assert name == f"{row.job.site.code}-{row.job.number}-{row.number}.html"
    served = rebuild.storekeeper.read(f"pick-lists/{row.pk}", format="html").content.decode()
    assert pages[name] == served
    held = Hold.objects.filter(end__isnull=True).select_related("item__part").first()
    assert held is not None and held.item.part.number in pages[name]
    rebuild.picked()
    assert written(tmp_path / "picked") == {}


def test_nothing_is_written_over(tmp_path):
    (tmp_path / "old.html").write_text("kept")
    with pytest.raises(CommandError) as refused:
        call_command("paper", str(tmp_path), stdout=io.StringIO())
    assert refused.value.returncode == 1
    assert re.findall("not empty", str(refused.value)) and [one.name for one in tmp_path.iterdir()] == ["old.html"]
