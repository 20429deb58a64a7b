"""A part that comes in by a replacement goes only with its companion, on the finished list."""

import pytest

from inventory.domain.companions import Companion
from inventory.models import Hold, Part
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement, withdraw_replacement
from kits.queries.catalogue import procedure, procedure_document
from kits.services.extras import ask_for_more
from kits.services.families import enter_procedure
from kits.services.finish import mark_not_needed
from kits.services.hold_kit import hold_kit
from kits.services.strip import FindIn, find_in_engine
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, held, hold, shelve
from tests.factories.stores import PartFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

FIRST, SECOND = "MAIN-1/bolt-1", "MAIN-1/bolt-2"


def notice(*companions):
    """A new bolt for the old, used only with what is named; its number."""
    PartFactory(number="A-504N", kind="fastener")
    PartFactory(number="PLATE", kind="washer")
    line = ReplacementIn("A-504", [NewPart("A-504N")], companions=[Companion(*one) for one in companions])
    return done(add_replacement, line=line)["replacement"]


def two_bolts():
    return book(findings=[("main-bolt-rejected", FIRST), ("main-bolt-rejected", SECOND)])


def test_what_a_replacement_brings_is_not_released_without_its_companion():
    number = notice(("A-504N", "PLATE", 1), ("A-504", "A-203", 1))
    shelve({"A-504N": 4})
    two_bolts()
    error = refused("companion-missing", hold_kit, job="J1")
    assert error.values == {"companions": [{"part": "A-504N", "needs": "PLATE", "pieces": 1, "there": 0, "bank": ""}]}
    assert error.ways_out == ("A-504N with 1 of PLATE",)
    assert Hold.objects.count() == 0
    # A notice that no longer counts asks for nothing, and brings nothing either.
    done(withdraw_replacement, replacement_id=number, reason="entered twice")
    assert [row["part"] for row in hold(two_bolts_again())["shorts"]] == ["A-504"]


def two_bolts_again():
    return book("J2", engine="A4-020544", findings=[("main-bolt-rejected", FIRST)])


def test_where_the_old_part_is_on_the_shelf_nothing_is_asked():
    notice(("A-504N", "PLATE", 1))
    shelve({"A-504": 4, "A-504N": 4})
    assert held(hold(two_bolts())) == {"A-504": 2}


def test_a_companion_that_stays_in_the_engine_counts():
    notice(("A-504N", "A-203", 1))
    shelve({"A-504N": 4})
    job = two_bolts()
    refused("companion-missing", hold_kit, job="J1")
    done(find_in_engine, job="J1", finds=[FindIn("HEAD/gasket", "A-203")])
    assert held(hold(job)) == {"A-504N": 2}


def test_what_gets_nothing_stays_and_counts():
    notice(("A-504N", "PLATE", 1))
    shelve({"A-504N": 4})
    job = two_bolts()
    done(find_in_engine, job="J1", finds=[FindIn(SECOND, "PLATE")])
    # It would come out at the listed position; where nothing is put in, it stays.
    refused("companion-missing", hold_kit, job="J1")
    done(mark_not_needed, job="J1", positions={SECOND: "the bolt is good"})
    assert held(hold(job)) == {"A-504N": 1}


def test_on_a_v_engine_each_bank_needs_its_own():
    # The two heads of the demo shop's V engine take gaskets of their own: the left one's is no companion on the right.
    PartFactory(number="H-502N", kind="fastener")
    for scope, fits in (("", False), ("bank", False), ("engine", True)):
        companions = [Companion("H-502N", "H-201", 1)]
        line = ReplacementIn("H-502", [NewPart("H-502N")], no_mix_on=scope, companions=companions)
        number = done(add_replacement, line=line)["replacement"]
        job = book(
            f"V{scope}",
            engine=f"H8-0342{len(scope)}",
            operations=["P5"],
            findings=[("head-off", "BANK-LEFT"), ("head-off", "BANK-RIGHT")],
        )
        shelve({"H-502N": 2})
        if fits:
            assert held(hold(job, steps=["P5/30"]))["H-502N"] == 2
        else:
            error = refused("companion-missing", hold_kit, job=job.number)
            assert [(one["part"], one["bank"], one["there"]) for one in error.values["companions"]] == [
                ("H-502N", "RIGHT", 0)
            ]
        done(withdraw_replacement, replacement_id=number, reason="entered for one engine")


def test_one_more_is_not_given_without_its_companion():
    notice(("A-504N", "PLATE", 1))
    shelve({"A-504": 4, "A-504N": 1, "PLATE": 1})
    hold(two_bolts())
    more = {"job": "J1", "amount": 1, "reason": "wrong on list", "positions": [FIRST]}
    error = refused("companion-missing", ask_for_more, part="A-504N", **more)
    assert error.values["companions"] == [{"part": "A-504N", "needs": "PLATE", "pieces": 1, "there": 0, "bank": ""}]
    assert [row["amount"] for row in done(ask_for_more, part="PLATE", **more)["held"]] == [1]
    assert [row["amount"] for row in done(ask_for_more, part="A-504N", **more)["held"]] == [1]


def test_too_few_of_it_are_too_few():
    notice(("A-504N", "A-502", 10))
    shelve({"A-504N": 4})
    two_bolts()
    error = refused("companion-missing", hold_kit, job="J1")
    assert error.message == "A-504N goes only with 10 of A-502; none is there."


def test_the_demo_shops_pairs_are_those_of_its_either_or_group():
    # Ten new bolts with the new gasket, ten old with the old: the notice and the procedure's group say the same.
    shelve({"A-203": 1, "A-502": 10})
    job = book(operations=["P2"])
    totals = held(hold(job))
    assert (totals["A-203"], totals["A-502"]) == (1, 10)
    document = procedure_document(procedure("P2"))
    lines = [line for line in document["lines"] if line["part"] != "A-502"]
    short = [
        {**line, "at": [f"HEAD/bolt-{at:02d}" for at in range(1, 10)]}
        for line in document["lines"]
        if line["part"] == "A-502"
    ]
    assert short
    changed = {**document, "revision": document["revision"] + 1, "lines": [*lines, *short]}
    warnings = done(enter_procedure, document=changed)["warnings"]
    assert [one for one in warnings if "A-203" in one] == [
        "head-joint new: A-203 goes only with 10 of A-502; 9 are there, by the notice of its replacement"
    ]


def test_a_companion_that_cannot_be_is_refused():
    PartFactory(number="A-504N", kind="fastener")
    for wrong in (
        [("A-203", "A-504N", 1)],
        [("A-504N", "A-504N", 1)],
        [("A-504N", "A-203", 0)],
        [("A-504N", "A-203", 1), ("A-504N", "A-203", 2)],
    ):
        line = ReplacementIn("A-504", [NewPart("A-504N")], companions=[Companion(*one) for one in wrong])
        assert refused("replacement-unusable", add_replacement, line=line).values["field"] == "companions"
    line = ReplacementIn("A-504", [NewPart("A-504N")], companions=[Companion("A-504N", "A-999X", 1)])
    refused("not-found", add_replacement, line=line)
    assert Part.objects.get(number="A-504N").replaces.count() == 0
