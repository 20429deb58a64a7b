"""S9: the open tube on the tray weighs 30.0 g; the sump draws more than it gives: the nozzle is not cut until a second tube is there.

Worked example of the demo shop (invented): 14.0 mL, 9.2 usable, against a draw of 13.53 mL, with the margin 16.24.
"""

from inventory.models import Balance, Movement
from tests.journeys.sealed import BEADS, GATES, JOB, answers, at, bring, sump_at_bench
from tests.journeys.shop import Story


def test_a_tube_too_empty_keeps_the_gate_shut_until_a_second_is_on_the_tray(either_story: Story) -> None:
    # by its last weighing it held 31.0 mL (52.4 g, 26.2 usable): enough, so it went on the cart alone
    held = sump_at_bench(either_story, "52.4 g")
    assert [row["tube"] for row in held["held"] if row["part"] == either_story.x("G-701")] == ["OPEN-1"]
    jonah, helper = either_story.client("jonah"), {"helper": either_story.x("ines")}
    shut = jonah.send(GATES, answers(20, "30.0 g", **helper))
    assert (shut.status_code, shut.json()["code"]) == (422, "gate-shut")
    # (30.0 - 11.5) / 1.32 = 14.015 mL, less 4.8 that never comes out: 9.215
    (no,) = shut.json()["values"]["noes"]
    assert no == {
        "question": "tube",
        "why": "OPEN-1 gives 9.22 mL, the joint draws 13.53 mL and 16.24 mL are wanted: not enough, not even without the margin",
    }
    assert shut.json()["ways_out"] == ["Put a second tube of the same product on the tray."]
    early = {"started_at": at(22), "ended_at": at(24), "tubes": [{"tube": "OPEN-1", "after": "20 g"}]}
    unopened = jonah.send(BEADS, early | {"occurred_at": at(25)})
    assert (unopened.status_code, unopened.json()["code"]) == (422, "gate-missing")

    asked = {"part": either_story.x("G-701"), "amount": "1 EA", "reason": "wrong on list", "occurred_at": at(30)}
    more = either_story.did(jonah, f"jobs/{JOB}/extras", asked)
    bring(either_story, more, 35)
    gate = either_story.did(jonah, GATES, answers(45, "30.0 g", **helper))
    assert (gate["laid_ul"], gate["planned_ul"], gate["make"]) == (10_462, 13_531, 1)

    # The first tube ran empty in the joint, the second lay ready: no half bead skinned.
    second = more["held"][0]["item"]
    opening = {"place": f"bench {JOB}", "tube": "OPEN-2", "occurred_at": at(46)}
    either_story.did(jonah, f"items/{second}/openings", opening)
    used = [{"tube": "OPEN-1", "after": "17.9 g"}, {"tube": "OPEN-2", "before": "117.1 g", "after": "109.4 g"}]
    laid = either_story.did(
        jonah, BEADS, {"started_at": at(47), "ended_at": at(51), "tubes": used, "occurred_at": at(52)}
    )
    # (30.0 - 17.9) / 1.32 = 9.167 mL and (117.1 - 109.4) / 1.32 = 5.833 mL, by hand
    assert ([row["drawn_ul"] for row in laid["tubes"]], laid["drawn_ul"]) == ([9167, 5833], 15_000)
    assert (laid["over"], laid["taken_ms"], laid["allowed_ms"]) == (False, 240_000, 300_000)
    assert [row["amount"] for row in laid["fit"]] == [9167, 10_462 - 9167]
    either_story.did(jonah, f"jobs/{JOB}/fittings", {"fittings": laid["fit"], "occurred_at": at(53)})
    there = Balance.objects.filter(spot__name="SUMP/bead", amount__gt=0).values_list("amount", flat=True)
    assert sum(there) == 10_462
    tubes = Balance.objects.filter(place__code=f"bench {JOB}", item__tube__isnull=False, amount__gt=0)
    # 17.9 g hold 4.848 mL, 109.4 g hold 74.167 mL
    assert sorted(tubes.values_list("item__tube__number", "amount")) == [("OPEN-1", 4848), ("OPEN-2", 74_167)]
    wasted = Movement.objects.filter(act__kind="lay bead", to_spot__place__kind="scrap")
    assert sum(wasted.values_list("amount", flat=True)) == 15_000 - 10_462
