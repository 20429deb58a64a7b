"""One more, asked in mid-job."""

import pytest

from inventory.models import Part
from inventory.services.join_parts import join_parts
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement, withdraw_replacement
from kits.models import Extra
from kits.queries.to_return import to_return
from kits.services.extras import ask_for_more
from kits.services.hold_kit import hold_kit
from kits.services.left_over import scrap_for_job
from tests.factories.acts import done, refused
from tests.factories.rebuilds import (
    TODAY,
    at_bench,
    book,
    give,
    item_at,
    lying_at,
    put_in,
    shelve,
    take,
)
from tests.factories.stores import PartFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

ASK = {"job": "J1", "part": "A-111", "amount": "1 EA", "reason": "damaged in fitting"}


def rings(count=1, spare=1):
    shelve({"A-111": count + spare, "G-708": 1})
    job = book(findings=[("liner-lifted", f"CYL-{number}") for number in range(1, count + 1)])
    return job, at_bench(job, steps=["P1/10"])


def test_every_extra_has_a_reason_of_the_short_list():
    rings()
    error = refused("reason-missing", ask_for_more, **(ASK | {"reason": "just so"}))
    assert error.values["reasons"] == [
        "found after strip",
        "damaged in fitting",
        "wrong on list",
        "dropped",
        "lost",
        "due after first run",
    ]
    refused("not-found", ask_for_more, **(ASK | {"part": "A-999"}))
    refused("position-unknown", ask_for_more, **(ASK | {"positions": ["CYL-9/base-ring"]}))
    refused("quantity-wrong-dimension", ask_for_more, **(ASK | {"amount": "1 L"}))
    assert Extra.objects.count() == 0


def test_an_extra_is_held_picked_and_handed_over_on_a_list_of_its_own():
    job, _ = rings()
    body = done(ask_for_more, **ASK, positions=["CYL-1/base-ring"])
    assert (body["number"], body["short"], body["why"]) == (2, 0, "")
    assert [(row["lot"], row["amount"], row["place"]) for row in body["held"]] == [("A-111/1", 1, "TB-R07")]
    rows = [row | {"part": "A-111"} for row in body["held"]]
    take({"held": rows, "pick_list": body["pick_list"]})
    give(body)
    assert lying_at(job)["A-111"] == 2
    # The position is served already: the list asks for no second one, and one of the two is spare.
    refused("nothing-to-hold", hold_kit, job="J1", steps=["P1/10"])
    assert {row["part"]: row["amount"] for row in to_return(job, TODAY)["lying"]} == {"A-111": 1}


def test_an_extra_takes_the_place_of_what_was_scrapped():
    job, body = rings()
    item = item_at(body, "CYL-1/base-ring")
    done(scrap_for_job, job="J1", item_id=item, amount=1, reason="cut in fitting", who_pays="job")
    more = done(ask_for_more, **ASK, positions=["CYL-1/base-ring"])
    refused("nothing-to-hold", hold_kit, job="J1", steps=["P1/10"])
    take({"held": [row | {"part": "A-111"} for row in more["held"]], "pick_list": more["pick_list"]})
    give(more)
    put_in(job, ("CYL-1/base-ring", more["held"][0]["item"]))
    assert to_return(job, TODAY) == {"job": "J1", "lying": [], "held": []}


def test_what_the_engines_number_rules_out_is_not_brought_to_it():
    """By a notice; what the parts lines say of numbers is in S3."""
    job, _ = rings(spare=3)
    PartFactory(number="A-111N", kind="O-ring")
    notice = {"fate": "use only below a number", "engine_below": "A4-020450"}
    line = done(add_replacement, line=ReplacementIn("A-111", [NewPart("A-111N")], **notice))
    error = refused("not-for-engine", ask_for_more, **ASK)
    assert error.values["numbers"] == "below A4-020450"
    # An engine that was changed in the field: its number decides nothing.
    type(job.engine).objects.filter(pk=job.engine_id).update(field_modified=True)
    assert done(ask_for_more, **ASK)["short"] == 0
    type(job.engine).objects.filter(pk=job.engine_id).update(field_modified=False)
    done(withdraw_replacement, replacement_id=line["replacement"], reason="a misprint")
    notice |= {"engine_below": "A4-029000"}
    done(add_replacement, line=ReplacementIn("A-111", [NewPart("A-111N")], **notice))
    assert done(ask_for_more, **ASK)["short"] == 0


def test_what_stands_under_another_record_of_the_number_serves_too():
    job, _ = rings(spare=0)
    part = Part.objects.get(number="A-111")
    part.pk, part.number = None, "A 111"
    part.save()
    shelve({"A 111": 1})
    done(join_parts, joined="A 111", kept="A-111", reason="typed twice")
    body = done(ask_for_more, **ASK, positions=["CYL-1/base-ring"])
    assert ([row["lot"] for row in body["held"]], body["short"]) == (["A 111/1"], 0)
    take({"held": [row | {"part": "A 111"} for row in body["held"]], "pick_list": body["pick_list"]})
    give(body)
    assert lying_at(job)["A 111"] == 1


def test_what_the_shelves_lack_is_said():
    rings(spare=0)
    body = done(ask_for_more, **(ASK | {"amount": 2}))
    assert (body["held"], body["short"]) == ([], 2)
    assert body["why"]
