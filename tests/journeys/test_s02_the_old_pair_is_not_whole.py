"""S2: an engine below the change number, six old gaskets but nine old bolts: ten are wanted, so the new pair goes.

Worked example of the demo shop (invented): old gasket with ten old bolts may be used up below the change number, never mixed.
"""

from datetime import UTC, datetime

from tests.journeys.shop import Story, totals

JOB, STRIP = "J1021", datetime(2023, 4, 13, 8, tzinfo=UTC)
PAIRS = ("A-201", "A-501", "A-203", "A-502")


def of_the_pairs(story: Story, rows: list[dict[str, object]]) -> dict[str, int]:
    names = {story.x(part): part for part in PAIRS}
    return {names[part]: amount for part, amount in totals(rows).items() if part in names}


def test_nine_old_bolts_are_not_ten(either_story: Story) -> None:
    either_story.shelve_story("S2", datetime(2023, 4, 1, 8, tzinfo=UTC))
    either_story.book(JOB, STRIP, "2023-04-13", "2023-04-18")
    assert of_the_pairs(either_story, either_story.list_of(JOB)["lines"]) == {"A-203": 1, "A-502": 10}
    held = either_story.did(either_story.client("jonah"), f"jobs/{JOB}/holds", {})
    assert of_the_pairs(either_story, held["held"]) == {"A-203": 1, "A-502": 10}
    assert of_the_pairs(either_story, held["shorts"]) == {}


def test_with_the_tenth_bolt_the_old_pair_is_used_up(either_story: Story) -> None:
    either_story.shelve_story("S2", datetime(2023, 4, 1, 8, tzinfo=UTC))
    either_story.shelve("A-501", 1, datetime(2023, 4, 2, 8, tzinfo=UTC))
    either_story.book(JOB, STRIP, "2023-04-13", "2023-04-18")
    assert of_the_pairs(either_story, either_story.list_of(JOB)["lines"]) == {"A-201": 1, "A-501": 10}
    held = either_story.did(either_story.client("jonah"), f"jobs/{JOB}/holds", {})
    assert of_the_pairs(either_story, held["held"]) == {"A-201": 1, "A-501": 10}
    # The holds changed the stock that the choice was made by; the choice stays what it was.
    assert of_the_pairs(either_story, either_story.list_of(JOB)["lines"]) == {"A-201": 1, "A-501": 10}
