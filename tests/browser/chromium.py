"""A real browser for tests: the system's Chromium, headless, driven from a thread of its own.

The driver keeps an event loop running in its thread, where Django's database calls refuse to work; so no test ever has
it in its own. Every visit is a new, clean browser profile.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TypeVar
from urllib.parse import urlsplit

from playwright.sync_api import Browser, Page, Playwright, sync_playwright

T = TypeVar("T")
NAMES = ("chromium", "chromium-browser")
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking")
PATIENCE_MS = 20_000
LEFT_OUT = "tests in a browser left out: no Chromium on this machine (Debian: apt install chromium fonts-liberation)"


def executable() -> str | None:
    """Where this machine has a Chromium; None: it has none."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


@dataclass(slots=True)
class Visit:
    """What the browser did during one visit: every host it asked for something, every fault a page reported."""

    page: Page
    hosts: set[str] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)

    def watch(self) -> None:
        """Note requests and faults from now on."""
        self.page.on("request", lambda request: self.hosts.add(urlsplit(request.url).hostname or ""))
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on("requestfailed", lambda request: self.faults.append(f"{request.url}: {request.failure}"))
        self.page.on(
            "console",
            lambda said: self.faults.append(f"{said.location['url']}: {said.text}") if said.type == "error" else None,
        )


class Chromium:
    """One browser for the whole run. `visit` is called from any thread."""

    def __init__(self, path: str) -> None:
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="browser")
        self._driver: Playwright | None = None
        self._browser: Browser | None = None
        self._thread.submit(self._open, path).result()

    def _open(self, path: str) -> None:
        self._driver = sync_playwright().start()
        self._browser = self._driver.chromium.launch(executable_path=path, args=list(FLAGS))

    def close(self) -> None:
        """End the browser and its driver."""
        self._thread.submit(self._close).result()
        self._thread.shutdown()

    def _close(self) -> None:
        assert self._browser is not None and self._driver is not None
        self._browser.close()
        self._driver.stop()

    def visit(self, look: Callable[[Visit], T]) -> T:
        """Look at pages in a clean profile; what `look` returns."""
        return self._thread.submit(self._visit, look).result()

    def _visit(self, look: Callable[[Visit], T]) -> T:
        assert self._browser is not None
        profile = self._browser.new_context(viewport={"width": 1100, "height": 900}, locale="en-GB")
        profile.set_default_timeout(PATIENCE_MS)
        try:
            visit = Visit(profile.new_page())
            visit.watch()
            return look(visit)
        finally:
            profile.close()
