"""The page of starts in a browser: on a phone, on a laptop, and on paper."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from browsing import WIDTHS, opened
from match_made import WIND, match_practice
from practices_made import done
from test_coverage_browser import WCAG

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = match_practice(tmp_path_factory.mktemp("match"))
    done(folder, "starts", *WIND)
    return folder / "reports" / "starts.html"


@pytest.fixture(params=WIDTHS)
def page(
    request: pytest.FixtureRequest, browser: Browser, file: Path
) -> Iterator[Page]:
    yield from opened(browser, file, device=request.param)


def test_it_is_no_wider_than_the_screen(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_axe_finds_nothing(page: Page) -> None:
    """axe-core 4.12, by Deque Systems; rules of WCAG 2.2."""
    for fold in page.locator("details").all():
        fold.evaluate("element => { element.open = true }")
    found = Axe().run(page, options=WCAG)
    assert found.violations_count == 0, found.generate_report()


def test_gusts_come_first_then_the_map_and_then_the_rods(page: Page) -> None:
    lead = page.locator(".lead")
    assert lead.inner_text().startswith("Gusts of 24 mph")
    shown = [lead, page.locator(".findings"), page.locator(".chart")]
    tops = [(one.bounding_box() or {"y": -1.0})["y"] for one in shown]
    assert tops == sorted(tops)
    assert page.locator("table").first.locator("tbody tr").count() == 6


def test_a_rod_leads_to_its_place_on_the_map(page: Page) -> None:
    row = page.locator("table").first.locator("tbody tr").first
    row.locator("button").click()
    key = row.get_attribute("data-key")
    assert page.locator(f'tr[data-key="{key}"][aria-current]').count() >= 1


def test_it_prints_on_a_few_sheets(page: Page, tmp_path: Path) -> None:
    page.set_viewport_size({"width": 696, "height": 1000})
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= 696
    sheets = tmp_path / "starts.pdf"
    page.pdf(path=sheets, prefer_css_page_size=True)
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", sheets.read_bytes())) <= 5
