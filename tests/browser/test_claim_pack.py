"""The pack of a claim as Chromium prints it: every section begins on its own sheet of A4, and the contents tell which.

Sizes by ISO 216 (A4: 210 mm × 297 mm); 1 in = 25.4 mm = 72 pt (CSS Values and Units 3).
"""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from tests.browser.chromium import Chromium, Visit
from tests.browser.scene import Scene
from tests.browser.test_pick_list import A4_PT

#: Of every sheet: what its first line says, what its foot says, and whether anything in it is cut off.
SHEETS = """() => [...document.querySelectorAll('.sheet')].map(sheet => ({
    head: sheet.querySelector('h1, h2').innerText,
    foot: sheet.querySelector('.foot').innerText,
    low: Math.max(...[...sheet.children].filter(it => it.className != 'foot').map(it => it.getBoundingClientRect().bottom))
        - sheet.querySelector('.foot').getBoundingClientRect().top,
    cut: [...sheet.querySelectorAll('td, th')].filter(
        it => it.scrollWidth > it.clientWidth + 1 || it.scrollHeight > it.clientHeight + 1).map(it => it.innerText),
    top: sheet.getBoundingClientRect().top + window.scrollY,
}))"""


@pytest.fixture(scope="module")
def seen(browser: Chromium, scene: Scene) -> Iterator[dict[str, Any]]:
    """The pack as the warranty clerk opens and prints it."""

    def look(visit: Visit) -> dict[str, Any]:
        scene.sign_in(visit, "hester", scene.pack)
        page = visit.page
        page.emulate_media(media="print")
        return {
            "contents": page.locator(".contents tbody tr").evaluate_all(
                "rows => rows.map(row => [...row.cells].map(cell => cell.innerText.trim()))"
            ),
            "sheets": page.evaluate(SHEETS),
            "gaps": page.locator("td.gap").count(),
            "text": page.inner_text("body"),
            "pdf": page.pdf(prefer_css_page_size=True),
            "hosts": visit.hosts,
            "faults": visit.faults,
        }

    yield browser.visit(look)


def test_it_asks_nobody_but_this_service_and_has_no_fault(seen):
    assert (seen["hosts"], seen["faults"]) == ({"127.0.0.1"}, [])


def test_the_pages_that_come_out_are_those_of_the_contents(seen):
    pages = re.findall(rb"/MediaBox ?\[ ?0 0 ([\d.]+) ([\d.]+) ?\]", seen["pdf"])
    assert {(round(float(width)), round(float(height))) for width, height in pages} == {A4_PT}
    count = len(re.findall(rb"/Type ?/Page\b", seen["pdf"]))
    last = [int(page) for page in seen["contents"][-1][2].split(" to ")][-1]
    assert count == last == len(seen["sheets"])
    assert count > len(seen["contents"]) + 1  # some sections go on over more than one sheet


def test_every_section_begins_on_the_sheet_that_the_contents_tell(seen):
    for number, title, pages, _ in seen["contents"]:
        first, last = int(pages.split(" to ")[0]), int(pages.split(" to ")[-1])
        heads = [sheet["head"] for sheet in seen["sheets"][first - 1 : last]]
        assert heads == [f"{number} {title}", *[f"{number} {title}, continued"] * (last - first)]
    total = len(seen["sheets"])
    assert [sheet["foot"].split()[-4:] for sheet in seen["sheets"]] == [
        ["page", str(page), "of", str(total)] for page in range(1, total + 1)
    ]


def test_nothing_is_cut_off_nor_runs_into_the_foot(seen):
    assert {text for sheet in seen["sheets"] for text in sheet["cut"]} == set()
    assert [sheet["foot"] for sheet in seen["sheets"] if sheet["low"] > 0] == []


def test_the_gaps_are_those_of_the_contents(seen):
    assert seen["gaps"] == sum(int(line[3] or 0) for line in seen["contents"]) > 0


def test_what_was_told_is_all_there(seen):
    flat = "".join(seen["text"].split())
    assert ("漏れている" * 20 in flat, "W" * 120 in flat) == (True, True)
    assert "leaks" in flat
