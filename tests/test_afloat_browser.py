"""A pair's page on its phone: from a file, without a network, with the boat on it."""

import re
from collections.abc import Iterator
from math import hypot
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from geographiclib.geodesic import Geodesic
from playwright.sync_api import Browser, BrowserContext, Geolocation, Page, expect

from practices_made import CLOSED, FRAME, begin, done, report
from sweptwater.units import YARD_M
from test_coverage_browser import WCAG

pytestmark = pytest.mark.browser

DAY = ("--day", "2027-06-12", "--wind", "W4")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    scratch = tmp_path_factory.mktemp("afloat")
    folder = begin(scratch / "pool", scratch)
    done(folder, "divide")
    done(folder, "plan", *DAY)
    return folder


@pytest.fixture(scope="module")
def file(folder: Path) -> Path:
    return folder / "plans" / "2027-06-12" / "Heron.afloat.html"


def degrees(east_m: float, north_m: float, accuracy_m: float) -> Geolocation:
    lon, lat = (float(v) for v in FRAME.to_degrees(east_m, north_m))
    return {"latitude": lat, "longitude": lon, "accuracy": accuracy_m}


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    """Yield a phone without a network that may tell where it is."""
    context = browser.new_context(
        viewport={"width": 390, "height": 844},
        offline=True,
        has_touch=True,
        is_mobile=True,
        geolocation=degrees(-600, -300, 5),
        permissions=["geolocation"],
        reduced_motion="reduce",
    )
    yield context
    context.close()


def opened(context: BrowserContext, file: Path) -> Page:
    page = context.new_page()
    page.set_default_timeout(5000)
    page.goto(file.as_uri())
    page.wait_for_selector(".afloat:not([hidden])")
    return page


def said(page: Page, part: str) -> str:
    """Return what the page says, once it says this."""
    box = page.locator(".afloat [role=status]")
    expect(box).to_contain_text(part)
    return str(box.inner_text())


def yards(text: str, before: str) -> float:
    """Return the yards that stand before a word."""
    found = re.search(rf"([\d,]+) yd{before}", text)
    assert found, text
    return float(found[1].replace(",", ""))


def test_nobody_is_asked_before_the_button(phone: BrowserContext, file: Path) -> None:
    page = opened(phone, file)
    assert page.locator(".afloat [role=status]").inner_text().strip() == ""
    assert page.locator(".leaflet-overlay-pane circle").count() == 0


def test_it_tells_the_way_to_the_nearest_drift(
    phone: BrowserContext, folder: Path, file: Path
) -> None:
    """Karney's geodesic (geographiclib) judges yards and bearing."""
    lines = report(folder, "plan", *DAY, "--pair", "Heron")["pairs"][0]["planned"]
    place = degrees(-600, -300, 5)
    phone.set_geolocation(place)
    page = opened(phone, file)
    page.click(".afloat .where")
    text = said(page, "Good to 5 yd")
    ways = {
        line["number"]: Geodesic.WGS84.Inverse(
            place["latitude"], place["longitude"], line["from_lat"], line["from_lon"]
        )
        for line in lines
    }
    found = re.search(r"Drift (\d+) begins ([\d,]+) yd (\w+) of here", text)
    if found is None:
        assert "On drift" in text
        return
    nearest = min(ways, key=lambda number: ways[number]["s12"])
    told = ways[int(found[1])]
    assert told["s12"] <= ways[nearest]["s12"] + 1
    step = 0.5 if told["s12"] / YARD_M < 100 else 5
    assert yards(text, f" {found[3]}") == pytest.approx(
        told["s12"] / YARD_M, abs=step + 1
    )
    points = "N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW"
    off = abs(points.split().index(found[3]) * 22.5 - told["azi1"] % 360)
    assert min(off, 360 - off) <= 11.3
    assert "Sector" in text


def test_on_a_drift_it_tells_what_is_left_of_it(
    phone: BrowserContext, folder: Path, file: Path
) -> None:
    line = report(folder, "plan", *DAY, "--pair", "Heron")["pairs"][0]["planned"][0]
    ends = [
        FRAME.to_metres(line[f"{end}_lon"], line[f"{end}_lat"])
        for end in ("from", "to")
    ]
    (x0, y0), (x1, y1) = ((float(x), float(y)) for x, y in ends)
    phone.set_geolocation(degrees(0.75 * x0 + 0.25 * x1, 0.75 * y0 + 0.25 * y1, 5))
    page = opened(phone, file)
    page.click(".afloat .where")
    text = said(page, "On drift")
    left_yd = 0.75 * hypot(x1 - x0, y1 - y0) / YARD_M
    assert yards(text, " to its end") == pytest.approx(left_yd, abs=6)


def test_it_warns_near_and_inside_what_is_out_of_bounds(
    phone: BrowserContext, file: Path
) -> None:
    west_m = CLOSED.bounds[0]
    phone.set_geolocation(degrees(west_m - 40, 0, 3))
    page = opened(phone, file)
    page.click(".afloat .where")
    text = said(page, "Out of bounds is")
    assert yards(text, " E of here") == pytest.approx(40 / YARD_M, abs=1)
    assert "keep 50 yd off" in text
    assert page.locator(".afloat .alarm").count() == 1
    phone.set_geolocation(degrees(west_m + 30, 0, 3))
    assert "leave it at once" in said(page, "You are in water that is out of bounds")
    phone.set_geolocation(degrees(west_m - 150, 0, 3))
    said(page, "Out of bounds is 160 yd E of here.")
    assert page.locator(".afloat .alarm").count() == 0


def test_near_is_near_even_if_the_phone_is_not_sure(
    phone: BrowserContext, file: Path
) -> None:
    """70 m off, good to 40 m: it may be 30 m, which is less than 50 yards."""
    place = degrees(CLOSED.bounds[0] - 70, 0, 40)
    phone.set_geolocation(place)
    page = opened(phone, file)
    page.click(".afloat .where")
    said(page, "keep 50 yd off")
    assert page.locator(".afloat .alarm").count() == 1


@pytest.mark.parametrize(
    ("place", "part"),
    [
        (degrees(0, -700, 5), "from this water"),
        (degrees(90_000, 0, 5), "far from this water"),
        (degrees(0, 0, 400), "knows only within"),
    ],
)
def test_where_it_cannot_help_it_says_so(
    phone: BrowserContext, file: Path, place: Geolocation, part: str
) -> None:
    phone.set_geolocation(place)
    page = opened(phone, file)
    page.click(".afloat .where")
    said(page, part)


def test_refused_it_points_to_the_file(browser: Browser, file: Path) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 740}, offline=True)
    page = opened(context, file)
    page.evaluate(
        "() => { navigator.geolocation.watchPosition = "
        "(_, no) => setTimeout(() => no({code: 1})); }"
    )
    page.click(".afloat .where")
    text = said(page, "may not show where you are")
    assert "Heron.gpx" in text
    assert (file.parent / "Heron.gpx").exists()
    context.close()


def test_opened_where_no_page_may_know_it_says_so(browser: Browser, file: Path) -> None:
    """As a viewer of attachments does: no secure context."""
    context = browser.new_context(viewport={"width": 390, "height": 844}, offline=True)
    context.add_init_script(
        "Object.defineProperty(window, 'isSecureContext', {value: false})"
    )
    page = opened(context, file)
    page.click(".afloat .where")
    assert "Heron.gpx" in said(page, "Opened like this")
    context.close()


def test_stopping_forgets_the_boat(phone: BrowserContext, file: Path) -> None:
    page = opened(phone, file)
    page.click(".afloat .where")
    said(page, "Good to")
    page.click(".afloat .stop")
    assert page.locator(".afloat [role=status]").inner_text().strip() == ""
    assert page.locator(".afloat .stop").is_hidden()


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_it_fits_and_axe_finds_nothing(
    browser: Browser, file: Path, width: int
) -> None:
    """axe-core 4.12, by Deque Systems; rules of WCAG 2.2."""
    context = browser.new_context(
        viewport={"width": width, "height": 844}, offline=True
    )
    page = opened(context, file)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    found = Axe().run(page, options=WCAG)
    assert found.violations_count == 0, found.generate_report()
    for button in page.locator(".afloat button:visible").all():
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= 44
    context.close()


def test_it_shows_sectors_drifts_and_zones_and_says_what_counts(
    phone: BrowserContext, file: Path
) -> None:
    page = opened(phone, file)
    words = page.inner_text("body")
    for part in ("buoys and the rangers decide", "nothing is sent", "Buoyancy aids"):
        assert part in words
    assert "the match bans phones" in words
    titles = page.locator(".legend li").all_inner_texts()
    for title in ("Out of bounds", "Sectors", "Planned drifts", "Jetties"):
        assert any(title in one for one in titles)
    assert file.stat().st_size < 1_000_000
    row = page.locator("tr[data-key]").first
    row.locator("button").click()
    assert row.get_attribute("aria-current") == "true"
