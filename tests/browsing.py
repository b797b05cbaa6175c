"""A browser without a network, and pages opened in it at the sizes that matter."""

from collections.abc import Iterator, Sequence
from itertools import combinations
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


def visible_labels(page: "Page") -> list[dict[str, float | str]]:
    """Return the text and the box of each label that a map shows."""
    found: list[dict[str, float | str]] = page.evaluate(
        """() => [...document.querySelectorAll(".label span")]
        .filter((label) => label.style.visibility !== "hidden")
        .map((label) => [label.textContent, label.getBoundingClientRect().toJSON()])
        .map(([text, box]) => ({text, ...box}))"""
    )
    return found


def covering(
    labels: Sequence[dict[str, float | str]],
) -> list[tuple[float | str, float | str]]:
    """Return the pairs of labels of which one covers the other."""
    return [
        (one["text"], other["text"])
        for one, other in combinations(labels, 2)
        if not (
            float(one["right"]) <= float(other["left"])
            or float(other["right"]) <= float(one["left"])
            or float(one["bottom"]) <= float(other["top"])
            or float(other["bottom"]) <= float(one["top"])
        )
    ]
