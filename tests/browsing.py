"""A browser without a network, and pages opened in it at the sizes that matter."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Route

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WIDTHS = {"phone": (390, 844), "laptop": (1280, 800)}


def opened(
    browser: "Browser",
    file: Path,
    *,
    device: str,
    ready: str = ".leaflet-overlay-pane path",
) -> "Iterator[Page]":
    """Yield a page without a network; at its end it must have asked for nothing.

    `ready` selects what is to be there before it is looked at.
    """
    width, height = WIDTHS[device]
    phone = device == "phone"
    context = browser.new_context(
        viewport={"width": width, "height": height},
        offline=True,
        has_touch=phone,
        is_mobile=phone,
        reduced_motion="reduce",  # what moves would have to be waited for
    )
    page = context.new_page()
    page.set_default_timeout(5000)
    asked: list[str] = []
    errors: list[str] = []

    def note_and_refuse(route: "Route") -> None:
        if route.request.url == file.as_uri():
            route.continue_()
        else:
            asked.append(route.request.url)
            route.abort()

    page.route("**/*", note_and_refuse)
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda message: errors.append(message.text))
    page.goto(file.as_uri())
    page.wait_for_selector(ready)
    yield page
    entries = page.evaluate("performance.getEntriesByType('resource').length")
    context.close()
    assert (asked, errors, entries) == ([], [], 0)
