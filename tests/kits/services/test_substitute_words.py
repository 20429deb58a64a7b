"""An engine inside its term: nothing is held instead of a listed part before the owner agreed."""

import pytest

from inventory.models import Balance, Part, Replacement, ReplacementPart
from inventory.services.join_parts import join_parts
from kits.models import Job, SubstituteWord
from kits.services.extras import ask_for_more
from kits.services.found_on_cart import issue_found
from kits.services.hold_kit import hold_kit
from kits.services.substitute_words import record_substitute_word
from kits.services.terms import hand_engine_over
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, held, hold, later, missing, shelve
from tests.factories.stores import NOON, PartFactory, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

WORD = {"job": "J2", "listed": "A-504", "instead": "A-504N", "given_by": "owner", "how": "letter"}
BOLTS = [("main-bolt-rejected", f"MAIN-{n}/bolt-1") for n in (1, 2)]


def in_term():
    """A second job on an engine that went out (24 months, by the family's document), its listed bolts used up."""
    book()
    Job.objects.filter(number="J1").update(state="closed")
    done(hand_engine_over, job="J1", handed_over_on=NOON.date())
    return book("J2", findings=BOLTS)


def replaced():
    PartFactory(number="A-504N", kind="fastener")
    notice = Replacement.objects.create(old=Part.objects.get(number="A-504"), way="one way", fate="use up")
    ReplacementPart.objects.create(replacement=notice, part=Part.objects.get(number="A-504N"))
    shelve({"A-504N": 4})


def test_inside_the_term_the_owners_yes_lets_the_replacement_be_held():
    replaced()
    job = in_term()
    error = refused("substitute-not-agreed", hold_kit, job="J2")
    assert error.values["pairs"] == [{"listed": "A-504", "instead": "A-504N"}]
    assert "term runs to" in error.message
    refused("reason-missing", record_substitute_word, **(WORD | {"how": " "}), agreed=True)
    refused("nothing-given", record_substitute_word, **(WORD | {"instead": "A-504"}), agreed=True)
    refused("not-found", record_substitute_word, **(WORD | {"instead": "A-504Z"}), agreed=True)
    # After a no the rest of the list does not wait: nothing is put in its place, and it is short.
    done(record_substitute_word, **WORD, agreed=False)
    body = hold(job)
    assert (held(body).get("A-504N"), missing(body)["A-504"]) == (None, 2)
    why = next(row["why"] for row in body["shorts"] if row["part"] == "A-504")
    assert why.endswith("; the owner does not want A-504N instead")
    done(record_substitute_word, **WORD, agreed=True)
    body = hold(job)
    taken = [row["hold"] for row in body["held"] if row["part"] == "A-504N"]
    assert taken
    assert done(record_substitute_word, **WORD, agreed=False)["released"] == taken
    kept = SubstituteWord.objects.order_by("pk").values_list("agreed", "given_by", "how")
    assert list(kept) == [(agreed, "owner", "letter") for agreed in (False, True, False)]


def test_one_more_that_replaces_what_is_listed_asks_the_owner_too():
    replaced()
    in_term()
    more = {"job": "J2", "part": "A-504N", "amount": 1, "reason": "dropped", "positions": ["MAIN-1/bolt-1"]}
    refused("substitute-not-agreed", ask_for_more, **more)
    done(record_substitute_word, **WORD, agreed=True)
    assert done(ask_for_more, **more)["short"] == 0


def test_what_is_found_on_the_cart_instead_of_what_is_listed_asks_the_owner_too():
    replaced()
    shelve({"A-504": 2})
    hold(in_term())
    there = Balance.objects.get(part__number="A-504N", place__kind="shelf")
    found = {"job": "J2", "item": there.item_id, "place": there.place.code, "amount": 1, "reason": "lay on the cart"}
    refused("substitute-not-agreed", issue_found, **found, extra_reason="lost")
    done(record_substitute_word, **WORD, agreed=True)
    assert done(issue_found, **found, extra_reason="lost")["extra"] == 1


def test_after_the_term_nobody_is_asked():
    """24 months from 2025-01-15."""
    replaced()
    in_term()
    assert "A-504N" in {row["part"] for row in done(hold_kit, job="J2", stamp=stamp(later(800)))["held"]}


def test_another_record_of_the_number_is_no_other_part():
    job = in_term()
    other = Part.objects.get(number="A-504")
    other.pk, other.number = None, "A 504"
    other.save()
    shelve({"A 504": 2})
    done(join_parts, joined="A 504", kept="A-504", reason="typed twice")
    assert "A 504" in {row["part"] for row in hold(job)["held"]}
