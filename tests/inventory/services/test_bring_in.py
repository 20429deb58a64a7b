"""Tables brought in: kept, read, answered, booked; and the books after it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from api.tables.read import read_table
from inventory.domain.errors import DomainError
from inventory.models import (
    Act,
    Balance,
    ImportAnswer,
    ImportFile,
    ImportRow,
    Item,
    Lot,
    MatchedSet,
    Movement,
    Part,
    Replacement,
    Serial,
    Supplier,
    SupplierPart,
)
from inventory.queries import imports as read
from inventory.queries.audit import audit
from inventory.services.bring_in import Answer, answer_table, book_table, keep_table, read_table_rows
from inventory.services.correct import correct
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, quarantine, shelf, stamp, stock

pytestmark = pytest.mark.django_db


def kept(kind: str, text: str, **more: Any) -> tuple[int, Any]:
    """A table of these lines, kept; its number and its rows."""
    content = text.encode()
    given = {"name": "t.csv", "content": content, "reader": read_table}
    body = keep_table(actor=PersonFactory(), stamp=stamp(), kind=kind, **(given | more)).body
    return body["import"], read_table(content, "t.csv").rows


def read_in(kind: str, text: str, **more: Any) -> int:
    """A table of these lines, kept and read."""
    number, rows = kept(kind, text, **more)
    read_table_rows(actor=PersonFactory(), stamp=stamp(), file_id=number, rows=rows)
    return number


def answered(number: int, *answers: tuple[int, str, str], **more: Any) -> dict[str, Any]:
    said = [Answer(*one) for one in answers]
    return answer_table(actor=PersonFactory(), stamp=stamp(), file_id=number, answers=said, **more).body


def booked(number: int, **more: Any) -> dict[str, Any]:
    return book_table(actor=PersonFactory(), stamp=stamp(NOON + timedelta(hours=1)), file_id=number, **more).body


def verdicts(number: int) -> list[str]:
    return list(ImportRow.objects.filter(file=number).order_by("line").values_list("verdict", flat=True))


def codes(number: int) -> list[list[str]]:
    rows = read.rows_of(number)
    return [[one["code"] for one in (*row["questions"], *row["refusals"])] for row in rows]


PARTS = "number;name;unit;tracked by;price;pack;weight;colour\nX-1;ring;EA;lot;2.10;10;3 g;red\nX-2;shell;PR;;;;;\n"


def test_parts_are_booked_as_they_would_be_by_hand():
    number = read_in("parts", PARTS)
    assert booked(number)["booked"] == {"parts": 2, "replacements": 0}
    ring, shell = Part.objects.order_by("number")
    told = (
        ring.number,
        ring.compare_key,
        ring.unit,
        ring.base,
        ring.tracked_by,
        ring.price_coins,
        ring.pack,
        ring.weight_mg,
    )
    assert told == ("X-1", "X1", "EA", "piece", "lot", 210, 10, 3000)
    assert (ring.life, ring.ring, ring.loose_issue, ring.version, ring.kind) == ({}, {}, True, 1, "")
    assert (shell.unit, shell.pack, shell.price_coins, shell.weight_mg) == ("PR", 1, None, None)
    assert read.rows_of(number)[0]["cells"][""] == '{"colour": "red"}'
    assert read.summary(read.import_file(number))["unknown_headings"] == ["colour"]


def test_nothing_counts_before_it_is_booked():
    number = read_in("parts", PARTS)
    assert not Part.objects.exists()
    assert read.content_of(ImportFile.objects.get(pk=number)).decode() == PARTS


def test_a_table_is_read_in_steps():
    number, rows = kept("parts", PARTS)
    first = read_table_rows(actor=PersonFactory(), stamp=stamp(), file_id=number, rows=rows, most=1).body
    assert (first["read"], first["rows"], first["accepted"]) == (1, 2, 1)
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert caught.value.code == "import-unread"
    assert caught.value.ways_out == (f"Have its rows read first (imports/{number}/readings).",)
    assert read_table_rows(actor=PersonFactory(), stamp=stamp(), file_id=number, rows=rows).body["read"] == 2
    with pytest.raises(DomainError) as caught:
        read_table_rows(actor=PersonFactory(), stamp=stamp(), file_id=number, rows=rows)
    assert caught.value.code == "nothing-changed"


def test_questions_are_answered_and_refused_rows_stay_listed():
    text = "number;name;unit\n00410;a;EA\n412;b;EA\n2E+05;c;EA\nX-9;;EA\n"
    number = read_in("parts", text)
    assert verdicts(number) == ["accepted", "questioned", "questioned", "refused"]
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert (caught.value.code, caught.value.values["questioned"]) == ("import-open", 2)
    assert answered(number, as_proposed=["zeros-eaten", "exponent"])["accepted"] == 1
    assert verdicts(number) == ["accepted", "accepted", "questioned", "refused"]
    assert answered(number, (4, "number", "200000"))["accepted"] == 1
    body = booked(number)
    assert (body["rows"], body["accepted"], body["questioned"], body["refused"]) == (4, 3, 0, 1)
    assert set(Part.objects.values_list("number", flat=True)) == {"00410", "00412", "200000"}
    assert ImportAnswer.objects.count() == 2


def test_without_the_questioned_when_it_is_said():
    number = read_in("parts", "number;name;unit\n00410;a;EA\n412;b;EA\n")
    assert booked(number, without_questioned=True)["booked"]["parts"] == 1
    with pytest.raises(DomainError) as caught:
        answered(number, (3, "number", "00412"))
    assert caught.value.code == "import-booked"


@pytest.mark.parametrize("answer", [(9, "number", "1"), (2, "colour", "red")])
def test_answers_to_nothing_are_refused(answer):
    number = read_in("parts", "number;name;unit\n00410;a;EA\n")
    with pytest.raises(DomainError) as caught:
        answered(number, answer)
    assert caught.value.code == "import-row-unknown"


def test_the_same_thing_twice_in_steps_and_by_an_answer():
    text = "number;name;unit\n00410;a;EA\n410;b;EA\n00410;c;EA\n"
    number, rows = kept("parts", text)
    for _ in range(3):
        read_table_rows(actor=PersonFactory(), stamp=stamp(), file_id=number, rows=rows, most=1)
    assert codes(number) == [[], ["zeros-eaten"], ["row-twice"]]
    answered(number, as_proposed=["zeros-eaten"])
    assert codes(number) == [[], ["row-twice"], ["row-twice"]]
    answered(number, (3, "", "leave out"), (4, "", "leave out"))
    assert verdicts(number) == ["accepted", "refused", "refused"]
    assert booked(number)["booked"]["parts"] == 1


def test_the_same_file_again_finds_all_of_it_on_record():
    booked(read_in("parts", PARTS))
    first = ImportFile.objects.get().pk
    again = read_in("parts", PARTS)
    found = read.summary(read.import_file(again))
    assert (found["accepted"], found["known"], found["same_file_before"]) == (2, 2, first)
    assert booked(again)["booked"]["parts"] == 0


def test_a_part_on_record_with_another_name_is_asked_about():
    booked(read_in("parts", PARTS))
    number = read_in("parts", "number;name;unit;tracked by\nX-1;washer;EA;lot\n")
    assert codes(number) == [["on-record-otherwise"]]
    answered(number, as_proposed=["on-record-otherwise"])
    assert verdicts(number) == ["refused"]


def test_what_was_booked_meanwhile_stops_the_whole_table():
    number = read_in("parts", PARTS)
    PartFactory(number="X-2")
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert (caught.value.code, caught.value.values["rows"]) == ("import-stale", [3])
    assert Part.objects.count() == 1


def test_replacements_are_entered_and_circles_refused():
    text = "number;name;unit;replaced by;replaced on\nX-1;a;EA;X-2;2024-03-01\nX-2;b;EA;;\n"
    assert booked(read_in("parts", text))["booked"] == {"parts": 2, "replacements": 1}
    notice = Replacement.objects.get()
    assert (notice.old.number, notice.news.get().part.number, str(notice.noted_on)) == ("X-1", "X-2", "2024-03-01")
    circle = read_in("parts", "number;name;unit;replaced by\nY-1;a;EA;Y-2\nY-2;b;EA;Y-1\n")
    with pytest.raises(DomainError) as caught:
        booked(circle)
    assert caught.value.code == "replacement-loop"
    nowhere = read_in("parts", "number;name;unit;replaced by\nY-1;a;EA;Z-9\n")
    with pytest.raises(DomainError) as caught:
        booked(nowhere)
    assert (caught.value.code, caught.value.values["row"]) == ("not-found", 2)
    assert not Part.objects.filter(number__startswith="Y").exists()


STOCK = "part;place;spot;amount;lot;serial\nX-1;R1;A1;4;L-1;\nX-1;R1;A1;6;L-2;\nX-5;R1;;1;;S-1\nX-7;R1;A1;9;;\n"


def stocked() -> None:
    shelf("R1")
    PartFactory(number="X-1")
    PartFactory(number="X-5", tracked_by="set", unit="SET", kind="matched set")
    PartFactory(number="X-7", tracked_by="nothing")


def test_stock_is_counted_over_and_the_books_add_up():
    stocked()
    stock(Part.objects.get(number="X-1"), 3, lot="L-2", place=shelf("R1"))
    number = read_in("stock", STOCK)
    assert booked(number)["booked"] == {"lines": 4, "new_lots_without_a_date": 1}
    rows = Balance.objects.filter(place__code="R1", amount__gt=0).order_by(
        "part__number", "item__identity", "spot__name"
    )
    assert [(row.part.number, row.item.identity, row.spot.name, row.amount) for row in rows] == [
        ("X-1", "lot=L-1", "A1", 4),
        ("X-1", "lot=L-2", "-", 3),
        ("X-1", "lot=L-2", "A1", 6),
        ("X-5", "serial=S-1", "-", 1),
        ("X-7", "-", "A1", 9),
    ]
    assert MatchedSet.objects.get().serial.number == "S-1"
    assert audit() == []


def test_stock_on_record_is_not_booked_twice():
    stocked()
    booked(read_in("stock", STOCK))
    moved = Movement.objects.count()
    again = read_in("stock", STOCK + "X-7;R1;B2;5;;\n")
    assert [row["known"] for row in read.rows_of(again)] == [True, True, True, True, False]
    other = read_in("stock", STOCK.replace("X-7;R1;A1;9", "X-7;R1;A1;8"))
    assert codes(other) == [[], [], [], ["on-record-otherwise"]]
    booked(again)
    assert Movement.objects.count() == moved + 1


def test_a_lot_on_record_in_another_spelling_is_asked_about():
    stock(PartFactory(number="X-7", tracked_by="lot"), 3, lot="B-1", place=shelf("R1"))
    number = read_in("stock", "part;place;spot;amount;lot\nX-7;R1;A1;5;b 1\nX-7;R1;A2;6;B1\n")
    assert codes(number) == [["number-known"], ["number-known"]]
    # The first is the one on record, the second another one, as a person says.
    answered(number, (2, "lot", "B-1"), (3, "lot", "B1"))
    booked(number)
    rows = Balance.objects.filter(real=True, amount__gt=0).order_by("item__lot__code", "spot__name")
    assert list(rows.values_list("item__lot__code", "spot__name", "amount")) == [
        ("B-1", "-", 3),
        ("B-1", "A1", 5),
        ("B1", "A2", 6),
    ]
    assert audit() == []


def test_a_new_lot_in_two_spellings_of_one_table_is_booked_when_somebody_said_which():
    PartFactory(number="X-7", tracked_by="lot")
    shelf("R1")
    number = read_in("stock", "part;place;spot;amount;lot\nX-7;R1;A1;5;b 1\nX-7;R1;A2;6;B-1\n")
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert (caught.value.code, caught.value.values["rows"]) == ("spelling-ambiguous", [2, 3])
    answered(number, (2, "lot", "B-1"))
    booked(number)
    assert list(Lot.objects.values_list("code", flat=True)) == ["B-1"]
    assert audit() == []


def test_a_lot_that_looks_like_one_on_record_is_asked_about():
    """A stop of the one would pass the other by; the same letters at another part are no question."""
    part = PartFactory(number="X-7", tracked_by="lot")
    PartFactory(number="X-8", tracked_by="lot")
    stock(part, 3, lot="SB-2341", place=shelf("R2"))
    shelf("R1")
    rows = "X-7;R1;5;SB-234I\nX-7;R1;6;58-2341\nX-7;R1;7;SB-2342\nX-8;R1;8;SB-234I\n"
    number = read_in("stock", f"part;place;amount;lot\n{rows}")
    assert codes(number) == [["looks-alike"], ["looks-alike"], [], []]
    asked = read.rows_of(number)[0]["questions"][0]
    assert (asked["proposal"], asked["words"]) == (
        "SB-2341",
        "lot: SB-234I looks like SB-2341 of X-7, which is on record; is it that one?",
    )
    # The first is another lot, as a person says who has seen both; the second is the one on record.
    answered(number, (2, "lot", "SB-234I"))
    answered(number, as_proposed=["looks-alike"])
    booked(number)
    rows = Balance.objects.filter(place__code="R1").order_by("item__part__number", "item__lot__code")
    assert list(rows.values_list("item__part__number", "item__lot__code", "amount")) == [
        ("X-7", "SB-2341", 6),
        ("X-7", "SB-2342", 7),
        ("X-7", "SB-234I", 5),
        ("X-8", "SB-234I", 8),
    ]
    assert audit() == []


@pytest.mark.parametrize(
    ("kind", "heading", "label"),
    [
        ("lots", "part;lot", "SB-234{}"),
        ("stock", "part;place;amount;lot", "R1;5;SB-234{}"),
        ("sets", "part;place;serial", "R1;S-04{}"),
    ],
)
def test_labels_of_one_table_that_look_alike_are_booked_when_somebody_said_which(kind, heading, label):
    shelf("R1")
    PartFactory(number="X-5", tracked_by="set" if kind == "sets" else "lot", unit="SET" if kind == "sets" else "EA")
    number = read_in(kind, "\n".join([heading, *(f"X-5;{label.format(last)}" for last in "1I2"), ""]))
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert (caught.value.code, caught.value.values["rows"]) == ("spelling-ambiguous", [2, 3])
    column = "serial" if kind == "sets" else "lot"
    answered(number, (3, column, label.rpartition(";")[2].format("I")))
    booked(number)
    made = (Serial if kind == "sets" else Lot).objects
    assert made.count() == 3
    assert audit() == []


def test_a_lot_that_was_received_since_and_looks_like_a_row_is_asked_about_when_it_is_booked():
    part = PartFactory(number="X-7", tracked_by="lot")
    shelf("R1")
    number = read_in("stock", "part;place;amount;lot\nX-7;R1;5;SB-2341\n")
    stock(part, 3, lot="SB-234L", place=shelf("R2"))
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert (caught.value.code, caught.value.values["rows"]) == ("spelling-ambiguous", [2])


def test_an_undated_lot_of_what_ages_reaches_no_shelf():
    shelf("R1")
    quarantine("Q1")
    PartFactory(number="X-1", life={"from": "cure", "years": 7})
    booked(read_in("lots", "part;lot;cured\nX-1;L-1;3Q22\nX-1;L-2;\n"))
    text = "part;place;amount;lot\nX-1;R1;4;L-1\nX-1;R1;5;L-2\nX-1;R1;6;L-3\n"
    number = read_in("stock", text)
    assert codes(number) == [[], ["undated"], ["undated"]]
    answered(number, as_proposed=["undated"])
    assert booked(number)["booked"] == {"lines": 3, "new_lots_without_a_date": 1}
    rows = Balance.objects.filter(real=True, amount__gt=0).order_by("item__lot__code")
    assert list(rows.values_list("item__lot__code", "place__code", "amount")) == [
        ("L-1", "R1", 4),
        ("L-2", "Q1", 5),
        ("L-3", "Q1", 6),
    ]
    # brought in again as it was written, what went to quarantine is asked about again
    assert codes(read_in("stock", text)) == [[], ["undated"], ["undated"]]
    assert audit() == []


def test_a_price_list_leaves_what_it_does_not_say_as_it_was():
    PartFactory(number="X-1")
    SupplierFactory(code="SALT")
    booked(read_in("prices", "supplier;part;price;lead days;express days;express price\nSALT;X-1;2.10;21;2;14\n"))
    booked(read_in("prices", "supplier;part;price;lead days\nSALT;X-1;2.30;\n"))
    said = SupplierPart.objects.values_list("price_coins", "lead_days", "express_days", "express_coins").get()
    assert said == (230, 21, 2, 1400)


def test_a_set_on_record_in_another_spelling_does_not_come_twice():
    part = PartFactory(number="X-5", tracked_by="set", unit="SET")
    stock(part, serial="S-1", place=shelf("R1"))
    number = read_in("sets", "part;place;serial\nX-5;R1;s 1\n")
    assert codes(number) == [["number-known"]]


def test_a_set_that_stands_elsewhere_is_not_brought_in_a_second_time():
    stocked()
    shelf("R2")
    booked(read_in("stock", STOCK))
    number = read_in("stock", "part;place;amount;unit;serial\nX-5;R2;1;SET;S-1\nX-5;R2;1;SET;S-2\n")
    assert codes(number) == [["on-record-otherwise"], []]
    answered(number, as_proposed=["on-record-otherwise"])
    assert booked(number)["booked"]["lines"] == 1
    assert sorted(Balance.objects.filter(item__single=True, amount=1).values_list("item__identity", "place__code")) == [
        ("serial=S-1", "R1"), ("serial=S-2", "R2"),
    ]  # fmt: skip


def test_a_set_that_was_received_meanwhile_stops_the_whole_table():
    stocked()
    shelf("R2")
    number = read_in("stock", "part;place;amount;unit;serial\nX-5;R2;1;SET;S-1\n")
    stock(Part.objects.get(number="X-5"), serial="S-1", place=shelf("R1"))
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert (caught.value.code, caught.value.values["place"]) == ("serial-elsewhere", "R1")


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("stock", "part;place;amount;unit;serial\nX-5;R1;1;SET;S-1\nX-5;R2;1;SET;S-1\n"),
        ("sets", "part;place;serial\nX-5;R1;S-1\nX-5;R2;S-1\n"),
    ],
)
def test_one_serial_in_two_rows_stands_once_whatever_anybody_says(kind, text):
    stocked()
    shelf("R2")
    number = read_in(kind, text)
    assert codes(number) == [[], ["row-twice"]]
    answered(number, (3, "", "it counts"))
    assert verdicts(number) == ["accepted", "refused"]
    # The other row counts, where the first one is left out.
    answered(number, (2, "", "leave out"))
    answered(number, (3, "", "it counts"))
    booked(number)
    assert list(Balance.objects.filter(item__single=True, real=True).values_list("place__code", "amount")) == [
        ("R2", 1)
    ]


def test_stock_that_was_brought_in_is_taken_back_by_a_correction():
    stocked()
    booked(read_in("stock", STOCK))
    act = Act.objects.get(kind="book table")
    correct(
        actor=PersonFactory(), stamp=stamp(NOON + timedelta(hours=2)), act_id=act.pk, reason="the wrong year's list"
    )
    assert not Balance.objects.filter(real=True, amount__gt=0).exists()
    assert audit() == []


def test_the_other_kinds():
    shelf("R1")
    quarantine("Q1")
    PartFactory(number="X-1", life={"from": "cure", "years": 7})
    PartFactory(number="X-5", tracked_by="set", unit="SET", kind="matched set")
    booked(read_in("suppliers", "code;name;send back days\nSALT;Salt;30\n"))
    assert Supplier.objects.get().send_back_days == 30
    prices = "supplier;part;price;pack;lead days\nSALT;X-1;2.10;10;21\n"
    booked(read_in("prices", prices))
    booked(read_in("prices", prices.replace("2.10", "2.30")))
    assert (SupplierPart.objects.get().price_coins, SupplierPart.objects.get().lead_days) == (230, 21)
    lots = "part;lot;cured;supplier;received on\nX-1;L-1;3Q22;SALT;2024-01-20\nX-1;L-2;;;\n"
    assert booked(read_in("lots", lots))["booked"] == {"lots": 2, "without_an_expiry": 1}
    dated, undated = Lot.objects.order_by("code")
    # 3Q22 and seven years from the first day of the quarter: worked example of the demo shop (invented)
    assert (str(dated.expires_on), dated.supplier.code, undated.expires_on) == ("2029-07-01", "SALT", None)
    sets = "part;serial;place;weight with pin;bore;piston;grade\nX-5;S-1;R1;416 g;93.005 mm;92.905 mm;B\n"
    assert booked(read_in("sets", sets))["booked"] == {"sets": 1}
    made = MatchedSet.objects.get()
    assert (made.weight_mg, made.bore_nm, made.piston_nm, made.grade) == (416_000, 93_005_000, 92_905_000, "B")
    assert made.weighed == "with pin"
    # a weight that does not say whether the pin lay on the scales is refused, and so are two of one piston
    for heading, cells in (("weight", "416 g"), ("weight with pin;weight without pin", "416 g;320 g")):
        unsaid = read.rows_of(read_in("sets", f"part;serial;place;{heading}\nX-5;S-2;R1;{cells}\n"))
        assert [one["code"] for one in unsaid[0]["refusals"]] == ["weight-unsaid"]
    assert Item.objects.get(serial=made.serial).balances.get(real=True).amount == 1
    assert read.rows_of(read_in("sets", sets))[0]["known"] is True
    assert audit() == []


@pytest.mark.parametrize(
    ("kind", "text", "code"),
    [
        ("oddments", "number\n1\n", "not-found"),
        ("parts", "number;name\nX;a\n", "heading-missing"),
        ("parts", "number;name;unit\n", "nothing-given"),
    ],
)
def test_tables_that_are_not_kept(kind, text, code):
    with pytest.raises(DomainError) as caught:
        kept(kind, text)
    assert caught.value.code == code


def test_a_table_that_is_not_there():
    SupplierFactory()
    with pytest.raises(DomainError) as caught:
        booked(9)
    assert caught.value.code == "not-found"
