"""The guards in the database itself: each stands there, and each refuses."""

from dataclasses import replace

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction

from api.tables.read import read_table
from inventory.domain.items import Member
from inventory.domain.transfers import How
from inventory.models import (
    Act,
    Balance,
    CoreValue,
    Deposit,
    DepositEntry,
    Item,
    Movement,
    OldUnitTag,
    Part,
    Refusal,
    Serial,
    SetMatchMember,
)
from inventory.models.guards import APPEND_ONLY, names, present
from inventory.services import things
from inventory.services.assemble_kit import LimbIn, assemble_kit
from inventory.services.break_set import break_set
from inventory.services.bring_in import Answer, answer_table, book_table, keep_table, read_table_rows
from inventory.services.core_value import decide_core_value
from inventory.services.count import CountLine, count
from inventory.services.count_sheets import post_sheet
from inventory.services.demand_marks import mark_demand
from inventory.services.explain_transfer import explain_in_transit
from inventory.services.extend_life import extend_life
from inventory.services.invoices import enter_invoice
from inventory.services.join_parts import join_parts
from inventory.services.late_acts import answer_clash, keep_refused
from inventory.services.matching import make_set, members
from inventory.services.off_job import LeavingLine, sell_at_counter, take_back_sold
from inventory.services.old_units import send_back
from inventory.services.photos import enter_photo
from inventory.services.put_right import relabel_set, set_lot_dates
from inventory.services.receive import ReceiveLine, SetLabel
from inventory.services.run import run
from inventory.services.safety_sheets import enter_safety_sheet, sign_safety_sheets
from inventory.services.scrap import scrap
from inventory.services.sheets import enter_sheet, sign_sheet
from inventory.services.stops import free_lot, stop_lot
from inventory.services.storage import TemperatureIn, log_temperatures, offer_storage, withdraw_temperature
from inventory.services.take_transfer import TakeLine
from inventory.services.transfer import TransferLine, transfer
from kits.models.guards import APPEND_ONLY as OF_KITS
from kits.services.kept import release_kept
from kits.services.lending import lend
from kits.services.loan_ends import give_back_loan
from tests.factories.acts import done, held, item, refused
from tests.factories.cores import brought, maker, paid
from tests.factories.counting import entered, minutes, sheet_of
from tests.factories.keeping import rings
from tests.factories.lending import lending
from tests.factories.orders import came, every_row
from tests.factories.stores import NOON, OwnerFactory, PartFactory, PersonFactory, cart, quarantine, shelf, stamp, stock
from tests.factories.stores_kits import kit
from tests.factories.vans import road
from tests.factories.workshop import workshop

ALL = (*APPEND_ONLY, *OF_KITS)


def columns(table: str) -> list[str]:
    with connection.cursor() as cursor:
        return [column.name for column in connection.introspection.get_table_description(cursor, table)]


def attempt(sql: str, parameters=()) -> str:
    """ "refused" by a guard or constraint, or "done"; whatever it did is undone."""
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                cursor.execute(
                    "SET CONSTRAINTS ALL IMMEDIATE"
                )  # a table with checks still waiting is not truncated at all
            cursor.execute(sql, parameters)
            transaction.set_rollback(True)
    except IntegrityError as error:
        return "refused" if "written once" in str(error) else f"refused by something else: {error}"
    return "done"


@pytest.mark.django_db
def test_every_guard_of_both_apps_stands_in_the_database_and_no_other():
    expected = sorted(name for table in ALL for name in names(table, connection.vendor))
    assert sorted(present("default")) == expected


@pytest.mark.django_db
def test_the_lists_name_tables_that_exist_once():
    tables = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    assert sorted(set(ALL) - tables) == []
    assert len(set(ALL)) == len(ALL)


def matched_again():
    """A set of what S-2 and S-3 left; what is asked of readings before is not in it."""
    part = Part.objects.get(number="S-1")
    for serial, damaged in (("S-2", "piston"), ("S-3", "liner")):
        stock(part, serial=serial)
        done(
            break_set,
            part="S-1",
            serial=serial,
            damaged=damaged,
            reason="bent",
            orphan_place="Q1",
            photo_ref="photo 12",
        )
    ids = {Member.LINER: item("S-1", "serial=S-2|member=liner").pk} | {
        member: item("S-1", f"serial=S-3|member={member.value}").pk for member in (Member.PISTON, Member.PIN)
    }

    def work(act):
        return make_set(act, part, "S-4", members(part, ids), SetLabel(), act.actor)

    run("match set", work, actor=PersonFactory(), stamp=stamp(), request={})


def table_brought_in():
    """A table of two rows about one supplier, one of them left out."""
    content = b"code,name\nM8,one\nM8,two\n"
    number = done(keep_table, kind="suppliers", name="s.csv", content=content, reader=read_table)["import"]
    done(read_table_rows, file_id=number, rows=read_table(content, "s.csv").rows)
    done(answer_table, file_id=number, answers=[Answer(3, "", "leave out")])
    done(book_table, file_id=number)


def stored(ring):
    """A word, a log and a check of how things are stored."""
    done(offer_storage, place="R1", high="30 °C")
    readings = [TemperatureIn(NOON, "21 °C", "T-1")]
    (reading,) = done(log_temperatures, place="R1", readings=readings)["readings"]
    done(withdraw_temperature, reading=reading["id"], reason="it lay in the sun")
    Part.objects.filter(number="R-1").update(storage={"high": "25 °C"}, kind="O-ring")
    shelf("R2")
    line = TransferLine(ring.pk, 1, "R1", "R2")
    done(transfer, lines=[line], storage_word="for an hour")
    done(count, place="R2", lines=[CountLine(1, item_id=ring.pk)], looked_at=["O-ring"])


def lent_and_late():
    """A loan that was given back, an invoice that came late, an act that a device sent later and that clashed."""
    workshop()
    stage = lending()
    request = stage.agreed(stage.borrowers[0], 1)
    done(lend, request=request)
    done(give_back_loan, loan=request, reason="others came")
    line = came(ReceiveLine(PartFactory(number="O-1").number, 20, lot="A"))[0]["line"]
    done(enter_invoice, line=line, coins=2_000, note="R-1")
    stock(PartFactory(number="S-8", tracked_by="set", unit="SET"), serial="S-8")
    told = {"kind": "scrap", "of": "", "body": {"item": item("S-8", "serial=S-8").pk}, "codes": ["not-there"]}
    late = replace(stamp(), device="bench 2", device_at=NOON)
    problem = {"code": "not-there", "detail": "it is gone"}
    kept = keep_refused(actor=PersonFactory(), stamp=late, problem=problem, **told)
    done(answer_clash, clash=kept.body["clash"], second_is_right=True, words="found on the bench")


def counted_by_sheet():
    """A sheet of one bin that was counted and booked."""
    sheet = sheet_of("R-1")
    entered(sheet, {1: 0})
    done(post_sheet, stamp=minutes(2), sheet=sheet, reason="round", leave_out=[1])


def kept_and_given_up():
    """A piece that was kept of a lot, and given up."""
    done(release_kept, lot_id=rings().lot_id, reason="all of it goes back")


def ridden():
    """A note of the van, signed for, and the rest explained."""
    way = road("V-1")
    note = way.sent()
    way.taken(note, TakeLine(1, 3, "Y1"))
    done(explain_in_transit, note=note, line=1, how=How.COUNTED_SHORT, amount=1, reason="not in the van")


def sold_and_back():
    """A sale of which one came back."""
    stock(PartFactory(number="C-1"), 4, lot="C")
    line = LeavingLine(item("C-1", "lot=C").pk, 2, "R1")
    sold = done(sell_at_counter, lines=[line], buyer=OwnerFactory().pk, reason="walked in", demand=True)["lines"][0][
        "line"
    ]
    done(take_back_sold, line=sold, amount=1, place="Q1", reason="the wrong size")
    done(mark_demand, part="C-1", month=NOON.date(), reason="a recall")


def written_rows():
    """A row in every append-only table of the stores, written by real acts."""
    life = {"from": "cure", "years": 7, "extendable": True}
    stock(PartFactory(number="R-1", life=life), 10, lot="B1", cure_code="3Q22")
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-1")
    done(enter_sheet, part=PartFactory(kind="sealant", number="T-1").number, edition="sheet 1", cures_by="drying")
    done(sign_sheet, part="T-1")
    done(enter_safety_sheet, part="T-1", link="office", issued_on=NOON.date())
    done(sign_safety_sheets, parts=["T-1"])
    quarantine("Q1")
    ring = item("R-1", "lot=B1")
    held(ring, cart("cart J1"), 4)
    stop = done(stop_lot, lot_id=ring.lot_id, reason="leaks reported")["stop"]
    done(free_lot, lot_id=ring.lot_id, stop_id=stop, reason="another lot")
    done(break_set, part="S-1", serial="S-1", damaged="pin", reason="bent", orphan_place="Q1", photo_ref="photo 12")
    done(decide_core_value, part="S-1", serial="S-1", value_coins=None, reason="nobody takes it")
    matched_again()
    unit = brought("T-1", "J1")
    done(send_back, supplier=maker().code, units=[unit])
    paid(unit=unit)
    every_row()
    done(extend_life, lot_id=ring.lot_id, sample_pieces=2, passed=True, found="no cracks")
    done(set_lot_dates, lot_id=ring.lot_id, cure_code="4Q22", reason="read by two people")
    done(relabel_set, part="S-1", serial="S-1", label=SetLabel(grade="A"), reason="read by two people")
    done(scrap, place="R1", item_id=ring.pk, amount=1, reason="cut", who_pays="shop")
    kit("K-1", {"R-1": 1})
    done(assemble_kit, kit="K-1", lot="OURS", contents=[LimbIn(ring.pk, 1, "R1")], place="R1")
    stored(ring)
    PartFactory(number="R 1", life=life, kind="O-ring")
    done(enter_photo, part="R-1", link="counter, green folder")
    done(join_parts, joined="R 1", kept="R-1", reason="typed twice")
    table_brought_in()
    lent_and_late()
    counted_by_sheet()
    kept_and_given_up()
    ridden()
    sold_and_back()
    refused("recount-needed", count, place="R1", lines=[CountLine(1, item_id=ring.pk)])


@pytest.mark.django_db
def test_no_row_that_is_written_once_is_changed_removed_or_replaced():
    written_rows()
    answers = {}
    for table in APPEND_ONLY:
        first = columns(table)[0]
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT COUNT(*) FROM {table}")
            assert cursor.fetchone()[0] > 0, table
        answers[table] = [
            attempt(f"UPDATE {table} SET {first} = {first}"),
            attempt(f"DELETE FROM {table}"),
        ]
        if connection.vendor == "postgresql":
            answers[table].append(attempt(f"TRUNCATE {table} CASCADE"))
        else:
            answers[table].append(attempt(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"))
    assert answers == dict.fromkeys(APPEND_ONLY, ["refused"] * 3)


def a_row(model) -> dict[str, object]:
    """Any row that the columns of a table take; what it points at need not be there."""
    values: dict[str, object] = {}
    for field in model._meta.concrete_fields:
        holds = field
        while holds.is_relation:  # the key of what it points at may itself be a relation
            holds = holds.target_field
        kind = holds.get_internal_type()
        if field.null:
            values[field.column] = None
        elif "Integer" in kind or "AutoField" in kind:
            values[field.column] = 1
        elif kind == "BooleanField":
            values[field.column] = False
        elif kind in ("DateField", "DateTimeField"):
            values[field.column] = "2025-01-15"
        else:
            values[field.column] = {"JSONField": "[]", "UUIDField": "0" * 32}.get(kind, "x")
    return values


def insert(table: str, values: dict[str, object]) -> str:
    """Insert a made-up row without anybody looking at what it points at; the name of its first column."""
    switches = {
        "postgresql": (["SET session_replication_role = replica"], ["SET session_replication_role = origin"]),
        "sqlite": (
            ["PRAGMA foreign_keys = OFF", "PRAGMA ignore_check_constraints = ON"],
            ["PRAGMA foreign_keys = ON", "PRAGMA ignore_check_constraints = OFF"],
        ),
    }
    off, on = switches[connection.vendor]
    names_ = [connection.ops.quote_name(name) for name in values]
    with connection.cursor() as cursor:
        for statement in off:
            cursor.execute(statement)
        places = ", ".join(["%s"] * len(values))
        cursor.execute(f"INSERT INTO {table} ({', '.join(names_)}) VALUES ({places})", list(values.values()))
        for statement in on:
            cursor.execute(statement)
    return names_[0]


@pytest.mark.damages_books
@pytest.mark.usefixtures("shop_database")
def test_no_row_of_the_rebuilds_is_changed_removed_or_replaced():
    """The rows are made up, with the references switched off; the guards are the real ones."""
    models = {model._meta.db_table: model for model in apps.get_models(include_auto_created=True)}
    answers = {}
    for table in OF_KITS:
        first = insert(table, a_row(models[table]))
        again = f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"
        third = f"TRUNCATE {table} CASCADE" if connection.vendor == "postgresql" else again
        answers[table] = [
            attempt(sql) for sql in (f"UPDATE {table} SET {first} = {first}", f"DELETE FROM {table}", third)
        ]
    assert answers == dict.fromkeys(OF_KITS, ["refused"] * 3)


@pytest.mark.django_db
def test_a_guard_refuses_only_what_exists():
    """The control: without a row there is nothing to refuse, so the test above saw the guards and not something else."""
    assert attempt("DELETE FROM inventory_short") == "done"
    written_rows()
    assert attempt("DELETE FROM inventory_short") == "refused"
    assert attempt("UPDATE inventory_item SET identity = identity") == "done"


def broken(call) -> str:
    """The name of the constraint that refuses, as far as the database says it."""
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        call()
    return str(caught.value)


def ring_and_set() -> tuple[Item, Item]:
    stock(PartFactory(number="R-1"), 10, lot="B1")
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-1")
    return item("R-1", "lot=B1"), item("S-1", "serial=S-1")


@pytest.mark.django_db
def test_movements_are_positive_and_go_somewhere():
    ring, _ = ring_and_set()
    act, near, far = Act.objects.order_by("pk")[0], things.spot(shelf("R1")), things.spot(shelf("R2"))
    row = {"act": act, "item": ring, "from_spot": near, "to_spot": far}
    for amount in (0, -1):
        assert "movement_amount_positive" in broken(lambda amount=amount: Movement.objects.create(amount=amount, **row))
    row["to_spot"] = near
    assert "movement_goes_somewhere" in broken(lambda: Movement.objects.create(amount=1, **row))


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("changes", "constraint"),
    [
        ({"amount": -1}, "balance_real_not_negative"),
        ({"held": -1}, "balance_real_not_negative"),
        ({"held": 11}, "balance_real_not_negative"),
        ({"pickable": False, "held": 1}, "balance_held_only_pickable"),
    ],
)
def test_a_real_balance_holds_no_less_than_nothing_and_promises_no_more_than_it_has(changes, constraint):
    ring, _ = ring_and_set()
    rows = Balance.objects.filter(item=ring, place__code="R1")
    assert constraint in broken(lambda: rows.update(**changes))
    assert rows.update(held=10) == 1
    rows.update(held=0)


@pytest.mark.django_db
def test_a_thing_with_a_serial_is_one_and_in_one_place():
    _, one = ring_and_set()
    rows = Balance.objects.filter(item=one, place__code="R1")
    assert "balance_single_at_most_one" in broken(lambda: rows.update(amount=2))
    twin, other = rows.get(), things.spot(shelf("R2"))
    twin.pk, twin.spot, twin.place = None, other, other.place
    said = broken(lambda: twin.save(force_insert=True))
    assert "balance_single_in_one_place" in said or "inventory_balance.item_id" in said
    twin.amount = 0
    twin.save(force_insert=True)


@pytest.mark.django_db
def test_acts_have_a_kind_and_are_not_from_the_future():
    ring_and_set()
    act = Act.objects.order_by("pk")[0]
    act.pk, act.key, act.kind = None, "00000000-0000-4000-8000-000000000001", ""
    assert "act_kind_not_empty" in broken(lambda: act.save(force_insert=True))
    act.kind, act.occurred_at = "receive", act.recorded_at.replace(year=act.recorded_at.year + 1)
    assert "act_not_from_the_future" in broken(lambda: act.save(force_insert=True))


@pytest.mark.django_db
def test_a_refusal_is_kept_as_it_was():
    ring_and_set()
    refused("reason-missing", count, place="R1", lines=[CountLine(1, part="R-1", lot="B1")])
    row = Refusal.objects.get()
    row.code = "other"
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()
    assert Refusal.objects.get().code == "reason-missing"


@pytest.mark.django_db
def test_a_deposit_is_never_below_nothing_and_a_tag_is_given_once():
    deposit = Deposit.objects.filter(pk=paid(4_500))
    assert "deposit_outstanding_not_negative" in broken(lambda: deposit.update(outstanding_coins=-1))
    assert "deposit_supplier_by_side" in broken(lambda: deposit.update(supplier=None))
    assert "deposit_customer_has_job" in broken(lambda: deposit.update(side="customer", supplier=None))
    entry = DepositEntry.objects.get()
    entry.pk, entry.coins = None, 0
    assert "deposit_entry_positive" in broken(lambda: entry.save(force_insert=True))
    unit = brought("T-1", "J1")
    tag = OldUnitTag.objects.get(unit=unit)
    tag.pk = None
    said = broken(lambda: tag.save(force_insert=True))
    assert "inventory_oldunittag" in said
    for tag.tag, tag.job, name in (("", "J1", "old_unit_tag_not_empty"), ("T-2", "", "old_unit_tag_has_job")):
        assert name in broken(lambda: tag.save(force_insert=True))


@pytest.mark.django_db
def test_a_core_value_is_above_nothing_and_a_member_is_named_once():
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-1")
    quarantine("Q1")
    matched_again()
    value = CoreValue(serial=Serial.objects.get(number="S-2"), act=Act.objects.order_by("pk")[0], value_coins=0)
    assert "core_value_positive" in broken(lambda: value.save(force_insert=True))
    member = SetMatchMember.objects.order_by("pk")[0]
    member.pk = None
    said = broken(lambda: member.save(force_insert=True))
    assert "set_match_member_once" in said or "inventory_setmatchmember.member" in said
    member.member = ""
    assert "set_match_member_named" in broken(lambda: member.save(force_insert=True))
