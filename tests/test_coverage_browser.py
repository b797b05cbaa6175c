"""The coverage page of a practice in a browser: what a captain and a reader can do."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from browsing import WIDTHS, opened
from practices_made import done

pytestmark = pytest.mark.browser

WCAG = {
    "runOnly": {
        "type": "tag",
        "values": [
            *("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"),
            "best-practice",
        ],
    }
}
"""The rules of WCAG 2.2, A and AA, as axe-core has them, and its good habits."""


@pytest.fixture(scope="module")
def file(_fished: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    import shutil

    folder = tmp_path_factory.mktemp("browser") / "pool"
    shutil.copytree(_fished, folder)
    done(folder, "divide", "--rotate", "2027-06-08,2027-06-09,2027-06-10")
    done(folder, "coverage")
    return folder / "reports" / "coverage.html"


@pytest.fixture(params=WIDTHS)
def page(
    request: pytest.FixtureRequest, browser: Browser, file: Path
) -> Iterator[Page]:
    yield from opened(browser, file, device=request.param)


@pytest.mark.parametrize("view", ["often", "day", "pair"])
def test_axe_finds_nothing(page: Page, view: str) -> None:
    """axe-core 4.12, by Deque Systems; rules of WCAG 2.2."""
    page.locator(f'.views input[value="{view}"]').check(force=True)
    for fold in page.locator("details").all():
        fold.evaluate("element => { element.open = true }")
    found = Axe().run(page, options=WCAG)
    assert found.violations_count == 0, found.generate_report()


def test_axe_would_find_something(page: Page) -> None:
    page.evaluate("document.documentElement.removeAttribute('lang')")
    page.evaluate("document.querySelector('h1').style.color = '#e8e8e0'")
    found = Axe().run(page, options=WCAG)
    names = {violation["id"] for violation in found.response["violations"]}
    assert {"html-has-lang", "color-contrast"} <= names


def test_fished_water_is_shown_in_one_way_at_a_time(page: Page) -> None:
    ways = {
        "day": {"Last fished on 9 June", "Last fished on 8 June"},
        "pair": {"Fished by Heron alone", "Fished by Grebe alone"},
        "often": {"Fished once"},
    }
    for view, titles in ways.items():
        page.locator(f'.views input[value="{view}"]').check(force=True)
        legend = page.locator(".legend").inner_text()
        assert all(title in legend for title in titles), legend
        others = set().union(*(ways[other] for other in ways if other != view))
        for title in others - titles:
            item = page.locator(".legend li", has_text=title).first
            assert not item.is_visible()


def test_views_can_be_chosen_by_keyboard(page: Page) -> None:
    page.locator('.views input[value="often"]').focus()
    page.keyboard.press("ArrowRight")
    assert page.locator('.views input[value="day"]').is_checked()
    assert page.locator(".legend li", has_text="Last fished on 9 June").is_visible()


def test_the_row_of_a_pair_leads_to_its_way_of_showing(page: Page) -> None:
    page.get_by_role("button", name="Grebe", exact=True).click()
    assert page.locator('.views input[value="pair"]').is_checked()


def test_the_row_of_a_day_leads_to_all_of_its_drifts(page: Page) -> None:
    drifts = page.locator(
        'tr[data-key^="drift/2027-06-08/"]:not([data-key$="/"])'
    ).count()
    assert drifts > 1
    before = page.locator(".leaflet-overlay-pane path").count()
    page.get_by_role("button", name="8 Jun", exact=True).click()
    # A halo is two lines a drift.
    after = page.locator(".leaflet-overlay-pane path").count()
    assert after - before == 2 * drifts


def test_what_is_missing_comes_before_the_map(page: Page) -> None:
    missing = page.locator(".missing")
    assert "9 June: no track from Grebe" in missing.inner_text()
    box, map_box = missing.bounding_box(), page.locator(".folium-map").bounding_box()
    assert box
    assert map_box
    assert box["y"] + box["height"] <= map_box["y"]


def test_the_paper_is_not_shrunk_by_a_wide_table(page: Page) -> None:
    page.set_viewport_size({"width": 696, "height": 1000})
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= 696


def test_other_views_are_not_among_the_layers(page: Page) -> None:
    page.locator(".leaflet-control-layers").hover()
    page.wait_for_timeout(50)
    for label in page.locator(".leaflet-control-layers-overlays label").all():
        text = label.inner_text()
        assert label.is_visible() == ("alone" not in text and "Last fished" not in text)
