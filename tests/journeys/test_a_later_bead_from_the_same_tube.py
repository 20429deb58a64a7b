"""Two joints are opened after the kit went to the bench: the rest of the tube that is there closes both, and no other tube comes.

Beads of the demo shop (invented): the tube holds 31.0 mL by weight, 26.2 usable; the sump draws 13.53, the rear carrier 3.02, the timing
cover 6.15 mL with waste and priming, and 1.2 times that is wanted.
"""

from tests.journeys.sealed import JOB, at, sump_at_bench
from tests.journeys.shop import Story, totals


def test_a_joint_found_later_brings_no_tube_while_the_rest_closes_it(either_story: Story) -> None:
    sump_at_bench(either_story, "52.4 g")
    jonah, sealant = either_story.client("jonah"), either_story.x("G-701")
    added = [{"code": either_story.x(code), "place": "ENGINE"} for code in ("carrier-off", "cover-off")]
    either_story.did(jonah, f"jobs/{JOB}/findings", {"findings": added, "occurred_at": at(20)})
    poured = [line for line in either_story.list_of(JOB)["lines"] if line["part"] == sealant]
    assert sorted(line["amount"] for line in poured) == [1319, 4043, 10_462]
    more = either_story.did(jonah, f"jobs/{JOB}/holds", {"occurred_at": at(30)})
    assert totals(more["held"]) == either_story.named({"G-710": 2})
    assert sealant not in [row["part"] for row in more["shorts"]]


def test_a_rest_that_is_too_small_brings_one_more_tube(either_story: Story) -> None:
    # 46.0 g are 26.14 mL, 21.34 usable: 7.81 beyond the sump close the carrier (3.62 wanted), 4.79 are too little for the cover (7.38)
    sump_at_bench(either_story, "46.0 g")
    jonah = either_story.client("jonah")
    added = [{"code": either_story.x(code), "place": "ENGINE"} for code in ("carrier-off", "cover-off")]
    either_story.did(jonah, f"jobs/{JOB}/findings", {"findings": added, "occurred_at": at(20)})
    more = either_story.did(jonah, f"jobs/{JOB}/holds", {"occurred_at": at(30)})
    assert totals(more["held"]) == either_story.named({"G-710": 2, "G-701": 1})
    (tube,) = [row for row in more["held"] if row["part"] == either_story.x("G-701")]
    assert (tube["tube"], [share[0] for share in tube["positions"]]) == ("", ["TIMING-COVER/bead"])
