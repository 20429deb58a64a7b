"""Old units: from the bench, from quarantine, or brought; tagged once; sent back; and what is taken back again."""

from datetime import date

import pytest

from inventory.domain.places import PlaceKind
from inventory.models import Deposit, Item, OldUnit, OldUnitTag
from inventory.queries.old_units import in_state, of_job, old_units, rendered_units
from inventory.services import things
from inventory.services.break_set import break_set
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.old_units import answer_old_unit, record_old_unit, send_back
from inventory.services.scrap import scrap
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer
from tests.factories.acts import done, gone, refused, standing
from tests.factories.cores import brought, crate, maker, paid, pump
from tests.factories.moves import DAY, item_of, move, spot
from tests.factories.stores import NOON, PartFactory, PersonFactory, quarantine, shelf, stamp, stock

pytestmark = pytest.mark.django_db


def row(unit):
    return rendered_units(old_units().filter(pk=unit))[0]


def on_bench(number="PUMP", serial=""):
    """An old pump that came out of an engine to the bench of J1; its item."""
    part = pump(number, "serial" if serial else "nothing")
    stock(part, serial=serial)
    it, bench = item_of(part, serial=serial), things.make_place("bench J1", PlaceKind.BENCH, site=shelf().site)
    move((it, 1, spot(shelf()), spot(bench)))
    return it


def test_an_old_pump_without_a_serial_is_a_thing_of_its_own_and_never_stock():
    crate()
    it = on_bench()
    body = done(
        record_old_unit, item_id=it.pk, place="bench J1", to_place="CRATES", grade="complete", tag="T-17", subject="J1",
        supplier=maker().code,
    )  # fmt: skip
    [unit] = OldUnit.objects.all()
    own = Item.objects.get(pk=body["item"])
    assert own.pk != it.pk
    assert standing() == [("PUMP", f"found=old units, act {unit.act_id}", "CRATES", 1)]
    # 15 January and the maker's 30 days for this part
    assert (body["tag"], body["job"], body["grade"], body["send_back_by"]) == ("T-17", "J1", "complete", "2025-02-14")
    told = row(unit.pk)
    assert (told.tag, told.job, told.open, told.state, told.place) == ("T-17", "J1", False, "here", "CRATES")
    refused("wrong-place", transfer, lines=[TransferLine(own.pk, 1, "CRATES", "R1")])
    refused("wrong-place", release_quarantine, lines=[ReleaseLine(own.pk, 1, "CRATES", "R1")])


def test_one_that_is_kept_in_quarantine_is_not_released_from_there():
    quarantine("Q1")
    shelf("R1")
    unit = brought("T-1", "J1", to_place="Q1")
    refused("lot-unknown", release_quarantine, lines=[ReleaseLine(row(unit).item, 1, "Q1", "R1")])


def test_a_serial_stays_what_it_is_and_is_one_old_unit_at_a_time():
    crate()
    it = on_bench("PUMP-S", "P-1")
    words = {"item_id": it.pk, "to_place": "CRATES", "supplier": maker().code, "subject": "J1"}
    body = done(record_old_unit, place="bench J1", tag="T-1", **words)
    assert (body["item"], body["serial"]) == (it.pk, "P-1")
    assert refused("old-unit-known", record_old_unit, place="CRATES", tag="T-2", **words).values["old_unit"]
    done(send_back, supplier=maker().code, units=[body["old_unit"]])
    # Rebuilt by the maker it comes again under its serial, and goes out again as an old unit of another job.
    stock(it.part, serial="P-1", place=quarantine("Q1"))
    again = done(record_old_unit, **words | {"subject": "J2"}, place="Q1", tag="T-2")
    assert (row(body["old_unit"]).state, row(again["old_unit"]).state) == ("sent back", "here")
    assert row(body["old_unit"]).place == ""


def test_a_customer_s_old_pump_with_a_serial_never_becomes_stock():
    quarantine("Q1")
    shelf("R1")
    pump("PUMP-S", "serial")
    unit = brought("T-1", "J1", part="PUMP-S", serial="P-1", to_place="Q1")
    out = [ReleaseLine(row(unit).item, 1, "Q1", "R1")]
    assert refused("old-unit-known", release_quarantine, lines=out).errors[0][1].values["old_unit"] == unit
    # Sent back, rebuilt and bought again it is the supplier's, and stock like any other.
    done(send_back, supplier=maker().code, units=[unit])
    stock(pump("PUMP-S"), serial="P-1", place=quarantine("Q1"))
    done(release_quarantine, lines=out)
    assert standing() == [("PUMP-S", "serial=P-1", "R1", 1)]


def test_what_is_left_of_a_broken_set_goes_back_as_a_core_too():
    crate()
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-0441")
    quarantine("Q1")
    broke = done(
        break_set,
        part="S-1",
        serial="S-0441",
        damaged="piston",
        reason="dropped",
        orphan_place="Q1",
        photo_ref="photo 12",
    )
    liner = next(one["item"] for one in broke["orphans"] if one["member"] == "liner")
    body = done(record_old_unit, item_id=liner, place="Q1", to_place="CRATES", tag="T-9", subject="J1")
    assert (body["item"], body["serial"]) == (liner, "S-0441")


def test_one_that_was_returned_without_its_tag_stays_open_until_it_is_answered():
    unit = brought(job="J1")
    other = brought()
    assert [(one.id, one.open, one.job) for one in rendered_units(old_units().filter(is_tagged=False).order_by("pk"))] == [
        (unit, True, "J1"), (other, True, "")
    ]  # fmt: skip
    assert gone("owner") == [("PUMP", identity, -1) for _, identity, _, _ in standing()]
    for one in (unit, other):
        error = refused("tag-missing", send_back, supplier=maker().code, units=[one])
        assert error.errors[0][1].ways_out == ("Say whose it is first.",)
    answered = done(
        answer_old_unit, unit=unit, tag="T-3", subject="J7", reason="its clamp is of J7's engine", deposits=[paid()]
    )
    assert (answered["before"], answered["job"], len(answered["deposits"])) == ("", "J7", 1)
    assert (row(unit).open, row(unit).job, row(other).open) == (False, "J7", True)
    assert [one.pk for one in of_job(old_units(), "J7")] == [unit]
    assert not of_job(old_units(), "J1").exists()


def test_two_tags_with_one_text_are_refused_and_a_wrong_one_is_replaced():
    unit, other = brought("T-1", "J1"), brought("T-2", "J2")
    error = refused("old-unit-tagged", answer_old_unit, unit=other, tag="T-1", subject="J2", reason="by the list")
    assert (error.values["old_unit"], error.values["job"]) == (unit, "J1")
    refused("old-unit-tagged", record_old_unit, part="PUMP", to_place="CRATES", tag="T-1", subject="J3")
    told = done(answer_old_unit, unit=other, tag="T-4", subject="J4", reason="the job was read wrongly")
    assert (told["before"], row(other).tag, row(other).job) == ("T-2", "T-4", "J4")
    # a tag that was worn once is not given again
    refused("old-unit-tagged", answer_old_unit, unit=unit, tag="T-2", subject="J1", reason="free again")
    assert OldUnitTag.objects.count() == 3


def test_sent_back_all_or_none_and_taken_back():
    unit, late, bare = brought("T-1", "J1"), brought("T-2", "J2", send_back_by=date(2025, 1, 10)), brought()
    errors = refused("tag-missing", send_back, supplier=maker().code, units=[unit, bare])
    assert [number for number, _ in errors.errors] == [2]
    assert row(unit).state == "here"
    act = send_back(
        actor=PersonFactory(), stamp=stamp(NOON + DAY), supplier=maker().code, units=[unit, late], note="parcel 5"
    )
    assert [(one["tag"], one["job"], one["late"]) for one in act.body["units"]] == [
        ("T-1", "J1", False),
        ("T-2", "J2", True),
    ]
    told = row(unit)
    assert (told.state, told.sent_to, told.sent_on, told.place) == ("sent back", maker().code, date(2025, 1, 16), "")
    assert [amount for _, _, amount in gone("supplier")] == [1, 1]
    refused("old-unit-ended", send_back, supplier=maker().code, units=[unit])
    taken_in = OldUnit.objects.get(pk=unit).act_id
    refused("not-correctable", correct, act_id=taken_in, reason="never was here")
    done(correct, act_id=act.act_id, reason="the parcel came back", stamp=stamp(NOON + 2 * DAY))
    assert (row(unit).state, row(unit).place) == ("here", "CRATES")
    done(correct, act_id=taken_in, reason="never was here", stamp=stamp(NOON + 2 * DAY))
    assert not old_units().filter(pk=unit).exists()
    assert [one.pk for one in in_state(old_units(), "here").order_by("pk")] == [late, bare]


def test_taking_in_is_taken_back_even_where_nothing_moved():
    crate()
    it = on_bench("PUMP-S", "P-1")
    move((it, 1, spot(things.place("bench J1")), spot(things.place("CRATES"))))
    deposit = paid(part=it.part.number)
    words = {"item_id": it.pk, "place": "CRATES", "to_place": "CRATES", "subject": "J1", "deposits": [deposit]}
    act = record_old_unit(actor=PersonFactory(), stamp=stamp(), tag="T-1", **words)
    refused("deposit-tied", record_old_unit, part="PUMP-S", to_place="CRATES", deposits=[deposit])
    done(correct, act_id=act.act_id, reason="it is the customer's new one")
    again = done(record_old_unit, tag="T-2", **words)
    assert Deposit.objects.get().unit_id == again["old_unit"]


def test_one_that_is_not_there_any_more_is_missing():
    unit, other = brought("T-1", "J1"), brought("T-2", "J2")
    done(scrap, place="CRATES", item_id=row(unit).item, amount=1, reason="cracked right through", who_pays="shop")
    done(count, place="CRATES", lines=[CountLine(0, item_id=row(other).item)], reason="not there")
    assert [row(one).state for one in (unit, other)] == ["missing", "missing"]
    assert refused("not-there", send_back, supplier=maker().code, units=[unit])
    assert {one.pk for one in in_state(old_units(), "missing")} == {unit, other}


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"to_place": "R1"}, "wrong-place"),
        ({"to_place": "nowhere"}, "not-found"),
        ({"part": "PUNP"}, "not-found"),
        ({"part": ""}, "nothing-given"),
        ({"part": "OIL"}, "part-unusable"),
        ({"serial": "P-1"}, "serial-not-kept"),
        ({"supplier": "nobody"}, "not-found"),
        ({"deposits": [999]}, "not-found"),
        ({"tag": "T-1", "subject": ""}, "nothing-given"),
        ({"part": "", "item_id": 999, "place": "R1"}, "not-found"),
    ],
)
def test_what_cannot_be_taken_in(changed, code):
    shelf("R1")
    crate()
    pump()
    PartFactory(number="OIL", unit="LTR", base="microlitre", tracked_by="nothing")
    refused(code, record_old_unit, **{"part": "PUMP", "to_place": "CRATES", "subject": "J1"} | changed)
    assert (OldUnit.objects.count(), standing()) == (0, [])


def test_stock_is_no_old_unit_and_what_is_not_there_is_none():
    crate()
    stock(pump(), 2)
    it = item_of(pump())
    refused("wrong-place", record_old_unit, item_id=it.pk, place="R1", to_place="CRATES")
    refused("not-there", record_old_unit, item_id=it.pk, place="CRATES", to_place="CRATES")
    refused("wrong-part", record_old_unit, part="PUMP", to_place="CRATES", deposits=[paid(part=pump("OTHER").number)])


@pytest.mark.parametrize("several", [1, 3])
def test_the_queries_do_not_grow_with_the_list(several, django_assert_num_queries):
    for number in range(several):
        brought(f"T-{number}", "J1", deposits=[paid()])
    with django_assert_num_queries(5):
        assert len(rendered_units(old_units())) == several
