"""The page of what was met in a browser: on a phone, on a laptop, and on paper."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from browsing import WIDTHS, opened
from met_sample import TABLES, sample_met
from sweptwater.jobs.met_page import page_of
from sweptwater.jobs.opened import open_folder
from sweptwater.paper.page import render_page
from test_coverage_browser import WCAG

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def file(_begun: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("met") / "met.html"
    page = page_of(sample_met(), open_folder(_begun))
    file.write_text(render_page(page), encoding="utf-8")
    return file


@pytest.fixture(params=WIDTHS)
def page(
    request: pytest.FixtureRequest, browser: Browser, file: Path
) -> Iterator[Page]:
    yield from opened(browser, file, device=request.param)


def is_phone(page: Page) -> bool:
    return bool(page.viewport_size and page.viewport_size["width"] == 390)


def test_it_is_no_wider_than_the_screen(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_axe_finds_nothing(page: Page) -> None:
    """axe-core 4.12, by Deque Systems; rules of WCAG 2.2."""
    for fold in page.locator("details").all():
        fold.evaluate("element => { element.open = true }")
    found = Axe().run(page, options=WCAG)
    assert found.violations_count == 0, found.generate_report()


def test_what_is_missing_and_clear_comes_before_the_plots(page: Page) -> None:
    names = (".missing", ".findings", ".plots", ".chart")
    tops = [page.locator(name).bounding_box() or {"y": -1.0} for name in names]
    assert [top["y"] for top in tops] == sorted(top["y"] for top in tops)


def test_plots_stand_beside_each_other_only_where_there_is_room(page: Page) -> None:
    boxes = [box for f in page.locator("figure").all() if (box := f.bounding_box())]
    assert len(boxes) == len(TABLES)
    first, second = boxes[:2]
    if is_phone(page):
        assert second["y"] > first["y"] + first["height"]
    else:
        assert second["y"] == first["y"]
        assert second["x"] > first["x"] + first["width"]


def test_letters_in_plots_can_be_read(page: Page) -> None:
    """10 px at least on a phone (common practice, no source)."""
    least = page.evaluate(
        """() => Math.min(...[...document.querySelectorAll('.intervals text')].map(
        (text) => parseFloat(getComputedStyle(text).fontSize)
            * text.ownerSVGElement.getBoundingClientRect().width
            / text.ownerSVGElement.viewBox.baseVal.width))"""
    )
    assert least >= 9.9


def test_no_words_of_a_plot_cover_each_other_or_stick_out(page: Page) -> None:
    """As drawn, in the fonts that this browser has."""
    bad = page.evaluate(
        """() => {
        const bad = [];
        for (const svg of document.querySelectorAll('.intervals')) {
          const around = svg.getBoundingClientRect();
          const texts = [...svg.querySelectorAll('text')];
          const boxes = texts.map((text) => text.getBoundingClientRect());
          boxes.forEach((a, i) => {
            if (a.left < around.left - 1 || a.right > around.right + 1
                || a.bottom > around.bottom + 1 || a.top < around.top - 1)
              bad.push('out: ' + texts[i].textContent);
            boxes.slice(i + 1).forEach((b, j) => {
              const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
              const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
              if (wide > 1 && high > 4)
                bad.push(texts[i].textContent + ' / ' + texts[i + 1 + j].textContent);
            });
          });
        }
        return bad;
        }"""
    )
    assert bad == []


def test_the_paper_is_no_wider_than_it_is(page: Page) -> None:
    """A4 less margins of 13 mm is 184 mm, 695 px at 96 px an inch."""
    page.set_viewport_size({"width": 696, "height": 1000})
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= 696
    assert page.locator(".plots").is_visible()
    first, second = (page.locator("figure").nth(n).bounding_box() for n in range(2))
    assert first
    assert second
    assert first["y"] == second["y"]


def test_it_prints_on_a_few_sheets(page: Page, tmp_path: Path) -> None:
    file = tmp_path / "met.pdf"
    page.pdf(path=file, prefer_css_page_size=True)
    sheets = len(re.findall(rb"/Type\s*/Page\b", file.read_bytes()))
    assert 3 <= sheets <= 7


def test_a_sector_is_found_on_the_map_from_its_rate(page: Page) -> None:
    page.locator('tr[data-key="sector-A"] button').first.click()
    assert page.locator('tr[data-key="sector-A"][aria-current]').count() >= 1


def test_a_tap_on_offers_tells_of_what_kinds(page: Page) -> None:
    mark = page.locator('.leaflet-overlay-pane path[fill="#e69f00"]').first
    mark.scroll_into_view_if_needed()
    mark.click(force=True)
    told = page.locator(".leaflet-popup-content")
    told.wait_for()
    assert "10 offers" in told.inner_text()
    assert "6 followed, 3 pulled" in told.inner_text()
