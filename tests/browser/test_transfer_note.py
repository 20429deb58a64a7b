"""The sheet that rides along with a transfer, as Chromium shows and prints it.

Sizes by ISO 216 (A4: 210 mm × 297 mm); 1 in = 25.4 mm = 72 pt = 96 CSS px (CSS Values and Units 3).
"""

import re
from typing import Any

from tests.browser.chromium import Chromium, Visit
from tests.browser.scene import Scene
from tests.browser.test_pick_list import A4_PT, ACROSS_PX


def test_it_prints_on_one_sheet_of_a4_and_nothing_is_wider_than_that(browser: Chromium, scene: Scene) -> None:
    def look(visit: Visit) -> tuple[Any, ...]:
        scene.sign_in(visit, "piet", scene.rides)
        page = visit.page
        rows = page.locator("tbody tr").evaluate_all("all => all.map(row => row.innerText)")
        page.emulate_media(media="print")
        page.set_viewport_size({"width": round(ACROSS_PX), "height": 1000})
        wide = page.evaluate(
            "() => [...document.body.querySelectorAll('*')].filter(it => it.getBoundingClientRect().right > innerWidth + 1"
            " || it.scrollWidth > it.clientWidth + 1 && getComputedStyle(it).display != 'inline').map(it => it.outerHTML)"
        )
        return rows, wide, page.pdf(prefer_css_page_size=True), visit.hosts, visit.faults

    rows, wide, pdf, hosts, faults = browser.visit(look)
    assert [bool(re.search(word, row)) for word, row in zip(("S-0446", "WET-LINER"), rows, strict=True)] == [True, True]
    assert (wide, hosts, faults) == ([], {"127.0.0.1"}, [])
    pages = re.findall(rb"/MediaBox ?\[ ?0 0 ([\d.]+) ([\d.]+) ?\]", pdf)
    assert {(round(float(width)), round(float(height))) for width, height in pages} == {A4_PT}
    assert len(re.findall(rb"/Type ?/Page\b", pdf)) == 1
