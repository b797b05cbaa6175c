"""Boat sheets in a browser: two sides of A4, and one column on a phone."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from browsing import WIDTHS, opened
from sheet_made import sample_sheet
from sweptwater.paper.lettering import text_width
from sweptwater.paper.sheet import GENERAL, render_sheet
from sweptwater.paper.sheet_fit import USUAL

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

A4_PX = {"width": 794, "height": 1123}
LONG = ("220 yd off the old boathouse", "mouth of the northern feeder stream", "dam")
ASHORE = "Stay ashore: 31 mph is more than the 24 mph that the practice allows."

CUT_OFF = """() => {
  const sides = [...document.querySelectorAll('.side')], found = [];
  for (const side of sides) {
    const around = side.getBoundingClientRect();
    for (const part of side.querySelectorAll('*')) {
      if (part.closest('svg') && part.tagName !== 'svg') continue;
      const style = getComputedStyle(part);
      if (style.clipPath !== 'none') continue;  // for ears only
      const box = part.getBoundingClientRect();
      if (!box.width || !box.height) continue;
      if (box.right > around.right + 1 || box.bottom > around.bottom + 1
          || box.left < around.left - 1 || box.top < around.top - 1)
        found.push(part.outerHTML.slice(0, 90));
      const text = /^(TD|TH|P|LI)$/.test(part.tagName);
      if (text && part.scrollWidth > part.clientWidth + 1)
        found.push('wide: ' + part.outerHTML.slice(0, 90));
    }
  }
  return found;
}"""
"""What reaches out of its side, or of its own box."""


def _pages(browser: Browser, html: str) -> tuple[int, list[str]]:
    """Return how many pages a print has, and what is cut off on them."""
    page = browser.new_page(viewport=A4_PX)  # type: ignore[arg-type]
    page.set_content(html)
    pdf = page.pdf(prefer_css_page_size=True, print_background=True)
    page.emulate_media(media="print")
    cut_off = page.evaluate(CUT_OFF)
    page.close()
    return len(re.findall(rb"/Type\s*/Page\b", pdf)), cut_off


@pytest.mark.parametrize("sans", ["as it is", "Wide made usual"])
@pytest.mark.parametrize("drifts", [0, 1, 12, 24, 40])
def test_it_prints_on_two_sides(browser: Browser, drifts: int, sans: str) -> None:
    """DejaVu Sans, made smaller, is about the widest text face that anybody has."""
    html = render_sheet(sample_sheet(drifts=drifts))
    if sans != "as it is":
        html = html.replace("--sans: Arial", f"--sans: '{sans}'")
        assert f"--sans: '{sans}'" in html
    assert _pages(browser, html) == (2, [])


@pytest.mark.parametrize("drifts", [1, 12, 24])
def test_without_a_back_it_prints_on_one_side(browser: Browser, drifts: int) -> None:
    html = render_sheet(sample_sheet(drifts=drifts, back=False))
    assert _pages(browser, html) == (1, [])


@pytest.mark.parametrize(
    "more",
    [
        {"places": LONG},
        {"stay_ashore": ASHORE},
        {"stay_ashore": ASHORE, "places": LONG, "closed": ("the bay",) * 20},
        {"pencil_rows": 0},
        {"cautions": ()},
        {"pair": "The-old-hands-from-the-lodge", "wind": "WSW 5 to 6 " * 4},
        {"places": ("W" * 14,)},
        {"left_out": ("bank 29: 11 drifts, 1.4 h, 6.0 acres",) * 99},
        {"left_out": ("bank 29 off the old boathouse: 11 drifts " * 3,) * 99},
    ],
    ids=[
        *("long", "ashore", "all at once", "no pencil", "no caution", "names"),
        *("a word", "a long list", "a list of long texts"),
    ],
)
@pytest.mark.parametrize("drifts", [3, 16, 36])
def test_long_texts_stay_on_two_sides(
    browser: Browser, drifts: int, more: dict[str, object]
) -> None:
    html = render_sheet(sample_sheet(drifts=drifts, **more))  # type: ignore[arg-type]
    assert _pages(browser, html) == (2, [])


def test_the_look_out_for_what_is_cut_off_finds_it(browser: Browser) -> None:
    html = render_sheet(sample_sheet(drifts=24))
    spoilt = html.replace(".pencil {", ".pencil { min-height: 150mm;")
    pages, _ = _pages(browser, spoilt)
    assert pages == 3  # more paper, but nothing printed over anything else
    spoilt = html.replace(".words {", ".words { white-space: nowrap;")
    assert _pages(browser, spoilt)[1]


SAME_WIDTH = """families => {
  const pen = document.createElement('canvas').getContext('2d');
  const [one, other] = families.map(family => {
    pen.font = `100px '${family}'`;
    return pen.measureText('Boathouse Point').width;
  });
  return one === other;
}"""
"""Whether two typefaces are as wide: a browser takes another for one it has not."""


@pytest.mark.parametrize("family", ["Arial", "Wide made usual"])
@pytest.mark.parametrize("bold", [False, True])
def test_letters_are_as_wide_as_was_reckoned(
    browser: Browser, family: str, bold: bool
) -> None:
    """Against what a browser measures, for words such as a sheet has."""
    texts = [
        *("off the Willows", "Boathouse Point", "Sheepfold Bay", "045 NE", "10:30"),
        *("220 yd off the old boathouse", "mouth of the northern feeder", "1,047"),
        *(GENERAL, ASHORE, "Wind SW 4 (15 mph), gusts 24 mph", "Drogue", "Bearing"),
    ]
    page = browser.new_page()
    page.set_content(render_sheet(sample_sheet(drifts=1)))
    if page.evaluate(SAME_WIDTH, [family, "DejaVu Sans"]):
        pytest.skip(f"no typeface of {family}'s widths is installed")
    measured = page.evaluate(
        """([texts, font]) => document.fonts.load(font).then(() => {
          const pen = document.createElement('canvas').getContext('2d');
          pen.font = font;
          return texts.map(text => pen.measureText(text).width);
        })""",
        [texts, f"{'700' if bold else '400'} 100px '{family}'"],
    )
    page.close()
    for text, width in zip(texts, measured, strict=True):
        assert width <= 1.02 * text_width(text, USUAL * 100, bold=bold), text


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("sheet") / "heron.html"
    html = render_sheet(sample_sheet(drifts=26, stay_ashore=ASHORE))
    file.write_text(html, encoding="utf-8")
    return file


@pytest.fixture(params=WIDTHS)
def page(
    request: pytest.FixtureRequest, browser: Browser, file: Path
) -> Iterator[Page]:
    yield from opened(browser, file, device=request.param, ready="h1")


def test_axe_finds_nothing(page: Page) -> None:
    """axe-core 4.12, by Deque Systems; rules of WCAG 2.2."""
    found = Axe().run(page, options=WCAG)
    assert found.violations_count == 0, found.generate_report()


def test_nothing_scrolls_sideways_but_tables(page: Page) -> None:
    width = page.viewport_size["width"] if page.viewport_size else 0
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    wide = page.evaluate(
        "[...document.querySelectorAll('.side *')].filter(e => !e.closest('.table')"
        " && !e.closest('svg') && e.getBoundingClientRect().right > innerWidth + 1)"
        ".map(e => e.className)"
    )
    assert wide == []


def test_one_map_is_shown(page: Page) -> None:
    maps = page.locator("svg.drawing")
    shown = [one for one in maps.all() if one.is_visible()]
    assert len(shown) == 1
    box = shown[0].bounding_box()
    assert box
    assert box["width"] > 200
    assert box["height"] > 100


def test_letters_are_large_enough_on_paper(page: Page) -> None:
    page.emulate_media(media="print")
    sizes = page.evaluate(
        "[...document.querySelectorAll('tbody td, tbody th')]"
        ".map(cell => parseFloat(getComputedStyle(cell).fontSize))"
    )
    assert min(sizes) >= 11 * 96 / 72 - 0.01
    rest = page.evaluate(
        "[...document.querySelectorAll('p, li, thead th')]"
        ".map(text => parseFloat(getComputedStyle(text).fontSize))"
    )
    assert min(rest) >= 9 * 96 / 72 - 0.01


def test_the_pencil_has_room(page: Page) -> None:
    """A row for handwriting of at least 4.5 mm: common practice, no source."""
    page.set_viewport_size(A4_PX)  # type: ignore[arg-type]
    page.emulate_media(media="print")
    rows = page.locator(".pencil tbody tr")
    assert rows.count() == 14
    boxes = [row.bounding_box() for row in rows.all()]
    assert all(box and box["height"] >= 4.5 * 96 / 25.4 for box in boxes)
