"""Which refusals are two stories about one thing."""

from datetime import UTC, datetime, timedelta

from inventory.domain.clashes import Told, clash_with, items_named

AT = datetime(2025, 1, 15, 12, tzinfo=UTC)
LATER = AT + timedelta(seconds=1)


def test_items_are_found_at_every_depth_and_holds_are_none() -> None:
    body = {
        "fittings": [{"item": 3, "amount": 1}, {"item": 1}],
        "item": 7,
        "hold": 9,
        "x": [{"item": True}, {"item": "a"}],
    }
    assert list(items_named(body | {"y": {"item": 10**30}})) == [3, 1, 7]


def test_where_the_thing_is_counts_whatever_the_clocks_say() -> None:
    told = [Told(1, 10, "B", AT)]
    assert clash_with(["batch-refused", "position-taken"], "A", LATER, told) == told[0]
    assert clash_with(["not-there"], "B", AT, told) is None  # its own earlier word
    assert clash_with(["not-there"], "A", AT, []) is None  # no single thing was named


def test_any_other_word_counts_where_the_first_story_was_not_known_then() -> None:
    told = [Told(1, 10, "A", LATER), Told(2, 11, "", LATER)]
    assert clash_with(["not-on-list"], "A", AT, told) == told[1]
    assert clash_with(["not-on-list"], "A", LATER, told) is None


def test_what_is_wrong_with_the_request_itself_is_no_clash() -> None:
    told = [Told(1, 10, "B", LATER)]
    for code in ("not-allowed", "fields-wrong", "bad-request", "not-found"):
        assert clash_with([code, "not-there"], "A", AT, told) is None
