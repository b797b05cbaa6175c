"""The match brief in a browser: on a phone, on a laptop, and on two to four sides."""

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

A4_PX = (718, 1047)
"""Less margins of 10 mm, at 96 pixels an inch, and a hair."""


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = match_practice(tmp_path_factory.mktemp("match"))
    done(folder, "brief", *WIND)
    return folder / "reports" / "brief.html"


@pytest.fixture(params=WIDTHS)
def page(
    request: pytest.FixtureRequest, browser: Browser, file: Path
) -> Iterator[Page]:
    yield from opened(browser, file, device=request.param, ready="article")


def test_it_is_no_wider_than_the_screen(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_axe_finds_nothing(page: Page) -> None:
    """axe-core 4.12, by Deque Systems; rules of WCAG 2.2."""
    found = Axe().run(page, options=WCAG)
    assert found.violations_count == 0, found.generate_report()


def test_a_number_on_the_map_leads_to_its_rod_and_back(page: Page) -> None:
    number = page.locator("svg.drawing a:visible").first
    key = (number.get_attribute("href") or "").removeprefix("#")
    number.focus()
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash") == f"#{key}"
    row = page.locator(f"#{key}")
    name = row.locator("a.number:visible")
    assert name.inner_text() in (number.text_content() or "").split(", ")
    name.click()
    back = page.evaluate("location.hash").removeprefix("#")
    assert page.locator(f"[id='{back}']").is_visible()
    assert back.endswith(key)


def test_all_numbers_on_the_map_are_rods(page: Page) -> None:
    numbers = page.locator("svg.drawing a:visible").all_text_contents()
    rods = page.locator(".rods .number:visible").all_inner_texts()
    told = [one for text in numbers for one in text.split(", ")]
    assert sorted(told) == sorted(rods)


def test_it_prints_on_two_to_four_sides_with_all_cards_on_the_last(
    page: Page, tmp_path: Path
) -> None:
    pdf = page.pdf(path=tmp_path / "brief.pdf", prefer_css_page_size=True)
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 4
    page.emulate_media(media="print")
    page.set_viewport_size({"width": A4_PX[0], "height": A4_PX[1]})
    cards = page.locator("#cards").bounding_box()
    assert cards is not None
    assert cards["height"] <= A4_PX[1]
    for card in page.locator("article").all():
        hidden = card.evaluate("e => e.scrollHeight - e.clientHeight")
        assert hidden <= 1


def test_it_is_there_within_a_second_on_a_slow_phone(
    browser: Browser, file: Path
) -> None:
    """The processor is slowed four times; the bound is generous for a busy machine."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    session = context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    page.goto(file.as_uri())
    page.wait_for_function("performance.getEntriesByType('paint').length > 1")
    paint_ms = page.evaluate(
        "performance.getEntriesByName('first-contentful-paint')[0].startTime"
    )
    context.close()
    assert paint_ms < 2000
