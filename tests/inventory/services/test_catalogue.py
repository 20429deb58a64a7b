"""Entering and changing the catalogue through the services, on the database itself."""

import pytest

from inventory.domain.catalogue import KitLine, PartFacts
from inventory.domain.errors import DomainError
from inventory.models import Act, KitRevision, Part, Refusal, Replacement, Supplier, SupplierPart
from inventory.queries.catalogue import newest_contents
from inventory.services.catalogue import change_part, create_part, create_supplier, sell_part
from inventory.services.replacements import (
    NewPart,
    ReplacementIn,
    add_kit_revision,
    add_replacement,
    withdraw_replacement,
)
from tests.databases import together
from tests.factories.stores import PartFactory, PersonFactory, stamp


@pytest.fixture
def actor(db):
    return PersonFactory()


def new(actor, number="N-1", **more):
    facts = PartFacts(number=number, name="gasket", unit="EA", kind="gasket", **more)
    return create_part(actor=actor, stamp=stamp(), facts=facts)


def code_of(call, **given_values):
    with pytest.raises(DomainError) as refused:
        call(**given_values)
    return refused.value.code


def test_a_new_part_is_an_act_with_its_audit_row(actor):
    done = new(actor, weight_mg=420_000)
    act = Act.objects.get(pk=done.act_id)
    assert (act.kind, act.actor, act.subject) == ("enter part", actor, "N-1")
    part = Part.objects.get()
    assert (part.number, part.compare_key, part.unit, part.base, part.weight_mg, part.version) == (
        "N-1",
        "N1",
        "EA",
        "piece",
        420_000,
        1,
    )


def test_a_refused_part_leaves_the_refusal_and_nothing_else(actor):
    new(actor)
    assert code_of(new, actor=actor, number="N 1") == "number-known"
    assert (Part.objects.count(), Act.objects.count(), Refusal.objects.get().subject) == (1, 1, "N 1")


def test_a_change_keeps_what_it_was_before_in_its_outcome(actor):
    new(actor)
    done = change_part(actor=actor, stamp=stamp(), number="N-1", version=1, changes={"pack": 10, "name": "gasket"})
    assert done.body["changed"] == {"pack": {"from": 1, "to": 10}}
    assert (
        code_of(change_part, actor=actor, stamp=stamp(), number="N-1", version=1, changes={"pack": 5})
        == "version-stale"
    )
    assert (
        code_of(change_part, actor=actor, stamp=stamp(), number="N-1", version=2, changes={"unit": "L"})
        == "part-unusable"
    )
    assert code_of(change_part, actor=actor, stamp=stamp(), number="N-9", version=1, changes={"pack": 5}) == "not-found"
    assert (
        code_of(change_part, actor=actor, stamp=stamp(), number="N-1", version=2, changes={"pack": 10})
        == "nothing-changed"
    )
    assert (Part.objects.get().pack, Part.objects.get().version) == (10, 2)


def test_suppliers_and_their_terms(actor):
    new(actor)
    create_supplier(actor=actor, stamp=stamp(), code="maker", name="The maker", facts={"weeks": 5})
    assert code_of(create_supplier, actor=actor, stamp=stamp(), code="maker", name="x") == "supplier-known"
    assert code_of(create_supplier, actor=actor, stamp=stamp(), code=" ", name="x") == "nothing-given"
    assert code_of(create_supplier, actor=actor, stamp=stamp(), code="x" * 41, name="x") == "text-too-long"
    sell_part(actor=actor, stamp=stamp(), supplier="maker", part="N-1", price_coins=100)
    done = sell_part(actor=actor, stamp=stamp(), supplier="maker", part="N-1", price_coins=120)
    assert (done.body["before"]["price_coins"], SupplierPart.objects.get().price_coins) == (100, 120)
    assert Supplier.objects.get().facts == {"weeks": 5}


def test_replacements_are_checked_as_a_whole_web_and_withdrawn_lines_do_not_count(actor):
    for number in ("A", "B", "C"):
        PartFactory(number=number)

    def add(old, to):
        return add_replacement(actor=actor, stamp=stamp(), line=ReplacementIn(old, [NewPart(to)]))

    first = add("A", "B").body["replacement"]
    add("B", "C")
    assert code_of(add, old="C", to="A") == "replacement-loop"
    withdraw_replacement(actor=actor, stamp=stamp(), replacement_id=first, reason="taken back")
    add("C", "A")
    assert (
        code_of(withdraw_replacement, actor=actor, stamp=stamp(), replacement_id=first, reason="x") == "nothing-changed"
    )
    assert (
        code_of(withdraw_replacement, actor=actor, stamp=stamp(), replacement_id=first, reason=" ") == "reason-missing"
    )
    assert code_of(withdraw_replacement, actor=actor, stamp=stamp(), replacement_id=999, reason="x") == "not-found"
    assert Replacement.objects.filter(withdrawn=False).count() == 2


def test_boxes_keep_the_revision_they_came_with(actor):
    PartFactory(number="K", kind="kit")
    PartFactory(number="A")
    add_kit_revision(actor=actor, stamp=stamp(), kit="K", lines=[KitLine("A", 4)])
    add_kit_revision(actor=actor, stamp=stamp(), kit="K", lines=[KitLine("A", 5)])
    assert newest_contents() == {"K": {"A": 5}}
    kept = [(row.revision, row.contents.get().amount) for row in KitRevision.objects.order_by("revision")]
    assert kept == [(1, 4), (2, 5)]


def test_two_people_who_enter_one_number_at_once_enter_it_once(shop_database):
    people = [PersonFactory() for _ in range(4)]
    ended = together([lambda who=who: new(who) for who in people])
    assert Part.objects.count() == 1
    assert sorted("done" if one.error is None else one.error.code for one in ended) == ["done"] + ["number-known"] * 3


def test_two_people_who_change_one_part_at_once_change_it_once(shop_database):
    people = [PersonFactory() for _ in range(4)]
    new(people[0])

    def change(who, pack):
        return change_part(actor=who, stamp=stamp(), number="N-1", version=1, changes={"pack": pack})

    ended = together([lambda who=who, pack=pack: change(who, pack) for pack, who in enumerate(people, 2)])
    assert Part.objects.get().version == 2
    assert sorted("done" if one.error is None else one.error.code for one in ended) == ["done"] + ["version-stale"] * 3


def test_two_notices_that_close_a_circle_together_do_not_both_stand(shop_database):
    person = PersonFactory()
    for number in ("A", "B"):
        PartFactory(number=number)

    def add(old, to):
        return add_replacement(actor=person, stamp=stamp(), line=ReplacementIn(old, [NewPart(to)]))

    ended = together([lambda: add("A", "B"), lambda: add("B", "A")])
    assert Replacement.objects.count() == 1
    assert sorted("done" if one.error is None else one.error.code for one in ended) == ["done", "replacement-loop"]
