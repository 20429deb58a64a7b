"""S22: a table of 300 parts, as a table program left it: seven numbers without their zeros, three days swapped, two numbers written as 2E+05,
one part that replaces itself. 287 accepted, 12 questioned, 1 refused (worked example of the demo shop, invented)."""

from __future__ import annotations

import base64
import io
from typing import Any

import pytest
import xlsxwriter

from api.tables.write import csv_lines
from inventory.models import Part, Replacement
from tests.api.rest.clients import ShopClient, somebody

pytestmark = pytest.mark.django_db

HEADINGS = ("Part Number", "Description", "UoM", "Unit price", "Superseded by", "Replaced since")
EATEN = (11, 52, 93, 134, 175, 216, 257)
SWAPPED = (30, 130, 230)
SHORTENED = {70: "2E+05", 170: "3E+05"}
ITSELF = 250


def number(at: int) -> str:
    return f"{1000 + 37 * at:06d}"


def rows() -> list[list[str]]:
    made = []
    for at in range(300):
        own, new, since = number(at), "", ""
        if at % 10 == 0:
            new, since = number(at + 1), f"{13 + at % 15:02d}/{1 + at % 12:02d}/2023"
        if at in SWAPPED:
            since = f"{1 + at % 12:02d}/{13 + at % 15:02d}/2023"
        if at in EATEN:
            own = own.lstrip("0")
        if at in SHORTENED:
            own = SHORTENED[at]
        if at == ITSELF:
            new = own
        made.append([own, f"part {at}", "EA", f"{at}.50", new, since])
    return made


def as_csv() -> bytes:
    return b"".join(csv_lines(HEADINGS, rows()))


def as_workbook() -> bytes:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet()
        for down, row in enumerate([list(HEADINGS), *rows()]):
            for across, text in enumerate(row):
                # what lost its zeros did so because the sheet held it as a number
                write = sheet.write_number if down and across == 0 and down - 1 in EATEN else sheet.write_string
                write(down, across, int(text) if write == sheet.write_number else text)
    return out.getvalue()


def sent(client: ShopClient, path: str, body: dict[str, Any]) -> dict[str, Any]:
    answer = client.send(path, body)
    assert answer.status_code == 201, answer.content
    said: dict[str, Any] = answer.json()
    return said


def brought(client: ShopClient, name: str, content: bytes) -> str:
    body = {"kind": "parts", "name": name, "content": base64.b64encode(content).decode()}
    path = f"imports/{sent(client, 'imports', body)['import']}"
    read = 0
    while read < 300:
        read = sent(client, f"{path}/readings", {"most": 120})["read"]
    return path


@pytest.mark.parametrize(("name", "content"), [("parts.csv", as_csv()), ("parts.xlsx", as_workbook())])
def test_every_row_is_accounted_for_and_nothing_is_mended_in_silence(name: str, content: bytes) -> None:
    maren = ShopClient(somebody("parts manager"))
    path = brought(maren, name, content)
    found = maren.read(path).json()
    counts = [found[what] for what in ("rows", "accepted", "questioned", "refused")]
    assert counts == [300, 287, 12, 1]
    questions = maren.read(f"{path}/rows", verdict="questioned").json()["rows"]
    asked = sorted((one["row"] - 2, one["questions"][0]["code"], one["questions"][0]["proposal"]) for one in questions)
    days = {at: f"2023-{1 + at % 12:02d}-{13 + at % 15:02d}" for at in SWAPPED}
    assert asked == sorted(
        [
            *((at, "zeros-eaten", number(at)) for at in EATEN),
            *((at, "day-swapped", days[at]) for at in SWAPPED),
            *((at, "exponent", "") for at in SHORTENED),
        ]
    )
    (refused,) = maren.read(f"{path}/rows", verdict="refused").json()["rows"]
    assert (refused["row"] - 2, refused["refusals"][0]["code"]) == (ITSELF, "replacement-loop")

    early = maren.send(f"{path}/bookings", {})
    assert (early.status_code, early.json()["code"]) == (422, "import-open")
    assert not Part.objects.exists()
    by_hand = [{"row": at + 2, "column": "number", "said": number(at)} for at in SHORTENED]
    sent(maren, f"{path}/answers", {"answers": by_hand, "as_proposed": ["zeros-eaten", "day-swapped"]})
    booked = sent(maren, f"{path}/bookings", {})
    assert [booked[what] for what in ("rows", "accepted", "questioned", "refused")] == [300, 299, 0, 1]
    assert booked["booked"] == {"parts": 299, "replacements": 29}
    assert set(Part.objects.values_list("number", flat=True)) == {number(at) for at in range(300) if at != ITSELF}
    since = dict(Replacement.objects.values_list("old__number", "noted_on"))
    assert {at: since[number(at)].isoformat() for at in SWAPPED} == days

    again = maren.read(brought(maren, name, content)).json()
    assert (again["accepted"] + again["questioned"] + again["refused"], again["booked"]) == (300, None)
    assert again["same_file_before"] == found["import"]


def test_who_may_not_bring_in_tables_does_not() -> None:
    piet = ShopClient(somebody("storekeeper"))
    answer = piet.send("imports", {"kind": "parts", "name": "a.csv", "content": "YQ=="})
    assert (answer.status_code, answer.json()["code"]) == (403, "not-allowed")


@pytest.mark.parametrize(
    ("content", "code"),
    [
        ("not base 64!", "fields-wrong"),
        ("AAAA", "table-unreadable"),
        (base64.b64encode(b"number\n1").decode(), "heading-missing"),
    ],
)
def test_what_is_no_table_is_refused_and_nothing_is_kept(content: str, code: str) -> None:
    maren = ShopClient(somebody("parts manager"))
    answer = maren.send("imports", {"kind": "parts", "name": "a.csv", "content": content})
    assert answer.json()["code"] == code
    assert maren.rows("imports") == []
