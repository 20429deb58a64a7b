"""Notices that were entered before any engine family: their numbers are read by the families' form, or named as read by none."""

from datetime import date

import pytest

from inventory.services.replacements import NewPart, ReplacementIn, add_replacement, withdraw_replacement
from kits.models import Engine, EngineFamily
from kits.queries.by_notice import number_sentence, shut_out
from kits.queries.reminders import reminders_on
from kits.queries.unread_numbers import unread_notices
from kits.services.families import enter_family
from tests.factories.acts import done, refused
from tests.factories.engines import family_document
from tests.factories.stores import PartFactory

pytestmark = pytest.mark.django_db


def notice(old, below, from_=""):
    """A notice that leaves the old number to engines below one; the old part."""
    part = PartFactory(number=old)
    PartFactory(number=f"{old}N")
    line = ReplacementIn(
        old, [NewPart(f"{old}N")], fate="use only below a number", engine_below=below, engine_from=from_
    )
    done(add_replacement, line=line)
    return part


def engine(digits):
    """An engine of the family, never saved: its number is all that is asked of it."""
    family = EngineFamily.objects.get()
    return Engine(number=f"T4-{digits:05d}", digits=digits, family=family)


def test_what_no_family_can_read_is_named_when_one_is_entered():
    good = notice("OLD", "t4 00150")
    bad = notice("ODD", "T4-15O", "T9-00150")
    assert unread_notices() == []
    body = done(enter_family, document=family_document())
    (row, other) = body["unread_notices"]
    assert (row["old"], row["numbers"], other["numbers"]) == ("ODD", "below T4-15O", "from T9-00150")
    assert "letters stand among the digits" in row["why"]
    assert unread_notices() == body["unread_notices"]
    # One that is written otherwise is read all the same.
    assert shut_out(engine(149), [good.pk]) == {}
    assert shut_out(engine(150), [good.pk]) == {good.pk: "below t4 00150"}
    # One that is none goes into no engine, and says why.
    shut = shut_out(engine(1), [bad.pk])[bad.pk]
    assert number_sentence(engine(1), "ODD", shut) == (
        "ODD fits below T4-15O (which no engine family on record has: withdraw the notice, and enter it with the right number)"
        " only; this engine is T4-00001."
    )


def test_it_is_reminded_of_until_it_is_entered_rightly():
    notice("ODD", "T4-15O")
    today = date(2025, 1, 15)
    assert reminders_on(today) == []
    (named,) = done(enter_family, document=family_document())["unread_notices"]
    (said,) = reminders_on(today)
    assert (said["kind"], said["number"], said["job"]) == (
        "notice with an engine number of no family", named["replacement"], "",
    )  # fmt: skip
    assert said["what"].startswith("ODD, below T4-15O: ")
    line = ReplacementIn("ODD", [NewPart("ODDN")], fate="use only below a number", engine_below="T4-15O")
    refused("engine-number-unreadable", add_replacement, line=line)
    done(withdraw_replacement, replacement_id=named["replacement"], reason="a letter for a digit")
    assert (reminders_on(today), unread_notices()) == ([], [])
