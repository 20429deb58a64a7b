"""The printed pick list of one Alder-4 with everything off, as Chromium shows and prints it.

Sizes by ISO 216 (A4: 210 mm × 297 mm); 1 in = 25.4 mm = 72 pt = 96 CSS px (CSS Values and Units 3).
"""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from tests.browser.chromium import Chromium, Visit
from tests.browser.scene import SETS, Scene

A4_PT = (595, 842)
#: Between the margins of the sheet, in CSS pixels: 194 mm.
ACROSS_PX = 194 / 25.4 * 96
#: Everything that the storekeeper reads at arm's length: at least so large.
READABLE_PT = 11.0
SHEETS = 2


@pytest.fixture(scope="module")
def seen(browser: Chromium, scene: Scene) -> Iterator[dict[str, Any]]:
    """The page as the storekeeper opens it: its rows, its sizes, its print."""

    def look(visit: Visit) -> dict[str, Any]:
        scene.sign_in(visit, "piet", scene.printed)
        page = visit.page
        rows = page.locator("table").evaluate_all(
            "tables => tables.map(table => [...table.tBodies].map(body => [...body.rows].map("
            "row => [...row.cells].map(cell => cell.innerText.trim()))))"
        )
        sizes = page.locator("tbody td:not(.why):not(.step)").evaluate_all(
            "cells => [...new Set(cells.map(cell => parseFloat(getComputedStyle(cell).fontSize) * 72 / 96))]"
        )
        page.emulate_media(media="print")
        page.set_viewport_size({"width": round(ACROSS_PX), "height": 1000})
        wide = page.evaluate(
            "() => [...document.body.querySelectorAll('*')].filter(it => it.getBoundingClientRect().right > innerWidth + 1"
            " || it.scrollWidth > it.clientWidth + 1 && getComputedStyle(it).display != 'inline').map(it => it.outerHTML)"
        )
        colours = page.evaluate(
            "() => [...new Set([...document.body.querySelectorAll('*')].flatMap(it =>"
            " [getComputedStyle(it).color, getComputedStyle(it).backgroundColor]))].sort()"
        )
        return {
            "text": page.inner_text("body"),
            "walk": rows[0][0],
            "work": rows[1],
            "sizes": sizes,
            "wide": wide,
            "colours": colours,
            "boxes": page.locator(".box").count(),
            "pdf": page.pdf(prefer_css_page_size=True),
            "hosts": visit.hosts,
            "faults": visit.faults,
        }

    yield browser.visit(look)


def test_it_asks_nobody_but_this_service_and_has_no_fault(seen):
    assert (seen["hosts"], seen["faults"]) == ({"127.0.0.1"}, [])


def test_the_walk_has_every_hold_by_bin_with_lot_use_by_amount_and_tray(scene, seen):
    assert [row[0] for row in seen["walk"]] == [""] * len(seen["walk"])
    bins = [row[1] for row in seen["walk"]]
    assert list(dict.fromkeys(bins)) == list(dict.fromkeys(held["place"] for held in scene.pick_list["walk"]))
    written = {(row[1], row[2].split()[0], row[3], row[4]) for row in seen["walk"]}
    assert written == {
        (held["place"], held["part"], held["tube"] or held["serial"] or held["lot"], held["use_by"] or "")
        for held in scene.pick_list["walk"]
    }
    assert [row[3] for row in seen["walk"] if row[6] == "floor"] == list(SETS)
    (tips,) = [row for row in seen["walk"] if row[2].startswith("G-710")]
    trays = sorted({tray for held in scene.pick_list["walk"] if held["part"] == "G-710" for tray in held["trays"]})
    assert (tips[5], tips[6].split(", ")) == ("3", [str(tray) for tray in trays])


def test_the_cart_is_in_order_of_work_by_tray_with_place_and_because(scene, seen):
    heads = [re.match(r"(Floor|Tray) ?(?:of the trolley|(\d+)).* (P\d/\d+) ", group[0][0]) for group in seen["work"]]
    steps = [head[3] for head in heads if head]
    lines = sorted(_lines(scene), key=lambda line: line["line"])
    assert list(dict.fromkeys(steps)) == list(dict.fromkeys(f"{line['procedure']}/{line['step']}" for line in lines))
    trays = [int(head[2]) for head in heads if head and head[2]]
    assert trays == sorted(trays) and set(trays) == {tray["tray"] for tray in scene.pick_list["trays"]}
    rows = [row for group in seen["work"] for row in group[1:]]
    assert [row[2].split()[0] for row in rows] == [line["part"] for line in lines]
    assert [row for row in rows if not (row[3] and row[4].strip("."))] == []
    where = {row[2].split()[0] + " " + row[3] for row in rows}
    assert {"A-503 bolt-1 and bolt-2 of each of ROD-1 to ROD-4", "A-502 HEAD/bolt-01 to bolt-10"} <= where
    beads = [row[3].split(": ")[-1] for row in rows if row[2].startswith("G-701")]
    assert beads == ["REAR-CARRIER/bead", "TIMING-COVER/bead", "SUMP/bead"]


def _lines(scene: Scene) -> list[dict[str, Any]]:
    return [line for tray in scene.pick_list["trays"] for line in tray["lines"]] + scene.pick_list["floor"]


def test_every_caution_and_tool_is_there_and_no_caution_twice(scene, seen):
    flat = " ".join(seen["text"].split())
    sentences = {
        one for line in _lines(scene) for text in line["cautions"] for one in re.split(r"(?<=\.) (?=[A-Z])", text)
    }
    assert len(sentences) >= 10
    assert {one: flat.count(one) for one in sentences if flat.count(one) != 1 and not _inside(one, sentences)} == {}
    assert {row["tool"] for row in scene.pick_list["tools"] if row["tool"] not in flat} == set()
    assert flat.count("engine maker's manual, which comes before everything on this sheet") == 1


def _inside(one: str, sentences: set[str]) -> bool:
    return any(one in other for other in sentences - {one})


def test_there_is_a_box_for_everything_that_is_ticked_and_a_line_for_every_signature(scene, seen):
    lines, tools = len(_lines(scene)), len(scene.pick_list["tools"])
    assert seen["boxes"] == len(seen["walk"]) + lines + 2 * tools
    assert [f"{who} by, day" in seen["text"] for who in ("picked", "handed over", "received")] == [True] * 3
    assert "second look, day" in seen["text"]


def test_it_is_readable_and_means_nothing_by_colour(seen):
    assert min(seen["sizes"]) >= READABLE_PT
    assert set(seen["colours"]) == {"rgb(0, 0, 0)", "rgba(0, 0, 0, 0)"}


def test_nothing_is_wider_than_the_sheet(seen):
    assert seen["wide"] == []


def test_it_prints_on_two_sheets_of_a4_upright(seen):
    pages = re.findall(rb"/MediaBox ?\[ ?0 0 ([\d.]+) ([\d.]+) ?\]", seen["pdf"])
    assert {(round(float(width)), round(float(height))) for width, height in pages} == {A4_PT}
    count = len(re.findall(rb"/Type ?/Page\b", seen["pdf"]))
    assert count <= SHEETS, "on more sheets; is a font of Arial's widths there (Debian: apt install fonts-liberation)?"
