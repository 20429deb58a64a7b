"""Every command that a document names exists."""

from django.core.management import get_commands

from tests.tidy.docs import check, is_document
from tests.tidy.rules import Source, sources

KNOWN = set(get_commands())


def test_the_test_command_and_the_framework_commands_are_known():
    assert {"test", "migrate", "check"} <= KNOWN


def test_documents_name_only_commands_that_exist():
    documents = [source for source in sources() if is_document(source.path)]
    found = [f"{source.path}:{fault.line} {fault.what}" for source in documents for fault in check(source, KNOWN)]
    assert not found, "\n".join(found)


def test_a_good_sample_passes_and_a_bad_one_is_caught():
    good = Source(
        "README.md", "Run `python3 manage.py test`, then\n    python3 manage.py migrate --plan\nmanage.py is one file."
    )
    bad = Source("README.md", "First.\nRun `python3 manage.py fly`.")
    assert list(check(good, KNOWN)) == []
    assert [(fault.line, fault.what) for fault in check(bad, KNOWN)] == [(2, "there is no command fly")]
