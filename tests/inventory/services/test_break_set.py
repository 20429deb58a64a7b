"""A set broken by damage: one event, no set for sale, orphans in quarantine, one member in scrap, for good."""

from datetime import date

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import SetBreak
from inventory.queries.trace import set_history
from inventory.services import things
from inventory.services.break_set import break_set
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer
from tests.factories.acts import done, ends, gone, held, item, picked, refused, shorts, standing
from tests.factories.stores import PartFactory, PersonFactory, cart, quarantine, shelf, stamp, stock

pytestmark = pytest.mark.django_db
WORDS = {
    "part": "S-1",
    "serial": "S-0441",
    "damaged": "liner",
    "reason": "flange chipped",
    "orphan_place": "Q1",
    "photo_ref": "photo 12",
}


def a_set():
    part = PartFactory(number="S-1", tracked_by="set", unit="SET")
    stock(part, serial="S-0441")
    quarantine("Q1")
    return part


def test_one_break_leaves_no_set_two_orphans_and_one_scrapped_member():
    a_set()
    body = done(break_set, **WORDS)
    assert standing() == [("S-1", "serial=S-0441|member=pin", "Q1", 1), ("S-1", "serial=S-0441|member=piston", "Q1", 1)]
    assert gone("scrap") == [("S-1", "serial=S-0441|member=liner", 1)]
    row = SetBreak.objects.get()
    assert (row.serial.number, row.damaged, row.why) == ("S-0441", "liner", "flange chipped")
    assert [one["member"] for one in body["orphans"]] == ["piston", "pin"]
    assert (body["place"], body["photo"], body["shorts"]) == ("R1", "photo 12", [])


def test_its_hold_ends_with_a_named_short():
    a_set()
    hold = held(item("S-1", "serial=S-0441"), cart("cart J1"), needed_on=date(2025, 3, 1))
    body = done(break_set, **WORDS)
    assert ends() == [(hold.pk, "made impossible")]
    assert shorts() == [(hold.pk, 1)]
    [short] = body["shorts"]
    assert (short["for"], short["part"], short["amount"], short["needed_on"]) == ("cart J1", "S-1", 1, "2025-03-01")
    assert short["why"] == "set S-0441 was broken: flange chipped"


def test_it_can_happen_on_the_cart():
    a_set()
    hold = held(item("S-1", "serial=S-0441"), cart("cart J1"), needed_on=date(2025, 3, 1))
    picked(hold, 1)
    body = done(break_set, **WORDS)
    assert (body["place"], ends()) == ("cart J1", [(hold.pk, "picked")])
    # The job whose cart it is comes up short by name, in the same act.
    assert shorts() == [(hold.pk, 1)]
    [short] = body["shorts"]
    assert (short["for"], short["part"], short["amount"], short["needed_on"]) == ("cart J1", "S-1", 1, "2025-03-01")
    assert short["why"] == "set S-0441 was broken: flange chipped"


def test_not_in_an_engine():
    a_set()
    engine = things.make_place("engine 7", PlaceKind.ENGINE, site=None)
    hold = held(item("S-1", "serial=S-0441"), engine)
    picked(hold, 1)
    error = refused("wrong-place", break_set, **WORDS)
    assert error.ways_out == ("Remove it from the engine first.",)
    assert standing() == [("S-1", "serial=S-0441", "engine 7", 1)]


def test_it_stays_broken():
    part = a_set()
    actor = PersonFactory()
    act = break_set(actor=actor, stamp=stamp(), **WORDS)
    error = refused("set-broken", break_set, **WORDS)
    assert error.values["damaged"] == "liner"
    refused("not-correctable", correct, act_id=act.act_id, reason="was not broken after all")
    refused("set-broken", count, place="R1", lines=[CountLine(1, part="S-1", serial="S-0441")], reason="found")
    with pytest.raises(DomainError) as again:
        stock(part, serial="S-0441")
    assert again.value.code == "set-broken"
    half = item("S-1", "serial=S-0441|member=piston")
    refused("release-needed", transfer, lines=[TransferLine(half.pk, 1, "Q1", "R1")])
    refused("set-broken", release_quarantine, lines=[ReleaseLine(half.pk, 1, "Q1", "R1")])


MISSING = {"part": "S-1", "serial": "S-0441", "missing": ["pin", "piston"], "orphan_place": "Q1"}
MISSING |= {"reason": "the box was opened and held a liner"}


def test_half_of_a_box_is_missing_and_the_other_half_is_an_orphan():
    a_set()
    body = done(break_set, **MISSING)
    assert standing() == [("S-1", "serial=S-0441|member=liner", "Q1", 1)]
    assert gone("scrap") == []
    assert gone("count difference") == [
        ("S-1", "serial=S-0441|member=pin", 1), ("S-1", "serial=S-0441|member=piston", 1)
    ]  # fmt: skip
    assert [(one["member"], one["place"]) for one in body["missing"]] == [("piston", ""), ("pin", "")]
    assert ([one["member"] for one in body["orphans"]], body["damaged"]) == (["liner"], "")
    told = set_history("S-1", "S-0441")
    assert (told.whole, told.damaged, told.missing) == (False, "", ("piston", "pin"))
    error = refused("set-broken", break_set, **WORDS)
    assert "piston and pin missing" in error.message


def test_what_was_missing_is_found_by_a_count_in_quarantine_and_the_set_stays_broken():
    a_set()
    piston = next(one["item"] for one in done(break_set, **MISSING)["missing"] if one["member"] == "piston")
    found = {"lines": [CountLine(1, item_id=piston)], "reason": "lay behind the rack"}
    refused("set-broken", count, place="R1", **found)
    body = done(count, place="Q1", **found)
    assert (body["lines"][0]["said"], body["lines"][0]["last_seen"][:13]) == ("found", "counted short")
    assert standing() == [
        ("S-1", "serial=S-0441|member=liner", "Q1", 1), ("S-1", "serial=S-0441|member=piston", "Q1", 1)
    ]  # fmt: skip
    assert gone("count difference") == [("S-1", "serial=S-0441|member=pin", 1)]
    refused("serial-elsewhere", count, place="Q1", lines=[CountLine(1, item_id=piston, spot="bin 2")], reason="again")
    refused("set-broken", release_quarantine, lines=[ReleaseLine(piston, 1, "Q1", "R1")])


def test_one_member_damaged_and_the_others_missing_leaves_no_orphan():
    a_set()
    body = done(break_set, **{**MISSING, "damaged": "liner", "no_photo": "thrown away before anybody looked"})
    assert (body["orphans"], body["no_photo"]) == ([], "thrown away before anybody looked")
    assert (standing(), gone("scrap")) == ([], [("S-1", "serial=S-0441|member=liner", 1)])


def test_damage_asks_for_its_photo_and_what_is_missing_does_not():
    a_set()
    bare = {name: value for name, value in WORDS.items() if name != "photo_ref"}
    error = refused("photo-asked", break_set, **bare)
    assert error.message == "Where is the photo of the liner of set S-0441 kept?"
    assert error.ways_out == ("Say where the photo is kept.", "Say why there is no photo of it.")
    done(break_set, **bare, no_photo="no light in the bay")
    row = SetBreak.objects.get()
    assert (row.photo_ref, row.no_photo, row.said) == ("", "no light in the bay", "liner damaged")
    told = set_history("S-1", "S-0441")
    assert (told.photo, told.no_photo) == ("", "no light in the bay")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"damaged": ""}, "nothing-given"),
        ({"missing": ["liner"]}, "member-unknown"),
        ({"missing": ["pin", "pin"]}, "member-unknown"),
        ({"missing": ["clip"]}, "member-unknown"),
        ({"damaged": "", "missing": ["liner", "piston", "pin"]}, "not-there"),
        ({"photo_ref": " "}, "photo-asked"),
        ({"no_photo": "none"}, "photo-asked"),
        ({"damaged": "ring"}, "member-unknown"),
        ({"reason": " "}, "reason-missing"),
        ({"serial": "S-9"}, "not-found"),
        ({"part": "S-9"}, "not-found"),
        ({"part": "P-1"}, "not-a-set"),
        ({"orphan_place": "R1"}, "wrong-place"),
    ],
)
def test_what_is_refused_changes_nothing(changed, code):
    a_set()
    PartFactory(number="P-1")
    before = standing()
    refused(code, break_set, **{**WORDS, **changed})
    assert standing() == before
    assert SetBreak.objects.count() == 0


def test_a_set_that_left_the_shop_cannot_be_broken():
    a_set()
    shelf("R2")
    done(count, place="R1", lines=[CountLine(0, part="S-1", serial="S-0441")], reason="not there")
    refused("not-there", break_set, **WORDS)
