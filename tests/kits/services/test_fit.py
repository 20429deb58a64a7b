"""Fitting: everything that must be right before a part may go in, each rule by the part that breaks it."""

from datetime import date

import pytest

from inventory.models import Balance, Item, Part, Replacement, ReplacementPart
from inventory.queries.trace import set_history
from inventory.services.break_set import break_set
from inventory.services.stops import stop_lot
from kits.models import Bead, Fitting
from kits.queries.contents import engine_contents
from kits.queries.marks import bores_of
from kits.queries.served import fitted
from kits.queries.story import events
from kits.services.extras import ask_for_more
from kits.services.fit import FitIn, fit, set_bores
from kits.services.jobs import record_choice
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.factories.acts import done, gone, refused
from tests.factories.rebuilds import (
    at_bench,
    book,
    give,
    hold,
    item_at,
    later,
    opened,
    person,
    put_in,
    shelve,
    shelve_lot,
    shelve_sets,
    take,
)
from tests.factories.sealing import sealed
from tests.factories.stores import stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TWO_SETS = [("cylinder-chosen", "CYL-1"), ("cylinder-chosen", "CYL-2")]


def no(code, job, *fittings, **more):
    """Fitting is refused with that code."""
    lines = [one if isinstance(one, FitIn) else FitIn(*one) for one in fittings]
    more.setdefault("actor", person("fitter"))
    return refused(code, fit, job=job.number, fittings=lines, **more)


def rings(count=2, **more):
    shelve({"A-111": count + 2})
    job = book(findings=[("liner-lifted", f"CYL-{number}") for number in range(1, count + 1)], **more)
    body = hold(job, steps=["P1/10"])
    take(body)
    give(body, missing=["G-708"])
    return job, body


def sets():
    shelve_sets("A-101", "S-1", "S-2")
    job = book(findings=TWO_SETS)
    body = hold(job, steps=["P1/10"])
    take(body)
    give(body)
    return job, {row["serial"]: row["item"] for row in body["held"]}


def test_a_ring_goes_from_the_bench_into_its_place():
    job, body = rings()
    item = item_at(body, "CYL-1/base-ring")
    assert put_in(job, ("CYL-1/base-ring", item)).body == {
        "fitted": [
            {
                "position": "CYL-1/base-ring",
                "item": item,
                "part": "A-111",
                "lot": "A-111/1",
                "serial": "",
                "amount": 1,
                "make": 1,
                "reused": False,
                "instead_of": "",
                "lubricant": "",
                "doubtful": "",
            }
        ],
        "cleaned_off": [],
    }
    rows = Balance.objects.filter(item=item, amount__gt=0, place__kind__in=["bench", "engine"])
    assert sorted(rows.values_list("place__kind", "spot__name", "amount")) == [
        ("bench", "-", 1),
        ("engine", "CYL-1/base-ring", 1),
    ]
    assert [one.key for one in fitted(job)] == [("CYL-1/base-ring", 1)]


def test_what_is_not_listed_not_there_or_too_much():
    job, body = rings()
    item = item_at(body, "CYL-1/base-ring")
    no("nothing-given", job)
    no("position-unknown", job, ("CYL-9/base-ring", item))
    no("not-on-list", job, ("CYL-3/base-ring", item))
    no("not-found", job, ("CYL-1/base-ring", 999_999))
    no("amount-not-positive", job, FitIn("CYL-1/base-ring", item, 0))
    no("more-than-listed", job, FitIn("CYL-1/base-ring", item, 2))
    no("not-on-list", job, FitIn("CYL-1/base-ring", item, 1, make=2))
    no("position-taken", job, ("CYL-1/base-ring", item), ("CYL-1/base-ring", item))
    put_in(job, ("CYL-1/base-ring", item))
    # The second ring of the lot does not go into the same groove.
    no("position-taken", job, ("CYL-1/base-ring", item))
    put_in(job, ("CYL-2/base-ring", item))
    done(remove, job="J1", removals=[RemoveIn("CYL-2/base-ring", to="scrap")])
    no("not-there", job, ("CYL-2/base-ring", item))


def test_every_line_is_named_with_the_first_rule_that_says_no():
    job, body = rings()
    item = item_at(body, "CYL-1/base-ring")
    error = no("not-found", job, ("CYL-1/base-ring", item), ("CYL-2/base-ring", 999_999), ("CYL-4/base-ring", item))
    assert [(number, one.code) for number, one in error.errors] == [(2, "not-found"), (3, "not-on-list")]
    assert Fitting.objects.count() == 0


def test_another_part_than_the_list_asks_for():
    shelve({"A-111": 1, "A-104": 4})
    job = book(findings=[("cylinder-chosen", "CYL-1")])
    body = hold(job, steps=["P1/10", "P1/20"])
    take(body)
    give(body, missing=["A-101", "G-708"])
    error = no("wrong-part", job, ("CYL-1/base-ring", item_at(body, "CYL-1/pin-clip-1")))
    assert error.errors[0][1].values["allowed"] == ["A-111"]
    assert "takes A-111, not A-104" in error.message


def test_sets_go_where_they_were_marked_for_and_are_looked_at_by_a_second_person():
    job, items = sets()
    no("checker-missing", job, ("CYL-1/set", items["S-1"]))
    no("same-person", job, ("CYL-1/set", items["S-1"]), checker=person("fitter"))
    no("may-not-check", job, ("CYL-1/set", items["S-1"]), checker=person("apprentice"))
    done(set_bores, job="J1", bores={"CYL-1/set": "S-2", "CYL-2/set": "S-1"}, reason="gauged")
    second = person("checker", "act_check")
    no("wrong-bore", job, ("CYL-1/set", items["S-1"]), checker=second)
    error = no("wrong-bore", job, ("CYL-2/set", items["S-2"]), checker=second)
    assert "CYL-2/set is marked for S-1" in error.message
    put_in(job, ("CYL-1/set", items["S-2"]), ("CYL-2/set", items["S-1"]))
    row = Fitting.objects.get(item=items["S-2"])
    assert (row.fitter.username, row.checker.username) == ("fitter", "checker")


def test_a_new_word_on_a_bore_or_a_set_replaces_the_earlier_one():
    job, items = sets()
    refused("reason-missing", set_bores, job="J1", bores={"CYL-1/set": "S-1"}, reason=" ")
    refused("set-twice", set_bores, job="J1", bores={"CYL-1/set": "S-1", "CYL-2/set": "S-1"}, reason="gauged")
    refused("position-unknown", set_bores, job="J1", bores={"CYL-7/set": "S-1"}, reason="gauged")
    refused("not-found", set_bores, job="J1", bores={"CYL-1/set": "S-9"}, reason="gauged")
    refused("no-bore", set_bores, job="J1", bores={"CYL-1/base-ring": "S-1"}, reason="gauged")
    done(set_bores, job="J1", bores={"CYL-1/set": "S-1"}, reason="gauged")
    done(set_bores, job="J1", bores={"CYL-2/set": "S-1"}, reason="gauged again")
    assert bores_of(job) == {"CYL-2/set": "S-1"}
    put_in(job, ("CYL-2/set", items["S-1"]))
    # The list still stands: a bore is no either/or choice of the family.
    assert hold_again(job) == 0


def hold_again(job):
    shelve({"A-111": 2})
    return sum(row["part"] == "A-101" for row in hold(job, steps=["P1/10"])["held"])


def test_a_new_set_that_was_fitted_dry_may_go_into_another_bore():
    job, items = sets()
    put_in(job, ("CYL-1/set", items["S-1"]))
    no("position-taken", job, ("CYL-1/set", items["S-2"]), checker=person("checker", "act_check"))
    done(remove, job="J1", removals=[RemoveIn("CYL-1/set")])
    assert fitted(job) == []
    put_in(job, ("CYL-2/set", items["S-1"]), ("CYL-1/set", items["S-2"]))
    assert sorted(one.key[0] for one in fitted(job)) == ["CYL-1/set", "CYL-2/set"]


def test_half_a_set_and_a_broken_one():
    job, items = sets()
    done(
        break_set,
        part="A-101",
        serial="S-1",
        damaged="piston",
        reason="dropped",
        orphan_place="TB-QUARANTINE",
        photo_ref="photo 12",
    )
    half = Item.objects.get(serial__number="S-1", member="liner")
    no("half-a-set", job, ("CYL-1/set", half.pk))
    no("set-broken", job, ("CYL-1/set", items["S-1"]))


def test_stopped_expired_and_rubber_that_the_fluid_forbids():
    shelve_lot("A-111", 2, "L-1", cure="2Q18")
    lots = Part.objects.get(number="A-111").lots
    lots.update(expires_on=date(2025, 3, 1))
    job = book(findings=[("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")])
    body = hold(job, steps=["P1/10"])
    take(body)
    give(body, missing=["G-708"])
    item = item_at(body, "CYL-1/base-ring")
    no("expired", job, ("CYL-1/base-ring", item), stamp=stamp(later(46)))
    Part.objects.filter(number="A-111").update(compound="EPDM")
    no("wrong-rubber", job, ("CYL-1/base-ring", item))
    Part.objects.filter(number="A-111").update(compound="HNBR")
    # The last day is a day of use.
    put_in(job, ("CYL-2/base-ring", item), at=later(45))
    done(stop_lot, lot_id=lots.get().pk, reason="maker's notice", stamp=stamp(later(45)))
    no("lot-stopped", job, ("CYL-1/base-ring", item), stamp=stamp(later(45)))


def with_lubricant(position, item, lubricant):
    return [FitIn(position, item, lubricant=lubricant)]


def test_a_wrong_lubricant_is_refused_and_a_right_one_kept_with_the_fitting():
    # HNBR: oil is fine, petroleum jelly and vegetable oil are not, nor dry (common practice, from memory)
    job, body = rings(1)
    item, place = item_at(body, "CYL-1/base-ring"), "CYL-1/base-ring"
    for word in ("petroleum jelly", "vegetable oil", "dry"):
        error = refused(
            "wrong-lubricant", fit, job=job.number, fittings=with_lubricant(place, item, word), stamp=stamp(later(45))
        )
        line = error.errors[0][1]
        assert line.values["allowed"] == ["mineral oil", "silicone grease", "water-based soap"]
        assert line.ways_out == ("Fit it with mineral oil or silicone grease or water-based soap.",)
    error = refused(
        "lubricant-unknown", fit, job=job.number, fittings=with_lubricant(place, item, "butter"), stamp=stamp(later(45))
    )
    assert error.errors[0][1].values == {"lubricant": "butter", "position": place}
    # A part of the catalogue may be named in place of the word.
    made = done(fit, job=job.number, fittings=with_lubricant(place, item, "G-708"), stamp=stamp(later(45)))
    assert made["fitted"][0]["lubricant"] == "water-based soap"
    assert Fitting.objects.get().lubricant == "water-based soap"
    assert [event.said for event in events(job.engine) if event.what == "fitted"] == ["with water-based soap"]


def test_mineral_oil_never_touches_epdm():
    # EPDM: soap or silicone, never mineral oil or petroleum jelly (a seal maker's page, read)
    shelve({"R-111": 2})
    job = book(engine="R6-7309", operations=["P4"], findings=[("liner-lifted", "CYL-1")])
    body = hold(job, steps=["P4/10"])
    take(body)
    give(body, missing=sorted({one["part"] for one in body["shorts"]}))
    item, place = item_at(body, "CYL-1/groove-upper"), "CYL-1/groove-upper"
    for said in ("engine oil", "G-706", "petroleum jelly"):
        error = refused(
            "wrong-lubricant", fit, job=job.number, fittings=with_lubricant(place, item, said), stamp=stamp(later(45))
        )
        assert error.errors[0][1].values["allowed"] == ["silicone grease", "water-based soap"]
    done(fit, job=job.number, fittings=with_lubricant(place, item, "soap"), stamp=stamp(later(45)))
    assert Fitting.objects.get().lubricant == "water-based soap"


def test_an_old_part_of_an_always_new_place_never_goes_back():
    job, _ = rings()
    found = done(find_in_engine, job="J1", finds=[FindIn("CYL-1/base-ring", "A-111", lot="OLD")])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn("CYL-1/base-ring")])
    no("always-new", job, ("CYL-1/base-ring", found))


def test_an_inspected_part_goes_back_where_it_came_from_and_nowhere_else():
    one, two = "PUSHROD-01/pushrod", "PUSHROD-02/pushrod"
    findings = [("pushrod-rejected", "VALVE-01"), ("pushrod-rejected", "VALVE-02")]
    job = book(engine="R6-7309", operations=["P4"], findings=findings)
    found = done(find_in_engine, job="J1", finds=[FindIn(one, "R-603"), FindIn(two, "R-603")])["found"]
    items = {row["position"]: row["item"] for row in found}
    done(remove, job="J1", removals=[RemoveIn(one), RemoveIn(two)])
    no("not-inspected", job, (one, items[one]))
    good = [InspectIn(position, "run-out 0.3 mm", "0.1 mm", True, items[position]) for position in (one, two)]
    done(inspect, job="J1", inspections=good)
    no("wrong-place-of-origin", job, (one, items[two]))
    body = put_in(job, (one, items[one]), (two, items[two])).body
    assert [row["reused"] for row in body["fitted"]] == [True, True]


def test_a_kept_set_that_was_lifted_goes_back_into_its_own_bore():
    job = book(findings=[("liner-lifted", "CYL-1"), ("set-kept", "CYL-1"), ("liner-lifted", "CYL-2")])
    item = done(find_in_engine, job="J1", finds=[FindIn("CYL-1/set", "A-101", serial="S-0007")])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn("CYL-1/set")])
    no("wrong-place-of-origin", job, ("CYL-2/set", item), checker=person("checker", "act_check"))
    no("not-inspected", job, ("CYL-1/set", item), checker=person("checker", "act_check"))
    done(inspect, job="J1", inspections=[InspectIn("CYL-1/set", "bore 86.02 mm", "86.01 mm", True, item)])
    assert put_in(job, ("CYL-1/set", item)).body["fitted"][0]["reused"] is True


def test_a_measured_choice_is_recorded_before_its_part_goes_in():
    position = "MAIN-1/upper-half"
    shelve({"A-401": 5, "A-402": 5, "A-403": 5})
    job = book(findings=[("coolant-in-oil", "ENGINE")])
    body = hold(job, steps=["P1/15"])
    take(body)
    give(body, missing=["lower-half"])
    items = {row["part"]: row["item"] for row in body["held"]}
    second = {"checker": person("checker", "act_check")}
    no("choice-open", job, (position, items["A-402"]), **second)
    done(record_choice, job="J1", choice="upper-half", place=position, alternative="2", reason="bore 62.013 mm")
    no("wrong-part", job, (position, items["A-401"]), **second)
    put_in(job, (position, items["A-402"]))
    assert [one.part for one in fitted(job)] == ["A-402"]


def test_where_none_was_chosen_nothing_goes_in():
    position = "CYL-1/shim"
    shelve({"R-121": 1, "R-122": 1, "R-123": 1, "R-124": 1})
    job = book(engine="R6-7309", operations=["P4"], findings=[("protrusion-low", "CYL-1")])
    body = hold(job, steps=["P4/10"])
    take(body)
    give(body, missing=sorted({row["part"] for row in body["shorts"]}))
    done(record_choice, job="J1", choice="liner-shim", place=position, alternative="none", reason="0.082 mm proud")
    error = no("not-on-list", job, (position, item_at(body, position)))
    assert "takes nothing" in error.message


def test_a_bead_comes_out_of_an_opened_tube_and_the_old_one_is_cleaned_off():
    shelve({"G-701": 1, "A-212": 1, "G-710": 1})
    job = book(findings=[("sump-off", "ENGINE")])
    body = at_bench(job, steps=["P1/40"])
    closed = item_at(body, "SUMP/bead")
    no("tube-not-opened", job, ("SUMP/bead", closed))
    tube = opened(job, closed, "T-1")
    no("gate-missing", job, FitIn("SUMP/bead", tube, 10_462))
    fitter = person("fitter")
    (one,) = sealed(job, {"SUMP/bead": tube}, fitter)
    put_in(job, one)
    no("gate-missing", job, one)
    (other,) = sealed(job, {"SUMP/bead": tube}, fitter)
    again = put_in(job, other).body
    assert again["cleaned_off"] == [{"position": "SUMP/bead", "part": "G-701", "item": tube, "amount": one.amount}]
    # All that both drew is scrap but what stays: what was cleaned off, and the waste of each.
    drawn = sum(Bead.objects.values_list("drawn_ul", flat=True))
    assert sum(amount for _, _, amount in gone("scrap")) == drawn - other.amount
    assert {row[:2] for row in gone("scrap")} == {("G-701", Item.objects.get(pk=tube).identity)}
    inside = Balance.objects.get(place__kind="engine", amount__gt=0)
    assert (inside.spot.name, inside.amount) == ("SUMP/bead", other.amount)


def test_what_may_not_be_mixed_is_refused_at_the_fitting_too():
    job, body = rings()
    ring, other = Part.objects.get(number="A-111"), Part.objects.get(number="R-111")
    notice = Replacement.objects.create(old=ring, way="one way", no_mix_on="engine")
    ReplacementPart.objects.create(replacement=notice, part=other)
    done(find_in_engine, job="J1", finds=[FindIn("CYL-3/base-ring", "R-111")])
    error = no("mixed", job, ("CYL-1/base-ring", item_at(body, "CYL-1/base-ring")))
    assert [row["parts"] for row in error.values["conflicts"]] == [{"A-111": 2, "R-111": 1}]
    assert Fitting.objects.count() == 0


def test_a_part_of_another_kind_than_what_stays_is_not_fitted_before_a_person_chose():
    shelve({"H-206": 1})
    job = book("J1", engine="H8-03412", operations=["P5"], findings=[("head-off", "BANK-LEFT")])
    body = hold(job)
    take(body)
    give(body, missing=sorted({row["part"] for row in body["shorts"]}))
    done(find_in_engine, job="J1", finds=[FindIn("ROCKER-COVER-RIGHT/gasket", "H-205")])
    place = "ROCKER-COVER-LEFT/gasket"
    no("choice-open", job, (place, item_at(body, place)))


def test_a_broken_ring_is_replaced_by_a_ring_set_and_the_set_stays_whole():
    job, items = sets()
    put_in(job, ("CYL-1/set", items["S-1"]))
    shelve({"A-103": 2})
    # A ring is no member of the match: the set is not broken by it, and nothing else brings a ring set to that position.
    error = refused(
        "member-unknown", break_set, part="A-101", serial="S-1", damaged="ring", reason="snapped", orphan_place="TB-QUARANTINE", photo_ref="photo 12"
    )  # fmt: skip
    assert error.ways_out == ("A broken ring is replaced by a ring set; the matched set stays whole.",)
    spare = done(
        ask_for_more, job="J1", part="A-103", amount="1 SET", reason="wrong on list", positions=["CYL-1/rings"]
    )
    take({"held": [row | {"part": "A-103"} for row in spare["held"]], "pick_list": spare["pick_list"]})
    give(spare)
    no("not-on-list", job, ("CYL-1/rings", spare["held"][0]["item"]))
    more = done(
        ask_for_more, job="J1", part="A-103", amount="1 SET", reason="damaged in fitting", positions=["CYL-1/rings"]
    )
    take({"held": [row | {"part": "A-103"} for row in more["held"]], "pick_list": more["pick_list"]})
    give(more)
    no("not-on-list", job, ("CYL-2/rings", more["held"][0]["item"]))
    put_in(job, ("CYL-1/rings", more["held"][0]["item"]))
    inside = {one.position: (one.part, one.serial, one.lot) for one in engine_contents(job.engine)}
    assert inside == {"CYL-1/set": ("A-101", "S-1", ""), "CYL-1/rings": ("A-103", "", "A-103/1")}
    assert set_history("A-101", "S-1").whole
