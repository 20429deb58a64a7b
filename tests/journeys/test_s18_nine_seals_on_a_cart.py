"""S18: the bin of stem seals has 40 on paper, 31 are counted; then nine are found on the cart of J1175.

Worked example of the demo shop (invented): a new entry of -9 with its reason; found again, the -9 is reversed and an issue of 9 to J1175
recorded, eight that its list wants and a ninth as an extra: three entries in all.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from inventory.models import Balance, Movement, Part
from inventory.queries.audit import audit
from tests.factories.shop import home_of
from tests.journeys.shop import Story

DAY = datetime(2025, 1, 14, 8, tzinfo=UTC)
SEAL, JOB = "A-210", "J1175"


def at(minutes: int) -> str:
    return (DAY + timedelta(minutes=minutes)).isoformat()


def set_up(story: Story) -> tuple[int, str]:
    """Forty seals in the bin, the job booked; the item and its bin."""
    story.shelve_story("S18", DAY - timedelta(days=30))
    story.book(JOB, DAY - timedelta(days=3), "2025-01-15", "2025-01-20")
    lot = story.x(SEAL) + "/1"
    return story.item(SEAL, f"lot={lot}"), home_of(Part.objects.get(number=story.x(SEAL)), "TB", story.x)


def counted(story: Story, item: int, place: str, **more: Any) -> Any:
    body = {
        "place": place,
        "lines": [{"item": item, "counted": "31 EA", "counted_again": "31 EA"}],
        "second": story.client("edda").person.username,
        "looked_at": ["stem seal"],
        "occurred_at": at(0),
    } | more
    return story.client("piet").send("counts", body)


def entries(item: int) -> list[tuple[str, str, int]]:
    """(from, to, amount) of what was booked of the seals since the day, in order."""
    rows = Movement.objects.filter(item=item, act__occurred_at__gte=DAY).order_by("pk")
    return list(rows.values_list("from_spot__place__kind", "to_spot__place__kind", "amount"))


def test_counted_short_found_on_a_cart_reversed_and_issued(either_story: Story) -> None:
    story = either_story
    item, place = set_up(story)
    # Nine of forty is far off: one person's count is not booked, and says nothing of what the books have.
    alone = {"place": place, "lines": [{"item": item, "counted": "31 EA"}], "looked_at": ["stem seal"]}
    asked = story.client("piet").send("counts", alone | {"reason": "nine are missing", "occurred_at": at(0)})
    (line,) = asked.json()["lines"]
    assert (asked.status_code, line["code"], "40" in asked.content.decode()) == (422, "recount-needed", False)
    assert entries(item) == []
    why = counted(story, item, place)
    assert why.status_code == 422
    assert [line["code"] for line in why.json()["lines"]] == ["reason-missing"]
    short = counted(story, item, place, reason="nine are missing")
    assert short.status_code == 201, short.content
    (line,) = short.json()["lines"]
    assert (line["on_books"], line["counted"], line["difference"], line["said"]) == (40, 31, -9, "counted short")
    assert (line["counted_by"], line["alone"]) == (
        [story.client(one).person.username for one in ("piet", "edda")],
        False,
    )

    maren = story.client("maren")
    # as long as they are counted away they cannot be issued: the count is taken back first
    found = {
        "item": item,
        "place": place,
        "amount": "9 EA",
        "reason": "lay on the cart",
        "extra_reason": "wrong on list",
    }
    act = int(short.headers["Location"].rstrip("/").rsplit("/", 1)[1])
    story.did(maren, f"acts/{act}/corrections", {"reason": "they lie on the cart of J1175", "occurred_at": at(30)})
    unsaid = maren.send(
        f"jobs/{JOB}/found-on-cart", {**found, "occurred_at": at(35)} | {"extra_reason": "lost"} | {"reason": " "}
    )
    assert unsaid.status_code == 400
    issued = story.did(maren, f"jobs/{JOB}/found-on-cart", found | {"occurred_at": at(40)})
    assert (issued["amount"], issued["wanted"], issued["extra"]) == (9, 8, 1)

    assert entries(item) == [("shelf", "count difference", 9), ("count difference", "shelf", 9), ("shelf", "cart", 9)]
    rows = Balance.objects.filter(item=item, amount__gt=0, real=True)
    assert sorted(rows.values_list("place__kind", "amount", "held")) == [("cart", 9, 0), ("shelf", 31, 0)]
    (seals,) = [row for row in maren.read(f"jobs/{JOB}/issued").json()["items"] if row["part"] == story.x(SEAL)]
    assert (seals["issued"], seals["still_here"], seals["adds_up"]) == (9, 9, True)
    # The list wants no more of them.
    held = story.did(story.client("jonah"), f"jobs/{JOB}/holds", {"occurred_at": at(50)})
    assert story.x(SEAL) not in {row["part"] for row in [*held["held"], *held["shorts"]]}
    assert audit() == []


def test_the_ninth_needs_its_reason_and_nothing_is_issued_without_it(story: Story) -> None:
    item, place = set_up(story)
    body = {"item": item, "place": place, "reason": "lay on the cart", "occurred_at": at(40)}
    nine = story.client("maren").send(f"jobs/{JOB}/found-on-cart", body | {"amount": "9 EA"})
    assert (nine.status_code, nine.json()["code"]) == (422, "reason-missing")
    assert entries(item) == []
    eight = story.did(story.client("maren"), f"jobs/{JOB}/found-on-cart", body | {"amount": "8 EA"})
    assert (eight["wanted"], eight["extra"]) == (8, 0)
    more = body | {"amount": "33 EA", "extra_reason": "lost"}
    many = story.client("maren").send(f"jobs/{JOB}/found-on-cart", more)
    assert (many.status_code, many.json()["code"]) == (409, "not-there")
    one = story.did(story.client("maren"), f"jobs/{JOB}/found-on-cart", more | {"amount": "1 EA"})
    assert (one["wanted"], one["extra"]) == (0, 1)
    assert entries(item) == [("shelf", "cart", 8), ("shelf", "cart", 1)]


def by_sheet(story: Story, item: int, place: str) -> int:
    """The same bin counted by sheet: thirty-one by Piet, thirty-one by Edda, the difference booked; the act."""
    piet, edda = story.client("piet"), story.client("edda")
    bins = [{"place": place, "part": story.x(SEAL)}]
    path = (
        f"count-sheets/{story.did(piet, 'count-sheets', {'site': 'TB', 'bins': bins, 'occurred_at': at(0)})['sheet']}"
    )
    body = {"lines": [{"line": 1, "counted": "31 EA"}], "looked_at": ["stem seal"]}
    assert story.did(piet, f"{path}/entries", body | {"occurred_at": at(5)})["to_count_again"] == [1]
    assert story.did(edda, f"{path}/recounts", body | {"occurred_at": at(10)})["to_count_again"] == []
    booked = story.did(piet, f"{path}/postings", {"reason": "nine are missing", "occurred_at": at(20)})
    (line,) = booked["lines"]
    assert (line["item"], line["on_books"], line["counted"], line["difference"]) == (item, 40, 31, -9)
    act: int = story.client("maren").read(f"{path}/differences").json()["booked_act"]
    return act


def test_counted_by_sheet_found_on_a_cart_reversed_and_issued(story: Story) -> None:
    item, place = set_up(story)
    act = by_sheet(story, item, place)
    maren = story.client("maren")
    story.did(maren, f"acts/{act}/corrections", {"reason": "they lie on the cart of J1175", "occurred_at": at(30)})
    found = {"item": item, "place": place, "amount": "9 EA", "reason": "lay on the cart"}
    more = {"extra_reason": "wrong on list", "occurred_at": at(40)}
    issued = story.did(maren, f"jobs/{JOB}/found-on-cart", found | more)
    assert (issued["wanted"], issued["extra"]) == (8, 1)
    assert entries(item) == [("shelf", "count difference", 9), ("count difference", "shelf", 9), ("shelf", "cart", 9)]
