"""The demo's pages in a browser: how large, how soon, and whether all can read them.

All of them, since a page of a few shapes is small, quick and roomy by itself.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Page

from browsing import WIDTHS, covering, opened, visible_labels
from sweptwater_demo.build import build_demo
from sweptwater_demo.pictures import SHOTS, take_pictures
from test_coverage_browser import WCAG

pytestmark = [pytest.mark.browser, pytest.mark.slow]

MAPPED = ("coverage", "coverage-2027-06-08", "met", "next", "starts", "afloat")
PAGES = (*MAPPED, "brief", "sheet")
LEFT = {"afloat": "Heron.afloat.html", "sheet": "Heron.html"}

MOST_BYTES = 2_000_000
PAINTED_MS, USABLE_MS = 1000, 2000
"""With the processor slowed four times, at the best of some tries."""
SLOWED, TRIES = 4, 5
COUNT = """() => {
  const began = performance.now();
  let sum = 0;
  for (let number = 0; number < 1e8; number += 1) sum += number % 7;
  return performance.now() - began + (sum < 0);
}"""
COUNT_MS = 600.0
"""What that took, slowed, where nothing else ran. A machine that is slower, or busier,
may take longer for a page by as much, and by half of that again: a page runs on more
threads than counting does."""
BESIDES = 1.5

THERE_AND_BACK = """most => {
  document.querySelectorAll('details').forEach(fold => { fold.open = true });
  const current = () => [...document.querySelectorAll('tr[aria-current]')]
    .map(row => row.dataset.key);
  const rows = [...document.querySelectorAll('tr[data-key]')];
  const step = Math.max(1, Math.floor(rows.length / most));
  return rows.filter((_, number) => number % step === 0).map(row => {
    row.querySelector('button').click();
    const popup = map_0._popup;
    if (!popup || !popup.isOpen()) return [row.dataset.key, null];
    const path = popup._source._path;
    document.dispatchEvent(new KeyboardEvent('keydown', { key: 'Escape' }));
    if (current().length) return [row.dataset.key, ['still chosen']];
    const { x, y } = path.getBoundingClientRect();
    path.dispatchEvent(
      new MouseEvent('click', { bubbles: true, clientX: x + 1, clientY: y + 1 })
    );
    return [row.dataset.key, current()];
  });
}"""
"""Which rows are current after what each row brought up was clicked."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "ashlode"
    build_demo(folder)
    return folder


def file_of(folder: Path, name: str) -> Path:
    if name in LEFT:
        return folder / "plans" / "2027-06-11" / LEFT[name]
    return folder / "reports" / f"{name}.html"


@pytest.fixture(params=[(name, device) for name in MAPPED for device in WIDTHS])
def mapped(
    request: pytest.FixtureRequest, browser: Browser, folder: Path
) -> Iterator[Page]:
    name, device = request.param
    yield from opened(browser, file_of(folder, name), device=device)


def test_none_is_over_two_megabytes(folder: Path) -> None:
    """Nor is any picture over one."""
    sizes = {path: path.stat().st_size for path in folder.rglob("*.html")}
    assert len(sizes) >= 14
    assert max(sizes.values()) < MOST_BYTES
    pictures = [path.stat().st_size for path in folder.rglob("*.png")]
    assert len(pictures) == 11
    assert max(pictures) < MOST_BYTES / 2


def test_the_pictures_for_the_readme_are_made_of_it(
    folder: Path, tmp_path: Path
) -> None:
    taken = list(take_pictures(folder, tmp_path / "pictures"))
    assert [path.name for path in taken] == list(SHOTS)
    for path in taken:
        with Image.open(path) as picture:
            assert min(picture.size) > 300
            assert len(picture.getcolors() or []) > 20
    with pytest.raises(FileNotFoundError, match="build the demo first"):
        next(take_pictures(tmp_path, tmp_path))


@pytest.mark.parametrize("name", ["coverage", "brief"])
def test_it_is_soon_there(browser: Browser, folder: Path, name: str) -> None:
    """First contentful paint (W3C Paint Timing), and all scripts run."""
    found = [_timed(browser, file_of(folder, name)) for _ in range(TRIES)]
    painted_ms, usable_ms, counted_ms = (
        min(times) for times in zip(*found, strict=True)
    )
    busy = max(1.0, counted_ms / COUNT_MS)
    assert painted_ms < busy * PAINTED_MS
    assert usable_ms < busy * USABLE_MS


def _timed(browser: Browser, file: Path) -> tuple[float, float, float]:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, offline=True, bypass_csp=True
    )
    page = context.new_page()
    session = context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    counted_ms = page.evaluate(COUNT)
    page.goto(file.as_uri())
    page.wait_for_function(
        "performance.getEntriesByName('first-contentful-paint').length > 0"
    )
    painted_ms = page.evaluate(
        "performance.getEntriesByName('first-contentful-paint')[0].startTime"
    )
    loaded_ms = page.evaluate(
        "performance.getEntriesByType('navigation')[0].loadEventEnd"
    )
    assert page.locator(".chart.live, article").count()  # the map answers; or the cards
    context.close()
    return painted_ms, loaded_ms, counted_ms


@pytest.mark.parametrize("width", [320, 1280])
@pytest.mark.parametrize("name", PAGES)
def test_all_can_read_it(browser: Browser, folder: Path, name: str, width: int) -> None:
    """axe-core 4.12, by Deque Systems; WCAG 2.2, and of it 1.4.10 (320 pixels wide)."""
    context = browser.new_context(
        viewport={"width": width, "height": 800}, offline=True, bypass_csp=True
    )
    page = context.new_page()
    page.goto(file_of(folder, name).as_uri())
    page.wait_for_timeout(300)
    for fold in page.locator("details").all():
        fold.evaluate("element => { element.open = true }")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(page, options=WCAG)
    context.close()
    assert found.violations_count == 0, found.generate_report()


def test_labels_never_cover_each_other(mapped: Page) -> None:
    """However near the map is looked at."""
    for nearer in (0, 1, 2, 1):
        mapped.evaluate(
            "step => void map_0.setZoom(map_0.getZoom() + step, {animate: false})",
            nearer,
        )
        mapped.wait_for_timeout(200)
        labels = visible_labels(mapped)
        assert covering(labels) == []


def test_numbers_on_the_map_are_those_of_the_tables(mapped: Page) -> None:
    """Each that is drawn at all begins a row."""
    numbers = set(mapped.locator(".label.numbers span").all_text_contents())
    rows = mapped.locator("tr[data-key] th").all_text_contents()
    begun = {re.split(r"[ ,:]", row.strip())[0] for row in rows}
    told = {one for number in numbers for one in number.split(", ")}
    assert told <= begun
    assert bool(told) == ("met" not in mapped.url)  # whose marks have no numbers


def test_a_row_is_led_to_by_what_it_leads_to(mapped: Page) -> None:
    """A dozen rows by their buttons, and from what each brings up back by a click."""
    rows = mapped.evaluate(THERE_AND_BACK, 12)
    back = [(key, found) for key, found in rows if found is not None]
    assert back or "met" in mapped.url  # sectors, of which nothing is to be told
    for key, found in back:
        assert any(one.startswith(key) for one in found), (key, found)


def test_a_row_brings_the_map_into_sight(mapped: Page) -> None:
    for fold in mapped.locator("details").all():
        fold.evaluate("element => { element.open = true }")
    row = mapped.locator("tr[data-key]:visible").first
    key = row.get_attribute("data-key")
    button = row.locator("button")
    button.focus()
    button.press("Enter")
    assert mapped.locator(f'tr[data-key="{key}"][aria-current]').count() >= 1
    box = mapped.locator(".folium-map").bounding_box()
    height = mapped.viewport_size["height"]  # type: ignore[index]
    assert box is not None
    assert box["y"] < height
    assert box["y"] + box["height"] > 0
