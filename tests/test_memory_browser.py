"""A page with drifts from memory in a browser: to be seen, switched and led to."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page

from browsing import WIDTHS, opened
from memory_made import TELL, with_marks
from practices_made import done
from sweptwater.paper import looks
from test_coverage_browser import WCAG

pytestmark = pytest.mark.browser

KEY = "memory-2027-06-09-Grebe"


@pytest.fixture(scope="module")
def file(_fished: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    scratch = tmp_path_factory.mktemp("memory")
    folder = with_marks(Path(shutil.copytree(_fished, scratch / "pool")), scratch)
    words = ("--from", "boathouse", "--to", "point", "--times", "2")
    done(folder, "drifts", "add", *TELL, *words)
    done(folder, "coverage")
    return folder / "reports" / "coverage.html"


@pytest.fixture(params=WIDTHS)
def page(
    request: pytest.FixtureRequest, browser: Browser, file: Path
) -> Iterator[Page]:
    yield from opened(browser, file, device=request.param)


def _hatched(page: Page) -> Locator:
    return page.locator(f'.leaflet-overlay-pane path[fill="{looks.REMEMBERED.paint}"]')


def _dashed(page: Page) -> Locator:
    dash = looks.REMEMBERED_DRIFT.dash
    return page.locator(f'.leaflet-overlay-pane path[stroke-dasharray="{dash}"]')


def test_it_is_hatched_and_its_drifts_are_dashed(page: Page) -> None:
    assert _hatched(page).count() == 1
    assert _dashed(page).count() == 2
    hatch, once = (
        page.locator(f"pattern[id='{look.paint[5:-1]}']").first.inner_html()
        for look in (looks.REMEMBERED, looks.SWEPT_ONCE)
    )
    assert hatch != once


@pytest.mark.parametrize(
    ("title", "left"), [("From memory", (0, 2)), ("Drifts from memory", (1, 0))]
)
def test_each_has_its_own_switch(page: Page, title: str, left: tuple[int, int]) -> None:
    switches = page.locator(".leaflet-control-layers-overlays label")
    switch = switches.filter(has=page.get_by_text(title, exact=True))
    assert switch.count() == 1
    switch.locator("input").evaluate("box => box.click()")
    assert (_hatched(page).count(), _dashed(page).count()) == left


def test_it_stays_in_every_view(page: Page) -> None:
    for view in ("day", "pair", "often"):
        page.locator(f'.views input[value="{view}"]').check(force=True)
        assert _hatched(page).count() == 1


def test_its_row_leads_to_it(page: Page) -> None:
    row = page.locator(f'tr[data-key="{KEY}"]')
    before = page.locator(".leaflet-overlay-pane path").count()
    row.get_by_role("button").click()
    assert page.locator(".leaflet-popup-content").inner_text().startswith("From memory")
    assert page.locator(".leaflet-overlay-pane path").count() > before


def test_the_row_of_a_drift_leads_to_its_line(page: Page) -> None:
    for fold in page.locator("details").all():
        fold.evaluate("element => { element.open = true }")
    page.locator('tr[data-key="drift/2027-06-09/Grebe/1"]').get_by_role(
        "button"
    ).click()
    told = page.locator(".leaflet-popup-content").inner_text()
    assert "Grebe, drift 1, from memory" in told
    assert "boathouse to point" in told


def test_axe_finds_nothing(page: Page) -> None:
    """axe-core 4.12, by Deque Systems; rules of WCAG 2.2."""
    for fold in page.locator("details").all():
        fold.evaluate("element => { element.open = true }")
    found = Axe().run(page, options=WCAG)
    assert found.violations_count == 0, found.generate_report()


def test_the_paper_is_no_wider_than_it_is(page: Page) -> None:
    """A4 less its margins; two more columns must fit."""
    page.set_viewport_size({"width": 696, "height": 1000})
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= 696


def test_a_drift_is_told_to_be_from_memory_where_it_is_seen_at_once(page: Page) -> None:
    """On a phone, without moving the table sideways."""
    page.get_by_text("The drifts", exact=True).first.click()
    cell = page.get_by_role("columnheader", name="Known from")
    box, view = cell.bounding_box(), page.viewport_size
    assert box
    assert view
    assert box["x"] + box["width"] <= view["width"]
