"""S4: five sets are gauged for four bores. Before the fifth is found there is no certain layout; with it there is just one order.

Worked example of the demo shop (invented): readings, orders and means are its; U = 2 · √(3² + 4²) = 10 µm is arithmetic.
"""

from datetime import UTC, datetime
from typing import Any

import pytest

from inventory.models import Balance, Refusal
from tests.fixtures.shop_files import document
from tests.journeys.gauged import DEPTHS, HEIGHTS, as_shown, layout, of_bore, of_set, read, register
from tests.journeys.shop import Story

JOB = "J1175"
BEFORE, STRIP = datetime(2025, 1, 2, 9, tzinfo=UTC), datetime(2025, 1, 15, 8, tzinfo=UTC)
SETS = {row["serial"]: row for row in document("opening")["sets"] if row["serial"].startswith("S-044")}
BORES = document("opening")["stories"]["S4"]["bores"]
ORDER = {"CYL-1/set": "S-0441", "CYL-2/set": "S-0444", "CYL-3/set": "S-0442", "CYL-4/set": "S-0445"}
LATE = "S-0445"


def gauge(story: Story) -> Story:
    """Four sets on the shelf and their bores, read dry at four points; the fifth set lies there unread."""
    register(story, BEFORE, HEIGHTS, DEPTHS)
    for serial, row in SETS.items():
        story.shelve(
            row["part"],
            1,
            BEFORE,
            serial=serial,
            set_label={"weight_mg": row["weight_with_pin_mg"], "weighed": "with pin"},
        )
    story.book(JOB, BEFORE, "2025-01-15", "2025-01-17")
    read(
        story,
        JOB,
        *(of_set(serial, row["height_um_above_92900"]) for serial, row in SETS.items() if serial != LATE),
        *(of_bore(row["bore"], row["depth_um_above_92900"]) for row in BORES),
        at=STRIP,
    )
    return story


@pytest.fixture
def gauged(story: Story) -> Story:
    """The shop as it is written."""
    return gauge(story)


def read_late(story: Story) -> list[dict[str, Any]]:
    return read(story, JOB, of_set(LATE, SETS[LATE]["height_um_above_92900"]), at=STRIP)


def refused(answer: Any) -> tuple[int, str]:
    return answer.status_code, answer.json()["code"]


def accept(story: Story, who: str, bores: list[dict[str, Any]], **more: Any) -> Any:
    return story.client(who).send(f"jobs/{JOB}/layout-acceptances", {"bores": bores} | more)


def item_of(serial: str) -> int:
    return Balance.objects.get(item__serial__number=serial, item__member="", real=True, amount=1).item_id


def means(proposal: Any) -> list[float]:
    return [bore["mean_nm"] / 1000 for bore in proposal["bores"]]


def test_before_the_fifth_set_is_found_nothing_is_certain_and_only_the_inspector_takes_it(gauged: Story) -> None:
    story = gauged
    found = layout(story, JOB)
    assert found["outcome"] == "doubtful"
    assert [bore["serial"] for bore in found["bores"]] == ["S-0443", "S-0444", "S-0442", "S-0441"]
    assert found["doubtful"] == [{"bore": 1, "point": "3 o'clock"}, {"bore": 1, "point": "6 o'clock"}]
    assert (means(found), found["allowance_nm"]) == ([58, 78, 78, 86], 10_000)
    assert found["not_considered"] == [{"serial": LATE, "why": "its liner was not gauged"}]
    assert "Gauge the liners of S-0445" in found["try_next"][0]
    assert found["picture"][0].startswith("Layout: DOUBTFUL. Bore 1 is at the flywheel end. Front: timing end.")
    body = as_shown(found)
    assert refused(accept(story, "jonah", body, reason="it will do")) == (403, "doubtful")
    assert refused(accept(story, "edda", body)) == (422, "reason-missing")
    assert refused(accept(story, "lio", body)) == (403, "not-allowed")
    # as delivered: the step from bore 2 to bore 3 is 43 µm
    order = ("S-0441", "S-0442", "S-0443", "S-0444")
    other = [bore | {"serial": serial} for bore, serial in zip(body, order, strict=True)]
    answer = accept(story, "jonah", other)
    assert refused(answer) == (422, "layout-not-kept")
    assert answer.json()["values"]["breaks"][0] == "bores 2 and 3: a step of 43 µm, at most 40 µm"
    answer = accept(story, "edda", body, reason="read twice, the depth gauge was zeroed in between")
    assert (answer.status_code, answer.json()["outcome"]) == (201, "doubtful")
    kept = story.client("hester").read(f"jobs/{JOB}/layout-acceptances").json()["layouts"]
    assert [(one["doubtful"], one["reason"], one["stands"]) for one in kept] == [
        (True, "read twice, the depth gauge was zeroed in between", True)
    ]


def test_the_fifth_set_makes_one_certain_order_and_the_bench_is_held_to_it(either_story: Story) -> None:
    story = gauge(either_story)
    late = read_late(story)
    found = layout(story, JOB)
    assert (found["outcome"], found["why"]) == ("certain", [])
    assert {bore["position"]: bore["serial"] for bore in found["bores"]} == ORDER
    assert means(found) == [71, 78, 78, 78.25]
    assert (found["largest_step_nm"], found["off_target_nm"], found["turned"], found["shims"]) == (7_000, 34_750, 0, 0)
    jonah = story.client("jonah")
    body = as_shown(found)
    # mistakes on purpose: a bore left out, a turn the maker does not allow, a set of nobody
    assert refused(accept(story, "jonah", body[:3])) == (422, "layout-unusable")
    assert refused(accept(story, "jonah", [body[0] | {"turn_deg": 90}, *body[1:]])) == (422, "heights-unusable")
    assert refused(accept(story, "jonah", [body[0] | {"serial": "S-9999"}, *body[1:]])) == (422, "layout-unusable")
    made = accept(story, "jonah", body).json()
    assert sorted((row["serial"], row["positions"][0][0]) for row in made["held"]) == sorted(
        (serial, position) for position, serial in ORDER.items()
    )
    assert made["marks"][0]["text"] == "1 S-0441, line towards the timing end"
    again = accept(story, "maren", body)
    assert refused(again) == (409, "layout-accepted")
    assert again.json()["values"]["by"] == story.x("jonah")
    # the two ways round it are shut too
    word = {"bores": [{"position": "CYL-1/set", "serial": "S-0443"}], "reason": "looks better"}
    assert refused(jonah.send(f"jobs/{JOB}/bores", word)) == (409, "layout-accepted")
    piet, scans = story.client("piet"), [{"hold": row["hold"], "scanned": row["serial"]} for row in made["held"]]
    story.did(piet, f"pick-lists/{made['pick_list']}/picks", {"scans": scans})
    story.look(made["pick_list"])
    story.did(piet, f"pick-lists/{made['pick_list']}/handovers", {"received_by": story.x("jonah")})
    fit = f"jobs/{JOB}/fittings"
    checker = {"checker": story.x("edda")}
    wrong = {"fittings": [{"position": "CYL-1/set", "item": item_of("S-0442")}]} | checker
    assert refused(jonah.send(fit, wrong)) == (422, "wrong-bore")
    turned = {"fittings": [{"position": "CYL-1/set", "item": item_of("S-0441"), "clock_deg": 180}]} | checker
    assert refused(jonah.send(fit, turned)) == (422, "wrong-turn")
    right = {"fittings": [{"position": "CYL-1/set", "item": item_of("S-0441")}]} | checker
    assert jonah.send(fit, right).status_code == 201
    # a reading that the layout rests on turns out wrong: the bench asks for a new layout
    gone = story.did(jonah, f"jobs/{JOB}/readings/{late[0]['id']}/withdrawals", {"reason": "read at 1 o'clock"})
    assert [(row["kind"], row["subject"]) for row in gone["stale"]] == [("layout", "ENGINE")]
    two = {"fittings": [{"position": "CYL-2/set", "item": item_of("S-0444")}]} | checker
    answer = jonah.send(fit, two)
    assert refused(answer) == (422, "layout-stale")
    assert "read at 1 o'clock" in answer.json()["detail"]
    read(story, JOB, of_set(LATE, {"12": 123}), at=STRIP)
    proposal = layout(story, JOB)
    assert (proposal["outcome"], [bore["stays"] for bore in proposal["bores"]]) == ("certain", [True, *[False] * 3])
    made = accept(story, "jonah", as_shown(proposal)).json()
    assert (made["held"], made["released"], made["pick_list"]) == ([], [], None)
    assert jonah.send(fit, two).status_code == 201
    # taken back by an entry of its own: open again, until somebody says
    back = f"jobs/{JOB}/layout-acceptances/{made['layout']}/withdrawals"
    story.did(jonah, back, {"reason": "bore 3 is gauged again"})
    assert refused(jonah.send(back, {"reason": "again"})) == (409, "withdrawn-already")
    three = {"fittings": [{"position": "CYL-3/set", "item": item_of("S-0442")}]} | checker
    assert refused(jonah.send(fit, three)) == (422, "layout-stale")
    word = {"bores": [{"position": "CYL-3/set", "serial": "S-0442"}], "reason": "as it was laid out"}
    story.did(jonah, f"jobs/{JOB}/bores", word)
    assert jonah.send(fit, three).status_code == 201
    assert {row.code for row in Refusal.objects.filter(kind="fit")} == {"wrong-bore", "wrong-turn", "layout-stale"}


def test_three_points_a_gauge_out_of_date_and_no_temperature_never_pass(gauged: Story) -> None:
    story = gauged
    jonah, path = story.client("jonah"), f"jobs/{JOB}/protrusions"
    good = story.did(jonah, path, {"position": "CYL-1/set", "set": "S-0441"})
    assert (good["verdict"], good["allowance_nm"], good["why"]) == ("pass", 10_000, [])
    assert [(one["hour"], one["height_nm"]) for one in good["points"]] == [
        (12, 71_000), (3, 74_000), (6, 71_000), (9, 68_000)
    ]  # fmt: skip
    turned = story.did(jonah, path, {"position": "CYL-1/set", "set": "S-0441", "turn_deg": 180})
    # turned, set 1 stands 58 µm proud at 3 o'clock: below 60
    assert (turned["verdict"], turned["points"][1]["height_nm"]) == ("doubtful", 58_000)
    read(story, JOB, of_set(LATE, {"12": 123, "3": 126, "6": 129}), at=STRIP)
    three = story.did(jonah, path, {"position": "CYL-4/set", "set": LATE})
    assert (three["verdict"], three["why"]) == ("doubtful", ["Read at 3 points only: at least 4 are needed."])
    assert layout(story, JOB)["not_considered"] == [{"serial": LATE, "why": "its liner was not read at 9 o'clock"}]
    read(story, JOB, of_set(LATE, {"9": 123}, part_temperature=""), at=STRIP)
    cold = story.did(jonah, path, {"position": "CYL-4/set", "set": LATE})
    assert (cold["verdict"], cold["why"]) == (
        "doubtful",
        ["A temperature is missing: a warm alloy block gives a false height."],
    )
    assert layout(story, JOB)["outcome"] == "doubtful"
    # the marine bench's gauge was due in November; what it reads too decides nothing
    register(story, BEFORE, "QY-HG-1")
    read(story, JOB, of_set(LATE, {"9": 123}, gauge="QY-HG-1"), at=STRIP)
    due = story.did(jonah, path, {"position": "CYL-4/set", "set": LATE})
    assert (due["verdict"], due["why"][-1]) == ("doubtful", "gauge out of date")
    # read again as it should be, it goes before both
    read(story, JOB, of_set(LATE, {"9": 123}), at=STRIP)
    again = story.did(jonah, path, {"position": "CYL-4/set", "set": LATE})
    assert (again["verdict"], again["why"]) == ("pass", [])
    rows = jonah.read(f"jobs/{JOB}/results", kind="protrusion").json()["results"]
    assert [(row["subject"], row["document"]["verdict"], row["stale"]) for row in rows] == [
        ("CYL-1/set", "pass", True),
        ("CYL-1/set", "doubtful", False),
        ("CYL-4/set", "doubtful", True),
        ("CYL-4/set", "doubtful", True),
        ("CYL-4/set", "doubtful", True),
        ("CYL-4/set", "pass", False),
    ]
    none = jonah.send(path, {"position": "HEAD/gasket", "set": "S-0441"})
    assert refused(none) == (422, "height-not-read")
    shim = jonah.send(path, {"position": "CYL-1/set", "set": "S-0441", "shim": "0.05 mm"})
    assert refused(shim) == (422, "stack-refused")
