"""Holding a kit: the list of the demo shop on real lots, what is not held twice, what is named as short."""

from datetime import date

import pytest

from inventory.models import Balance, Hold, Part, ShopSetting
from inventory.services.stops import stop_lot
from kits.models import PickList
from kits.queries.scope import job_by_number
from kits.queries.to_return import to_return
from kits.services.dates import move_fit_date
from kits.services.extras import ask_for_more
from kits.services.finish import cancel_job
from kits.services.hold_kit import hold_kit
from kits.services.jobs import withdraw_finding
from kits.services.left_over import ReturnIn, return_unused, scrap_for_job
from kits.services.release import release
from tests.factories.acts import done, refused
from tests.factories.rebuilds import (
    TODAY,
    at_bench,
    book,
    give,
    held,
    hold,
    item_at,
    missing,
    opened,
    person,
    shelve,
    shelve_lot,
    shelve_sets,
    take,
)
from tests.factories.shop import story_shelf
from tests.factories.stores import NOON

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

S1_FINDINGS = [
    ("cylinder-chosen", "CYL-2"),
    ("cylinder-chosen", "CYL-3"),
    *(("valve-removed", f"VALVE-{number}") for number in range(1, 9)),
]


def lots(body):
    """(part, lot, amount) of what was held, as it stands in the outcome."""
    return [(row["part"], row["lot"], row["amount"]) for row in body["held"]]


def test_the_first_story_is_held_whole_and_nothing_is_held_twice():
    # Worked example of the demo shop: two operations that overlap are counted once.
    story_shelf("S1", person("receiver"), NOON)
    job = book("J1072", operations=["P1", "P2", "P3"], findings=S1_FINDINGS)
    body = hold(job)
    assert body["shorts"] == []
    wanted = {
        "A-101": 2, "A-111": 2, "A-203": 1, "A-204": 1, "A-205": 1, "A-210": 8, "A-212": 1, "A-502": 10, "A-503": 4,
        "A-901": 1, "G-701": 1, "G-706": 5_200_000, "G-707": 3_400_000,
    }  # fmt: skip
    got = held(body)
    assert {part: got[part] for part in wanted} == wanted
    assert {"A-201", "A-501"} & got.keys() == set()
    refused("nothing-to-hold", hold_kit, job="J1072")
    assert Hold.objects.count() == len(body["held"])
    assert {row["serial"] for row in body["held"] if row["part"] == "A-101"} == {"S-0431", "S-0432"}


def test_nine_old_bolts_are_no_ten():
    # Story S2 of the demo shop: below the change number the old pair may be used up, but nine bolts are no ten.
    story_shelf("S2", person("receiver"), NOON)
    job = book("J1021", engine="A4-020443", findings=[("head-off", "ENGINE")])
    got = held(hold(job, steps=["P1/50"]))
    assert (got["A-203"], got["A-502"], got.get("A-201", 0), got.get("A-501", 0)) == (1, 10, 0, 0)


def test_what_stock_decided_stays_decided_when_the_stock_changes():
    shelve({"A-201": 1, "A-501": 10})
    job = book("J1", engine="A4-020443", findings=[("head-off", "ENGINE")])
    assert held(hold(job, steps=["P1/50"]))["A-201"] == 1
    shelve({"A-203": 5, "A-502": 50, "A-204": 1, "A-205": 1})
    assert held(hold(job, steps=["P1/50"])) == {"A-204": 1, "A-205": 1}


def test_three_lots_three_jobs_by_day_of_fitting_and_one_that_slips():
    # Story S8 of the demo shop; margin 14 days.
    for lot, count, cure in (("L-A", 8, "2Q18"), ("L-B", 12, "4Q18"), ("L-C", 20, "3Q21")):
        shelve_lot("A-111", count, lot, cure=cure)
    ends = dict(Part.objects.get(number="A-111").lots.values_list("code", "expires_on"))
    part = Part.objects.get(number="A-111")
    for lot, day in (("L-A", date(2025, 4, 10)), ("L-B", date(2025, 9, 30)), ("L-C", date(2028, 6, 30))):
        assert ends[lot] is not None
        part.lots.filter(code=lot).update(expires_on=day)
    four = [("liner-lifted", f"CYL-{number}") for number in range(1, 5)]
    one, three = book("J1", findings=four, fit_on=date(2025, 3, 20)), None
    assert lots(hold(one, steps=["P1/10"])) == [("A-111", "L-A", 4)]
    three = book("J3", engine="A4-020544", findings=four, fit_on=date(2025, 4, 8))
    assert lots(hold(three, steps=["P1/10"])) == [("A-111", "L-B", 4)]
    moved = done(move_fit_date, job="J3", fit_on=date(2025, 5, 2), reason="crank late")
    assert (moved["kept"], moved["replaced"], moved["shorts"]) == (1, [], [])
    two = book("J2", engine="A4-020545", findings=four, fit_on=date(2025, 5, 6))
    assert lots(hold(two, steps=["P1/10"])) == [("A-111", "L-B", 4)]


def test_one_lot_to_an_engine_even_where_another_expires_first():
    for lot, count, cure in (("L-1", 3, "1Q22"), ("L-2", 4, "1Q23")):
        shelve_lot("A-111", count, lot, cure=cure)
    job = book(findings=[("liner-lifted", f"CYL-{number}") for number in range(1, 5)])
    assert lots(hold(job, steps=["P1/10"])) == [("A-111", "L-2", 4)]


def test_two_lots_are_split_by_position_never_within_one():
    for lot, count, cure in (("L-1", 3, "1Q22"), ("L-2", 1, "1Q23")):
        shelve_lot("A-111", count, lot, cure=cure)
    job = book(findings=[("liner-lifted", f"CYL-{number}") for number in range(1, 5)])
    body = hold(job, steps=["P1/10"])
    assert lots(body) == [("A-111", "L-1", 3), ("A-111", "L-2", 1)]
    assert [[share[0] for share in row["positions"]] for row in body["held"]] == [
        ["CYL-1/base-ring", "CYL-2/base-ring", "CYL-3/base-ring"],
        ["CYL-4/base-ring"],
    ]


def test_what_is_picked_in_part_is_held_again_for_the_rest_only():
    shelve({"A-111": 4})
    job = book(findings=[("liner-lifted", f"CYL-{number}") for number in range(1, 5)])
    body = hold(job, steps=["P1/10"])
    take(body, amounts={"A-111": 3})
    again = hold(job, steps=["P1/10"])
    assert [(row["part"], row["amount"], row["positions"]) for row in again["held"]] == [
        ("A-111", 1, [["CYL-4/base-ring", 1, 1]])
    ]
    assert again["number"] == 2


def test_a_released_hold_is_held_again_and_a_short_is_named_with_its_step():
    shelve({"A-111": 1})
    job = book(findings=[("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")])
    body = hold(job, steps=["P1/10"])
    assert missing(body) == {"A-111": 1, "G-708": 1}
    short = next(row for row in body["shorts"] if row["part"] == "A-111")
    assert (short["step"], short["positions"], short["base"]) == ("P1/10", ["CYL-2/base-ring"], "piece")
    done(release, hold=body["held"][0]["hold"], reason="needed elsewhere")
    assert held(hold(job, steps=["P1/10"])) == {"A-111": 1}


def test_a_stopped_lot_is_never_held():
    shelve({"A-111": 2})
    lot = Part.objects.get(number="A-111").lots.get()
    done(stop_lot, lot_id=lot.pk, reason="maker's notice")
    job = book(findings=[("liner-lifted", "CYL-1")])
    assert missing(hold(job, steps=["P1/10"]))["A-111"] == 1


def test_a_lot_named_by_a_person_needs_a_reason_and_a_part_on_the_list():
    for lot, cure in (("L-1", "1Q22"), ("L-2", "1Q23")):
        shelve_lot("A-111", 2, lot, cure=cure)
    job = book(findings=[("liner-lifted", "CYL-1")])
    refused("reason-missing", hold_kit, job="J1", lots={"A-111": ["L-2"]})
    refused("not-on-list", hold_kit, job="J1", lots={"R-111": ["L-2"]}, lots_reason="same as next door")
    body = hold(job, steps=["P1/10"], lots={"A-111": ["L-2"]}, lots_reason="same as next door")
    assert lots(body) == [("A-111", "L-2", 1)]


def test_nothing_chosen_and_nothing_found_is_an_empty_list():
    book()
    error = refused("list-empty", hold_kit, job="J1")
    assert "no condition of its lines is met" in error.message


def test_rubber_that_the_fluid_forbids_is_not_held():
    shelve({"A-111": 2})
    Part.objects.filter(number="A-111").update(compound="EPDM")
    book(findings=[("liner-lifted", "CYL-1")])
    error = refused("wrong-rubber", hold_kit, job="J1")
    assert [(line["part"], line["position"]) for line in error.values["lines"]] == [("A-111", "CYL-1/base-ring")]
    Part.objects.filter(number="A-111").update(compound="")
    refused("wrong-rubber", hold_kit, job="J1")


def test_an_open_measured_choice_brings_every_candidate_once():
    shelve(dict.fromkeys(("A-401", "A-402", "A-403"), 4))
    job = book(findings=[("coolant-in-oil", "ENGINE")])
    body = hold(job, steps=["P1/15"])
    upper = [row for row in body["held"] if row["part"] in ("A-401", "A-402", "A-403")]
    # Five mains, three grades, four on the shelf of each: four mains have all three candidates.
    assert held({"held": upper}) == {"A-401": 4, "A-402": 4, "A-403": 4}
    assert {row["on_approval"] for row in upper} == {True}
    again = hold(job, steps=["P1/15"])
    assert again["held"] == []


def test_a_tube_that_is_short_is_counted_in_unopened_ones():
    shelve({"A-212": 1, "G-710": 2})
    job = book("J1", findings=[("sump-off", "ENGINE")])
    (short,) = [row for row in hold(job, steps=["P1/40"])["shorts"] if row["part"] == "G-701"]
    assert (short["amount"], short["why"]) == (1, "short by 1 unopened: none usable on the shelf")


def test_the_open_tube_of_fourteen_millilitres_is_not_enough_for_the_sump():
    # Story S9 of the demo shop: 9.2 mL usable against a draw of 13.53 mL: a second tube rides along.
    shelve({"G-701": 2, "A-212": 1, "G-710": 2})
    donor = book("J0", engine="A4-020999", findings=[("sump-off", "ENGINE")])
    body = hold(donor, steps=["P1/40"])
    take(body)
    give(body)
    tube = opened(donor, item_at(body, "SUMP/bead"), "T-1")
    content = Balance.objects.get(item=tube, place=donor.bench).amount
    done(
        scrap_for_job, job="J0", item_id=tube, amount=content - 14_000, reason="laid on a trial plate", who_pays="shop"
    )
    done(return_unused, job="J0", returns=[ReturnIn(tube, 14_000)])
    job = book("J1", findings=[("sump-off", "ENGINE")])
    rows = [row for row in hold(job, steps=["P1/40"])["held"] if row["part"] == "G-701"]
    assert sorted((row["tube"], row["amount"]) for row in rows) == [("", 1)]


def test_an_open_tube_that_holds_enough_is_held_as_a_whole():
    shelve({"G-701": 1, "A-212": 2, "G-710": 2})
    donor = book("J0", engine="A4-020999", findings=[("sump-off", "ENGINE")])
    body = hold(donor, steps=["P1/40"])
    take(body)
    give(body)
    tube = opened(donor, item_at(body, "SUMP/bead"), "T-1")
    content = Balance.objects.get(item=tube, place=donor.bench).amount
    done(return_unused, job="J0", returns=[ReturnIn(tube, content)])
    job = book("J1", findings=[("sump-off", "ENGINE")], fit_on=date(2025, 1, 17))
    rows = [row for row in hold(job, steps=["P1/40"])["held"] if row["part"] == "G-701"]
    assert [(row["tube"], row["amount"]) for row in rows] == [("T-1", content)]
    take({"held": rows, "pick_list": PickList.objects.get(job=job).pk})
    refused("nothing-to-hold", hold_kit, job=job.number, steps=["P1/40"])


def test_a_withdrawn_finding_asks_for_nothing_more():
    shelve_sets("A-101", "S-1", "S-2")
    job = book(findings=[("cylinder-chosen", "CYL-1"), ("cylinder-chosen", "CYL-2")])
    findings = list(job.findings.values_list("pk", flat=True))
    done(withdraw_finding, job="J1", finding_id=findings[1], reason="liner is good")
    assert held(hold(job_by_number("J1"), steps=["P1/10"]))["A-101"] == 1


def test_everything_at_the_bench_is_not_held_again():
    shelve({"A-111": 2, "G-708": 1})
    job = book(findings=[("liner-lifted", "CYL-1")])
    at_bench(job, steps=["P1/10"])
    refused("nothing-to-hold", hold_kit, job="J1", steps=["P1/10"])


@pytest.mark.parametrize(
    ("steps", "code"),
    [(["P1/15"], "nothing-to-hold"), (["P1/99"], "step-not-on-job"), (["P1/10", "P9/10"], "step-not-on-job")],
)
def test_steps_that_ask_for_nothing_and_steps_that_are_none(steps, code):
    book(findings=[("liner-lifted", "CYL-1")])
    refused(code, hold_kit, job="J1", steps=steps)


def test_an_ended_job_holds_nothing():
    book(findings=[("liner-lifted", "CYL-1")])
    done(cancel_job, job="J1", reason="sold")
    refused("job-ended", hold_kit, job="J1")
    refused("not-found", hold_kit, job="J99")


def test_a_part_without_a_kind_is_to_be_sorted_before_it_is_issued():
    shelve({"A-111": 4})
    Part.objects.filter(number="A-111").update(kind="")
    job = book(findings=[("liner-lifted", "CYL-1")])
    assert refused("part-to-be-sorted", hold_kit, job="J1").values["parts"] == ["A-111"]
    refused("part-to-be-sorted", ask_for_more, job="J1", part="A-111", amount=1, reason="lost")
    Part.objects.filter(number="A-111").update(kind="O-ring")
    assert held(hold(job))["A-111"] == 1


def rings_of(number, engine, *cylinders):
    return book(number, engine=engine, findings=[("liner-lifted", f"CYL-{cylinder}") for cylinder in cylinders])


def short_of_rings(body):
    """(Pieces, who holds them) of the rings that a hold's outcome names as short."""
    return [(row["amount"], row["held_by"]) for row in body["shorts"] if row["part"] == "A-111"]


def test_who_comes_second_is_told_who_has_it():
    shelve({"A-111": 3})
    assert short_of_rings(hold(rings_of("J10", "A4-020543", 1, 2), steps=["P1/10"])) == []
    assert short_of_rings(hold(rings_of("J9", "A4-020544", 1), steps=["P1/10"])) == []
    # Two others have the three; job 9 stands before job 10, and one's own holds are nobody else's.
    job = rings_of("J11", "A4-020545", 1, 2)
    assert short_of_rings(hold(job, steps=["P1/10"])) == [(2, ["J9", "J10"])]
    shelve_lot("A-111", 1, "NEW", cure="1Q22")
    assert short_of_rings(hold(job, steps=["P1/10"])) == [(1, ["J9", "J10"])]
    assert done(ask_for_more, job="J11", part="A-111", amount=1, reason="lost")["held_by"] == ["J9", "J10"]


def test_what_nobody_holds_or_nobody_could_use_names_nobody():
    assert short_of_rings(hold(rings_of("J1", "A4-020543", 1), steps=["P1/10"])) == [(1, [])]
    # Held for a job that is fitted in time; it would be too old on the day of this one, margin included.
    shelve_lot("A-111", 1, "SOON", cure="1Q22")
    Part.objects.get(number="A-111").lots.update(expires_on=date(2025, 2, 10))
    assert short_of_rings(hold(rings_of("J2", "A4-020544", 1), steps=["P1/10"])) == []
    late = book("J3", engine="A4-020545", findings=[("liner-lifted", "CYL-1")], fit_on=date(2025, 2, 1))
    assert short_of_rings(hold(late, steps=["P1/10"])) == [(1, [])]
    # What was released is nobody's.
    shelve_lot("A-111", 1, "LONG", cure="1Q22")
    body = hold(late, steps=["P1/10"])
    assert short_of_rings(body) == []
    other = rings_of("J4", "A4-020546", 1)
    assert short_of_rings(hold(other, steps=["P1/10"])) == [(1, ["J2", "J3"])]
    done(release, hold=body["held"][0]["hold"], reason="not yet")
    assert short_of_rings(hold(other, steps=["P1/10"])) == []


@pytest.mark.parametrize("unknown", ["density_mg_per_ml", "empty_mg"])
def test_an_open_tube_of_which_nobody_knows_what_it_holds_asks_for_a_new_one(unknown):
    shelve({"G-701": 2, "A-212": 2, "G-710": 2})
    donor = book("J0", engine="A4-020999", findings=[("sump-off", "ENGINE")])
    body = hold(donor, steps=["P1/40"])
    take(body)
    give(body)
    tube = opened(donor, item_at(body, "SUMP/bead"), "T-1")
    done(return_unused, job="J0", returns=[ReturnIn(tube, Balance.objects.get(item=tube, place=donor.bench).amount)])
    Part.objects.filter(number="G-701").update(**{unknown: None})
    job = book("J1", findings=[("sump-off", "ENGINE")], fit_on=date(2025, 1, 17))
    rows = [row for row in hold(job, steps=["P1/40"])["held"] if row["part"] == "G-701"]
    assert [(row["tube"], row["amount"]) for row in rows] == [("", 1)]


def test_a_tube_that_another_job_has_is_named_too():
    shelve({"A-212": 2, "G-701": 1, "G-710": 2})
    sump = [("sump-off", "ENGINE")]
    hold(book("J1", findings=sump), steps=["P1/40"])
    body = hold(book("J2", engine="A4-020544", findings=sump), steps=["P1/40"])
    assert [(row["part"], row["amount"], row["held_by"]) for row in body["shorts"]] == [("G-701", 1, ["J1"])]


@pytest.mark.parametrize(
    ("loose", "there", "held_of_it"), [(True, 20, 2), (False, 20, 10), (False, 17, 10), (False, 7, 7)]
)
def test_a_pack_that_may_not_be_broken_goes_whole(loose, there, held_of_it):
    """Ten to a pack and fewer wanted: loose as many as are wanted, else the whole ten, and the rest comes back unused (common practice)."""
    Part.objects.filter(number="A-111").update(pack=10, loose_issue=loose)
    shelve_lot("A-111", there, "B-1")
    book("J1072", operations=["P1"], findings=S1_FINDINGS[:2])
    (row,) = [row for row in hold(job_by_number("J1072"))["held"] if row["part"] == "A-111"]
    assert (row["amount"], sum(share[2] for share in row["positions"])) == (held_of_it, 2)
    assert Balance.objects.get(part__number="A-111", real=True).held == held_of_it
    assert to_return(job_by_number("J1072"), TODAY)["held"] == []
    more = done(ask_for_more, job="J1072", part="A-111", amount=1, reason="lost")
    left = there - held_of_it
    assert sum(one["amount"] for one in more["held"]) == (1 if loose else min(10, left))
    assert more["short"] == (0 if left else 1)


def test_what_is_kept_of_a_lot_is_named_where_a_job_is_short_of_it():
    ShopSetting.objects.create(name="keep_from", value="2020-01-01")
    shelve_lot("A-111", 2, "LAST", cure="1Q22")
    body = hold(rings_of("J1", "A4-020543", 1, 2), steps=["P1/10"])
    (row,) = [row for row in body["shorts"] if row["part"] == "A-111"]
    assert (row["amount"], row["held_by"]) == (1, [])
    assert row["why"].endswith("1 at TB-R07 is the kept one of lot LAST")
    extra = done(ask_for_more, job="J1", part="A-111", amount=1, reason="lost")
    assert extra["why"].endswith("1 at TB-R07 is the kept one of lot LAST")
