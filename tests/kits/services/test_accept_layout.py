"""Layouts at the bench: liners that stay, shims that are held, what makes a layout stale, what fitting then says."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Item, MatchedSet
from inventory.services.break_set import break_set
from inventory.services.receive import ReceiveLine, SetLabel
from inventory.services.stops import stop_item
from kits.models import AcceptedLayout, JobChoice, JobHold, MeasuredResult
from kits.queries.layouts import layouts_of
from kits.queries.liners import bench_of
from kits.queries.marks import bores_of
from kits.queries.proposals import proposal_of
from kits.queries.weight_groups import weight_groups
from kits.services.accept_layout import BoreIn, accept_layout, withdraw_layout
from kits.services.fit import FitIn, fit, set_bores
from kits.services.jobs import FindingIn, record_findings
from kits.services.readings import ReadingIn, withdraw_reading
from kits.services.release import release
from tests.factories.acts import done, refused
from tests.factories.measuring import DRY, PAST, gauge, read, round_bore, round_set, scales
from tests.factories.rebuilds import TODAY, book, give, hold, item_at, listed, person, put_in, receive_at, shelve, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

#: Above 93 mm: the bores of an Alder-4 at nominal, and sets that stand 75 to 85 µm proud in them.
BORE_UM, SETS_UM = -50, {"S-1": 25, "S-2": 27, "S-3": 30, "S-4": 33, "S-5": 35}
ALL = [("cylinder-chosen", f"CYL-{number}") for number in (1, 2, 3, 4)]


def shelve_sets(part="A-101", weight=416_000, **weights):
    lines = [
        ReceiveLine(part, 1, serial=serial, set_label=SetLabel(weight_mg=mg, weighed="with pin"))
        for serial, mg in (dict.fromkeys(SETS_UM, weight) | weights).items()
    ]
    receive_at(part, lines)


def at_20(readings):
    """Part and gauge at 20 °C: an alloy block needs to know."""
    cool = {"part_temperature": "20 °C", "gauge_temperature": "20 °C"}
    return [ReadingIn(**{name: getattr(one, name) for name in one.__slots__} | cool) for one in readings]


def alder(number="J1", engine="A4-020543", sets=SETS_UM):
    """A job for four new sets, everything read; the outcome of the readings."""
    job = book(number, engine=engine, findings=ALL)
    rows = [one for at in (1, 2, 3, 4) for one in round_bore(f"CYL-{at}", *[BORE_UM] * 4)]
    rows += [one for serial in sets for one in round_set(serial, *[SETS_UM[serial]] * 4)]
    return job, read(number, *at_20(rows))["readings"]


def as_shown(job):
    found = proposal_of(job, TODAY)
    assert found["outcome"] == "certain", found
    return [
        BoreIn(one["position"], one["serial"], one["turn_deg"], one["shim_nm"])
        for one in found["bores"]
        if not one["stays"]
    ]


def accepted(job):
    return done(accept_layout, job=job.number, bores=as_shown(job))


def held_for(job):
    rows = JobHold.objects.filter(job=job, hold__end__isnull=True, hold__item__serial__isnull=False)
    return sorted(rows.values_list("hold__item__serial__number", flat=True))


def item(serial):
    return Item.objects.get(serial__number=serial, member="")


def test_sets_that_were_held_give_way_to_those_of_the_layout():
    gauge("G-1")
    shelve_sets()
    job, _ = alder()
    held = hold(job, steps=["P1/10"])
    assert held_for(job) == ["S-1", "S-2", "S-3", "S-4"]
    done(set_bores, job="J1", bores={"CYL-1/set": "S-4"}, reason="by eye")
    # closest to the target of 85 µm, smallest steps first: 2 µm at most between S-1 S-2 .. and so on; S-2 to S-5
    body = accepted(job)
    chosen = [one["serial"] for one in body["bores"]]
    assert sorted(chosen) == ["S-2", "S-3", "S-4", "S-5"]
    assert [one["serial"] for one in body["released"]] == ["S-1"]
    assert [(one["serial"], one["positions"]) for one in body["held"]] == [
        ("S-5", [[f"CYL-{chosen.index('S-5') + 1}/set", 1, 1]])
    ]
    assert held_for(job) == sorted(chosen)
    assert bores_of(job) == {f"CYL-{at}/set": serial for at, serial in enumerate(chosen, 1)}
    # nothing of the kit is asked for a second time
    assert hold(job)["held"] == []
    lists = {row.pick_list_id for row in JobHold.objects.filter(job=job)}
    assert lists == {held["pick_list"], body["pick_list"]}
    refused("layout-accepted", set_bores, job="J1", bores={"CYL-1/set": "S-1"}, reason="by eye")
    refused("layout-accepted", accept_layout, job="J1", bores=[BoreIn("CYL-1/set", "S-1")])
    # another job cannot have them
    other, _ = alder("J2", "A4-020544", sets=())
    assert bench_of(listed(other)).left_out == dict.fromkeys(chosen, "it is held for another job")
    error = refused("not-free", accept_layout, job="J2", bores=[BoreIn("CYL-1/set", "S-2")])
    assert "held for another job" in error.message
    assert AcceptedLayout.objects.count() == 1


@pytest.mark.parametrize(("point", "stale"), [("with pin", True), ("without pin", False)])
def test_a_piston_weighed_for_the_first_time_asks_for_the_layout_again(point, stale):
    """By their labels the pistons are alike; what the scales say of one since counts before its label, weighed as the limit is stated."""
    gauge("G-1")
    scales("W-1")
    shelve_sets()
    job, _ = alder()
    serial = accepted(job)["bores"][0]["serial"]
    other = next(one for one in SETS_UM if one not in held_for(job))
    assert layouts_of(job)[0].stands
    read("J1", ReadingIn("weight", "430 g", "W-1", set=other, point=point))
    assert layouts_of(job)[0].stands
    (row,) = read("J1", ReadingIn("weight", "430 g", "W-1", set=serial, point=point))["readings"]
    why = (f"reading {row['id']} of {serial} was taken since it was judged",)
    assert layouts_of(job)[0].why == (why if stale else ())


@pytest.mark.parametrize("how", ["broken", "stopped", "released"])
def test_it_is_stale_when_something_under_it_gives_way_and_another_takes_its_place(how):
    gauge("G-1")
    shelve_sets()
    job, _ = alder()
    body = accepted(job)
    first = body["bores"][0]
    serial = first["serial"]
    if how == "broken":
        done(
            break_set,
            serial=serial,
            part="A-101",
            damaged="piston",
            reason="ring land chipped",
            orphan_place="TB-QUARANTINE",
            photo_ref="photo 12",
        )
    elif how == "stopped":
        done(stop_item, item_id=item(serial).pk, reason="asked about")
    elif how == "released":
        row = JobHold.objects.get(job=job, hold__item=item(serial), hold__end__isnull=True)
        done(release, hold=row.hold_id, reason="lent")
    (now,) = layouts_of(job)
    assert not now.stands
    assert serial in now.why[0]


def on_scales(**grams):
    """Weights of the pistons of these sets, read on scales W-1; ids of the readings by serial."""
    lines = [ReadingIn("weight", f"{g} g", "W-1", set=serial, point="with pin") for serial, g in grams.items()]
    return {row["set"]: row["id"] for row in read("J1", *lines)["readings"]}


def test_a_weight_under_a_layout_that_is_withdrawn_makes_it_stale():
    gauge("G-1")
    scales("W-1")
    shelve_sets()
    job, _ = alder()
    ids = on_scales(**dict.fromkeys(SETS_UM, 416))
    chosen = {one["serial"] for one in accepted(job)["bores"]}
    (now,) = layouts_of(job)
    assert now.stands
    assert {ids[serial] for serial in ids if serial in chosen} == set(ids.values()) & set(now.readings)
    done(withdraw_reading, job="J1", reading_id=ids[min(chosen)], reason="weighed with its rings on")
    (now,) = layouts_of(job)
    assert not now.stands
    assert "weighed with its rings on" in now.why[0]


def test_scales_out_of_date_make_no_layout_certain_and_weights_that_disagree_leave_the_set_out():
    gauge("G-1")
    scales("W-1", due=PAST)
    scales("W-2")
    shelve_sets()
    job, _ = alder()
    on_scales(**dict.fromkeys(SETS_UM, 416))
    found = proposal_of(job, TODAY)
    assert found["outcome"] == "doubtful"
    assert {why.partition(": ")[2] for why in found["why"]} == {"gauge out of date"}
    again = [ReadingIn("weight", "416 g", "W-2", set=serial, point="with pin") for serial in SETS_UM]
    read("J1", *again)
    assert proposal_of(job, TODAY)["outcome"] == "certain"
    # 1 g apart on scales with U = 0.2 g: a third is asked for, and the label does not stand in for it
    read("J1", ReadingIn("weight", "417 g", "W-2", set="S-2", point="with pin"))
    assert (
        "weight of the piston"
        in {row["serial"]: row["why"] for row in proposal_of(job, TODAY)["not_considered"]}["S-2"]
    )


def test_a_label_that_was_weighed_without_the_pin_is_not_mixed_with_those_that_were_with_it():
    gauge("G-1")
    scales("W-1")
    shelve_sets()
    job, _ = alder()
    MatchedSet.objects.filter(serial__number__in=("S-1", "S-2")).update(weighed="without pin")
    said = "its label says a weight without pin, the limit is of pistons with pin: weigh it"
    left = proposal_of(job, TODAY)
    assert left["not_considered"] == [{"serial": serial, "why": said} for serial in ("S-1", "S-2")]
    shelf = weight_groups("Alder-4", "TB")
    assert shelf["not_considered"] == left["not_considered"]
    # on the scales with its pin it is compared again
    read("J1", *[ReadingIn("weight", "416 g", "W-1", set=serial, point="with pin") for serial in ("S-1", "S-2")])
    assert proposal_of(job, TODAY)["not_considered"] == []


CLOCK = ("12", "3", "6", "9")


def all_round(what, value, **more):
    return [ReadingIn(what, value, "G-1", point=point, **DRY | more) for point in CLOCK]


def loose(job):
    """(part, positions, on approval) of the open holds on things without a serial."""
    rows = JobHold.objects.filter(job=job, hold__end__isnull=True, hold__item__serial__isnull=True)
    return [
        (part, [share[0] for share in shares], approval)
        for part, shares, approval in rows.order_by("hold_id").values_list(
            "hold__item__part__number", "positions", "on_approval"
        )
    ]


def test_top_flange_shims_are_held_and_liners_that_stay_are_gauged_over_the_deck():
    """Flange 9.030, counterbore 9.015: 15 µm; on the 0.05 shim 65 µm passes (worked example). The other five liners stay."""
    gauge("G-1")
    scales("W-1")
    shelve_sets("R-101", weight=1_640_000)
    shelve({"R-121": 2, "R-122": 1, "R-123": 1, "R-124": 1})
    job = book("J1", engine="R6-7309", operations=["P4"], findings=[("cylinder-chosen", "CYL-1")])
    rows = all_round("flange-thickness", "9.030 mm", set="S-1") + all_round(
        "counterbore-depth", "9.015 mm", place="CYL-1"
    )
    read("J1", *rows)
    stay = (2, 3, 4, 5, 6)
    missing = proposal_of(job, TODAY)["missing"]
    assert [line.split(":")[0] for line in missing] == [f"CYL-{at}" for at in stay for _ in range(3)]
    over = [one for at in stay for one in all_round("protrusion", "0.070 mm", place=f"CYL-{at}")]
    weights = [ReadingIn("weight", "1638 g", "W-1", place=f"CYL-{at}", point="with pin") for at in stay]
    read("J1", *over, *weights)
    found = proposal_of(job, TODAY)
    # The torque is quoted with where it stands, never computed.
    clamping = {"bolts": 4, "torque": "60 N·m", "from": "Rowan-6 bench book, invented, edition 3, page 41"}
    assert found["gauging"]["clamping"] == clamping
    assert (found["outcome"], found["shims"]) == ("certain", 1)
    assert [(one["serial"], one["stays"], one["shim_nm"]) for one in found["bores"]] == [
        ("S-1", False, 50_000),
        *((f"liner of CYL-{at}", True, 0) for at in stay),
    ]
    error = refused("not-on-list", accept_layout, job="J1", bores=as_shown(job))
    assert "the layout wants R-121" in error.message
    assert (MeasuredResult.objects.count(), JobHold.objects.count()) == (0, 0)
    done(record_findings, job="J1", findings=[FindingIn("protrusion-low", "CYL-1")])
    hold(job, steps=["P4/10"])
    shim = ["CYL-1/shim"]
    assert loose(job) == [(part, shim, True) for part in ("R-121", "R-122", "R-123", "R-124")]
    body = accepted(job)
    assert (loose(job), body["held"], body["shorts"]) == ([("R-121", shim, True)], [], [])
    choice = JobChoice.objects.get(choice="liner-shim")
    assert (choice.place, choice.alternative) == ("CYL-1/shim", "0.05")
    assert [line.part for line in listed(job).lines if "CYL-1/shim" in {key[0] for key in line.keys}] == ["R-121"]


def test_a_liner_goes_onto_the_shim_of_its_layout_and_onto_no_other_and_not_without_it():
    """The worked example's flange and counterbore: 65 µm on the 0.05 shim; on the 0.10 shim 115 µm would be doubtful."""
    gauge("G-1")
    scales("W-1")
    shelve_sets("R-101", weight=1_640_000)
    shelve({"R-121": 1, "R-122": 1, "R-123": 1, "R-124": 1})
    found = [("cylinder-chosen", "CYL-1"), ("protrusion-low", "CYL-1")]
    job = book("J1", engine="R6-7309", operations=["P4"], findings=found)
    stay = (2, 3, 4, 5, 6)
    rows = all_round("flange-thickness", "9.030 mm", set="S-1") + all_round(
        "counterbore-depth", "9.015 mm", place="CYL-1"
    )
    rows += [one for at in stay for one in all_round("protrusion", "0.070 mm", place=f"CYL-{at}")]
    rows += [ReadingIn("weight", "1638 g", "W-1", place=f"CYL-{at}", point="with pin") for at in stay]
    read("J1", *rows)
    body = hold(job, steps=["P4/10"])
    take(body)
    give(body)
    shims = {row["part"]: row["item"] for row in body["held"] if row["part"].startswith("R-12")}
    accepted(job)
    wrong = [FitIn("CYL-1/shim", shims["R-122"])]
    error = refused("wrong-part", fit, job="J1", fittings=wrong, actor=person("fitter"))
    assert error.errors[0][1].values["allowed"] == ["R-121"]
    liner = [FitIn("CYL-1/set", item("S-1").pk)]
    people = {"actor": person("fitter"), "checker": person("checker", "act_check")}
    bare = refused("shim-missing", fit, job="J1", fittings=liner, **people)
    assert (bare.errors[0][1].values["under"], bare.errors[0][1].values["part"]) == ("CYL-1/shim", "R-121")
    put_in(job, ("CYL-1/shim", shims["R-121"]), *((one.position, one.item) for one in liner))


def test_a_base_ring_is_chosen_for_all_and_what_no_shelf_has_is_named():
    """Liner 61.000, ledge 61.840: on the 0.90 ring 0.060 (the shop's own check at nominal); on the 1.00 ring 0.160 fails."""
    gauge("G-1")
    shelve_sets("L-101", weight=900_000)
    shelve({"L-121": 2})
    findings = [("cylinder-chosen", f"CYL-{at}") for at in (1, 2, 3)]
    job = book("J1", engine="L3-00885", operations=["P6"], findings=findings)
    read(
        "J1",
        *(one for at in (1, 2, 3) for one in all_round("block-depth", "61.840 mm", place=f"CYL-{at}")),
        *(one for serial in ("S-1", "S-2", "S-3") for one in all_round("liner-height", "61.000 mm", set=serial)),
    )
    found = proposal_of(job, TODAY)
    assert (found["outcome"], found["ring_nm"]) == ("certain", 900_000)
    assert [one["heights"][0]["nm"] for one in found["bores"]] == [60_000] * 3
    refused("stack-refused", accept_layout, job="J1", bores=as_shown(job), ring_nm=0)
    refused("layout-not-kept", accept_layout, job="J1", bores=as_shown(job), ring_nm=1_000_000)
    body = done(accept_layout, job="J1", bores=as_shown(job), ring_nm=900_000)
    assert [(part, places) for part, places, _ in loose(job)] == [
        ("L-121", ["CYL-1/base-ring"]),
        ("L-121", ["CYL-2/base-ring"]),
    ]
    assert [(row["part"], row["positions"]) for row in body["shorts"]] == [("L-121", ["CYL-3/base-ring"])]
    rows = JobChoice.objects.filter(choice="base-ring")
    assert list(rows.values_list("place", "alternative")) == [("ENGINE", "0.90")]
    take(body)
    give(body, missing=["L-121"])
    sets = {row["positions"][0][0]: row["item"] for row in body["held"] if row["serial"]}
    people = {"actor": person("fitter"), "checker": person("checker", "act_check")}
    both = [FitIn(f"CYL-{at}/set", sets[f"CYL-{at}/set"]) for at in (1, 3)]
    ring = FitIn("CYL-1/base-ring", item_at(body, "CYL-1/base-ring"))
    bare = refused("shim-missing", fit, job="J1", fittings=[*both, ring], **people)
    assert [(line, one.values["under"], one.values["part"]) for line, one in bare.errors] == [
        (2, "CYL-3/base-ring", "L-121")
    ]
    put_in(job, both[0], ring)


def test_one_bank_is_laid_out_by_itself_and_the_pistons_of_the_other_count():
    gauge("G-1")
    scales("W-1")
    shelve_sets("H-101", weight=460_000, **{"S-5": 466_000})
    findings = [("cylinder-chosen", f"CYL-{at}") for at in (1, 2, 3, 4)]
    job = book("J1", engine="H8-03312", operations=["P5"], findings=findings)
    rows = [one for at in (1, 2, 3, 4) for one in all_round("block-depth", "101.430 mm", place=f"CYL-{at}")]
    rows += [one for serial in SETS_UM for one in all_round("liner-height", "101.500 mm", set=serial)]
    read("J1", *at_20(rows))
    found = proposal_of(job, TODAY)
    assert ([one["head"] for one in found["bores"]], found["outcome"]) == (["LEFT"] * 4, "doubtful")
    assert found["why"] == ["the weight of a piston under a head that stays closed is not known"]
    read("J1", *(ReadingIn("weight", "462 g", "W-1", place=f"CYL-{at}", point="with pin") for at in (5, 6, 7, 8)))
    found = proposal_of(job, TODAY)
    assert (found["outcome"], [one["serial"] for one in found["bores"]]) == ("certain", ["S-1", "S-2", "S-3", "S-4"])
    assert bench_of(listed(job)).bench.elsewhere == (462_000,) * 4


def queries_of(call, *args):
    with CaptureQueriesContext(connection) as caught:
        call(*args)
    return len(caught)


def test_as_many_queries_for_three_layouts_and_six_sets_as_for_one_and_five():
    gauge("G-1")
    shelve_sets()
    job, _ = alder()
    body = accepted(job)
    one, five = queries_of(layouts_of, job), queries_of(proposal_of, job, TODAY)
    for _ in range(2):
        done(withdraw_layout, job="J1", layout=body["layout"], reason="gauged again")
        body = accepted(job)
    receive_at(
        "A-101", [ReceiveLine("A-101", 1, serial="S-6", set_label=SetLabel(weight_mg=416_000, weighed="with pin"))]
    )
    read("J1", *at_20(round_set("S-6", *[31] * 4)))
    assert [layout.withdrawn for layout in layouts_of(job)] == ["", "gauged again", "gauged again"]
    assert len(bench_of(listed(job)).bench.sets) == 6
    assert (queries_of(layouts_of, job), queries_of(proposal_of, job, TODAY)) == (one, five)


def test_a_set_that_was_gauged_on_another_job_is_not_gauged_again():
    gauge("G-1")
    shelve_sets()
    alder("J1")
    job, _ = alder("J2", "A4-020544", sets=("S-1",))
    found = proposal_of(job, TODAY)
    assert (found["outcome"], found["not_considered"]) == ("certain", [])
    # what was read on this job counts, and not what an earlier job read
    read("J2", *at_20(round_set("S-2", *[-40] * 4)))
    assert {one["serial"] for one in proposal_of(job, TODAY)["bores"]} == {"S-1", "S-3", "S-4", "S-5"}
