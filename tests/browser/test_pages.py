"""The pages about the service in Chromium: its description without the internet, browsing for reading, the admin, the codes."""

from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from inventory.domain.error_codes import CODES
from tests.browser.chromium import Chromium, Visit
from tests.browser.scene import JOB, KEEPER, Scene


def drawn_on_the_way_down(visit: Visit) -> set[str]:
    """Operations of the description from top to bottom: a long one draws only what is on the screen."""
    seen: set[str] = set()
    at_the_end = False
    while True:
        now = set(visit.page.locator(".opblock").evaluate_all("all => all.map(one => one.id)"))
        if at_the_end and now <= seen:
            return seen
        seen |= now
        at_the_end = visit.page.evaluate(
            """() => new Promise(done => {
                window.scrollBy(0, 300);
                const there = () => window.innerHeight + window.scrollY >= document.documentElement.scrollHeight - 1;
                requestAnimationFrame(() => requestAnimationFrame(() => done(there())));
            })"""
        )


def test_the_description_opens_without_the_internet_and_shows_every_operation(browser: Chromium, scene: Scene) -> None:
    def look(visit: Visit) -> tuple[Any, ...]:
        with visit.page.expect_response("**/api/v1/schema*") as answer:
            visit.page.goto(f"{scene.address}/api/v1/docs")
        document = answer.value.json() if "json" in answer.value.headers["content-type"] else None
        visit.page.wait_for_selector(".opblock")
        drawn = drawn_on_the_way_down(visit)
        visit.page.evaluate("window.scrollTo(0, 0)")
        visit.page.wait_for_selector(".opblock-summary")
        visit.page.locator(".opblock-summary").first.click()
        visit.page.wait_for_selector(".opblock.is-open .responses-table")
        return len(drawn), document, visit.page.title(), visit.hosts, visit.faults

    count, document, title, hosts, faults = browser.visit(look)
    assert document is not None
    assert count == sum(len(path) for path in document["paths"].values()) > 80
    assert (title, hosts, faults) == ("Matchbore", {"127.0.0.1"}, [])


@pytest.mark.parametrize(
    "path", ["/api/v1/parts", f"/api/v1/jobs/{JOB}", f"/api/v1/jobs/{JOB}/findings", "/api/v1/acts"]
)
def test_the_service_is_browsed_for_reading_and_has_no_form_that_writes(
    browser: Chromium, scene: Scene, path: str
) -> None:
    def look(visit: Visit) -> tuple[Any, ...]:
        scene.sign_in(visit, "maren", path)
        writing = visit.page.locator("form[method=post i]").evaluate_all("all => all.map(one => one.action)")
        fields = visit.page.locator("textarea, input:not([type=hidden]), select").count()
        return writing, fields, visit.page.inner_text("body"), visit.hosts

    writing, fields, text, hosts = browser.visit(look)
    assert ([action for action in writing if "/session/logout/" not in action], fields) == ([], 0)
    assert (hosts, len(writing)) == ({"127.0.0.1"}, 1)
    assert "maren" in text


def test_the_admin_is_for_reading_but_for_people_and_groups(browser: Chromium, scene: Scene) -> None:
    def look(visit: Visit) -> dict[str, Any]:
        scene.sign_in(visit, KEEPER, "/admin/")
        page = visit.page
        found: dict[str, Any] = {"add": page.locator("a.addlink").evaluate_all(_ADDRESSES)}
        found["lists"] = page.locator("tr[class^=model-] th a").evaluate_all(_ADDRESSES)
        found["parts"] = _writes_of(visit, f"{scene.address}/admin/inventory/part/")
        found["people"] = _writes_of(visit, f"{scene.address}/admin/inventory/person/")
        page.goto(f"{scene.address}/admin/inventory/part/add/")
        found["refused"] = page.title()
        return found | {"hosts": visit.hosts}

    found = browser.visit(look)
    assert sorted(found["add"]) == ["/admin/auth/group/add/", "/admin/inventory/person/add/"]
    assert len(found["lists"]) > 30
    assert (found["parts"], found["people"] > 0, found["hosts"]) == (0, True, {"127.0.0.1"})
    assert "403" in found["refused"]


_ADDRESSES = "all => all.map(one => one.getAttribute('href'))"


def _writes_of(visit: Visit, address: str) -> int:
    """Buttons that write, on the list of a table and on the page of its first row."""
    buttons = "main form[method=post] input[type=submit], a.deletelink, select[name=action]"
    visit.page.goto(address)
    count = visit.page.locator(buttons).count()
    visit.page.click("#result_list tbody th a")
    return count + visit.page.locator(buttons).count()


def test_the_first_page_leads_to_the_others(browser: Chromium, scene: Scene) -> None:
    def look(visit: Visit) -> tuple[Any, ...]:
        visit.page.goto(scene.address)
        links = visit.page.locator("a").evaluate_all("all => all.map(one => one.href)")
        return [visit.page.goto(link).status for link in links], visit.hosts

    assert browser.visit(look) == ([200] * 4, {"127.0.0.1"})


def test_who_is_not_logged_in_is_led_to_the_log_in_and_back_to_the_sheet(browser: Chromium, scene: Scene) -> None:
    def look(visit: Visit) -> tuple[Any, ...]:
        refused = visit.page.goto(scene.address + scene.printed)
        visit.page.click("text=Log in")
        return refused.status, urlsplit(visit.page.url).path, parse_qs(urlsplit(visit.page.url).query)

    assert browser.visit(look) == (401, "/api/v1/session/login/", {"next": [scene.printed]})


def test_the_page_of_codes_lists_every_code_once_with_its_status(browser: Chromium, scene: Scene) -> None:
    def look(visit: Visit) -> tuple[Any, ...]:
        visit.page.goto(f"{scene.address}/docs/errors")
        rows = visit.page.locator("tbody tr").evaluate_all(
            "all => all.map(row => [row.id, ...[...row.cells].map(cell => cell.innerText)])"
        )
        return rows, visit.hosts

    rows, hosts = browser.visit(look)
    assert rows == [[code, code, str(meaning.status), meaning.title] for code, meaning in CODES.items()]
    assert hosts == {"127.0.0.1"}
