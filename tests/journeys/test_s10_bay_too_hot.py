"""S10: the bay is at 30 °C and 60 %: 245 s against 240 s, so the sump is not begun alone; with a helper it takes 191 s.

Worked example of the demo shop (invented): 74 + 45 + 18 × 7 = 245 s, half of eight minutes is 240 s, four seconds a bolt 191 s.
"""

from kits.models import Bead, Gate
from tests.journeys.sealed import BEADS, GATES, JOB, answers, at, sump_at_bench
from tests.journeys.shop import Story

HOT = {"temperature": "30 °C", "humidity": "60 %"}


def test_too_hot_alone_in_time_with_a_helper(either_story: Story) -> None:
    sump_at_bench(either_story, "117.1 g")
    jonah, helper = either_story.client("jonah"), {"helper": either_story.x("ines")}
    seen = jonah.read(f"jobs/{JOB}/joints", **HOT).json()["joints"]
    (sump,) = [row for row in seen if row["joint"] == "SUMP"]
    assert (sump["closing"]["needed_ms"], sump["closing"]["allowed_ms"]) == (245_000, 240_000)
    assert (sump["closing"]["in_time"], sump["closing"]["in_time_with_helper"]) == (False, True)
    shut = jonah.send(GATES, answers(20, "117.1 g", **HOT))
    assert (shut.status_code, shut.json()["code"]) == (422, "gate-shut")
    assert [no["question"] for no in shut.json()["values"]["noes"]] == ["helper", "window"]
    assert shut.json()["values"]["noes"][1]["why"] == "sump: closing takes 245 s, 240 s are allowed in this bay"
    assert shut.json()["ways_out"] == ["Name who helps.", "Add a helper: 191 s."]
    assert Gate.objects.count() == 0
    gate = either_story.did(jonah, GATES, answers(25, "117.1 g", **HOT, **helper))
    assert (gate["closing"]["with_helper_ms"], gate["closing"]["window_s"]) == (191_000, 480)


def test_hotter_than_the_sheet_nothing_is_computed_and_a_start_is_signed(either_story: Story) -> None:
    sump_at_bench(either_story, "117.1 g")
    jonah, helper = either_story.client("jonah"), {"helper": either_story.x("ines")}
    beyond = {"temperature": "30.1 °C", "humidity": "60 %"}
    shut = jonah.send(GATES, answers(20, "117.1 g", **beyond, **helper))
    assert [no["question"] for no in shut.json()["values"]["noes"]] == ["sheet"]
    unsigned = jonah.send(GATES, answers(21, "117.1 g", signed_by=either_story.x("edda"), **beyond, **helper))
    assert (unsigned.status_code, unsigned.json()["code"]) == (422, "reason-missing")
    apprentice = jonah.send(
        GATES, answers(22, "117.1 g", signed_by=either_story.x("lio"), because="fans on", **beyond, **helper)
    )
    assert (apprentice.status_code, apprentice.json()["code"]) == (403, "may-not-check")
    signed = {"signed_by": either_story.x("edda"), "because": "the cover is cooled, two fans"}
    gate = either_story.did(jonah, GATES, answers(23, "117.1 g", **signed, **beyond, **helper))
    assert (gate["times"], gate["closing"]["window_s"], gate["closing"]["allowed_ms"]) == (
        "outside the sheet",
        None,
        None,
    )


def test_run_over_its_time_it_is_cleaned_off_and_made_again(either_story: Story) -> None:
    sump_at_bench(either_story, "117.1 g")
    jonah, helper = either_story.client("jonah"), {"helper": either_story.x("ines")}
    either_story.did(jonah, GATES, answers(20, "117.1 g", **HOT, **helper))
    # 240 s are allowed, 300 s were taken; 117.1 - 99.2 = 17.9 g are 13.561 mL
    body = {"started_at": at(21), "ended_at": at(26), "tubes": [{"tube": "OPEN-1", "after": "99.2 g"}]}
    over = either_story.did(jonah, BEADS, body | {"occurred_at": at(30)})
    assert (over["over"], over["drawn_ul"], over["fit"], over["fill_from"]) == (True, 13_561, [], None)
    assert over["say"] == "over its time: clean SUMP off and make it again, make 2"
    tube = over["tubes"][0]["item"]
    fitting = {"fittings": [{"position": "SUMP/bead", "item": tube, "amount": 10_462}], "occurred_at": at(31)}
    closed = jonah.send(f"jobs/{JOB}/fittings", fitting)
    assert (closed.status_code, closed.json()["code"]) == (422, "gate-missing")
    again = either_story.did(jonah, GATES, answers(40, "99.2 g", **helper))
    # The nozzle is primed on this tube already: 10.462 × 1.15 = 12.031 mL
    assert (again["make"], again["planned_ul"], again["closing"]["allowed_ms"]) == (2, 12_031, 300_000)
    body = {"started_at": at(41), "ended_at": at(44), "tubes": [{"tube": "OPEN-1", "after": "83.3 g"}]}
    good = either_story.did(jonah, BEADS, body | {"occurred_at": at(45)})
    # fill after 2 h, run after 12 h at 23 °C and 50 %
    assert (good["over"], good["make"], good["fill_from"], good["run_from"]) == (
        False, 2, "2025-01-29T10:44:00+00:00", "2025-01-29T20:44:00+00:00",
    )  # fmt: skip
    either_story.did(jonah, f"jobs/{JOB}/fittings", {"fittings": good["fit"], "occurred_at": at(46)})
    use = either_story.client("maren").read("sealant-use").json()
    (joint,) = use["joints"]
    # 15.9 g / 1.32 = 12.045 mL; both makes count against their own books
    assert (joint["beads"], joint["jobs"], joint["used_ul"]) == (2, 1, 13_561 + 12_045)
    assert [tubes["adds_up"] for tubes in use["tubes"]] == [True]
    assert Bead.objects.filter(over=True).count() == 1


def test_oil_waits_for_the_sheets_time(either_story: Story) -> None:
    held = sump_at_bench(either_story, "117.1 g")
    jonah, helper = either_story.client("jonah"), {"helper": either_story.x("ines")}
    either_story.did(jonah, GATES, answers(20, "117.1 g", **helper))
    body = {"started_at": at(21), "ended_at": at(24), "tubes": [{"tube": "OPEN-1", "after": "99.2 g"}]}
    either_story.did(jonah, BEADS, body | {"occurred_at": at(30)})
    oil = next(row for row in held["held"] if row["part"] == either_story.x("G-706"))
    fill = {"fittings": [{"position": "OIL/fill", "item": oil["item"], "amount": oil["amount"]}]}
    # fill after 2 h at 23 °C and 50 %: a minute too early, then on the minute
    early = jonah.send(f"jobs/{JOB}/fittings", fill | {"occurred_at": at(24 + 119)})
    assert (early.status_code, early.json()["code"]) == (422, "filled-early")
    either_story.did(jonah, f"jobs/{JOB}/fittings", fill | {"occurred_at": at(24 + 120)})
    # run after 12 h: a minute too early, of the day before only its beginning is certain, then on the minute
    on_the_minute = 24 + 720
    for minutes, day in ((on_the_minute - 1, 0), (on_the_minute + 1440, 0)):
        run = {"run_on": at(day)[:10], "values": [], "occurred_at": at(minutes)}
        early = jonah.send(f"jobs/{JOB}/first-runs", run)
        assert (early.status_code, early.json()["code"]) == (422, "run-early")
    run = {"run_on": at(on_the_minute)[:10], "values": [], "occurred_at": at(on_the_minute)}
    assert either_story.did(jonah, f"jobs/{JOB}/first-runs", run)["early"] == []
