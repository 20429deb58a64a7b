"""The documents name only what there is: commands, paths, settings; what they quote stands where they say."""

import re

import pytest
from django.core.management import get_commands

from api.config import settings as program
from tests.tidy.docs import EXCERPT, check, check_excerpts, check_paths, is_document, settings_of
from tests.tidy.rules import ROOT, Source, sources

KNOWN = set(get_commands())
DOCUMENTS = [source for source in sources() if is_document(source.path)]
README, DEVELOPERS = (ROOT / name for name in ("README.md", "DEVELOPERS.md"))


def faults_of(found) -> list[tuple[int, str]]:
    return [(fault.line, fault.what) for fault in found]


def test_both_documents_are_looked_at():
    assert [source.path for source in DOCUMENTS] == ["README.md", "DEVELOPERS.md"]


def test_the_test_command_and_the_framework_commands_are_known():
    assert {"test", "migrate", "check"} <= KNOWN


@pytest.mark.parametrize("source", DOCUMENTS, ids=lambda source: source.path)
def test_documents_name_only_commands_and_paths_that_exist(source):
    assert faults_of([*check(source, KNOWN), *check_paths(source), *check_excerpts(source)]) == []


def test_the_write_step_by_step_quotes_three_files():
    quoted = [found[1] for found in EXCERPT.finditer(DEVELOPERS.read_text())]
    assert quoted == ["api/rest/views/moves.py", "inventory/services/scrap.py", "inventory/services/scrapping.py"]


def test_every_command_of_the_program_is_in_developers():
    own = {path.stem for path in (ROOT / "api" / "management" / "commands").glob("[a-z]*.py")} | {"test"}
    named = set(re.findall(r"`python3 manage\.py ([a-z]+)", DEVELOPERS.read_text()))
    assert own - named == set()


def test_readme_lists_the_settings_that_the_program_reads():
    table = {name for line in README.read_text().splitlines() if line.startswith("| `") for name in settings_of(line)}
    read = [ROOT / "manage.py", *(ROOT / "api" / "config").glob("*.py"), *(ROOT / "api" / "rest").glob("*.py")]
    assert (
        table == settings_of(program.__doc__ or "") == {name for path in read for name in settings_of(path.read_text())}
    )


def test_a_good_sample_passes_and_a_bad_one_is_caught():
    good = Source(
        "README.md", "Run `python3 manage.py test`, then\n    python3 manage.py migrate --plan\nmanage.py is one file."
    )
    bad = Source("README.md", "First.\nRun `python3 manage.py fly`.")
    assert faults_of(check(good, KNOWN)) == []
    assert faults_of(check(bad, KNOWN)) == [(2, "there is no command fly")]


def test_a_path_that_leads_nowhere_and_a_made_up_excerpt_are_caught():
    assert faults_of(check_paths(Source("README.md", "See `inventory/locks.py`, `*/domain`, `api/v1/jobs/`."))) == [
        (1, "there is no api/v1/jobs/")
    ]
    text = "a\n\nFrom `inventory/locks.py`:\n\n```python\n{}\n```\n"
    assert faults_of(check_excerpts(Source("README.md", text.format("import hashlib")))) == []
    assert faults_of(check_excerpts(Source("README.md", text.format("import nothing")))) == [
        (3, "this is not what inventory/locks.py says")
    ]
