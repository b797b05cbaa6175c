"""Pages in a browser without a network: what a reader sees and can do."""

import re
from base64 import b64encode
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page

from browsing import WIDTHS, covering, opened, visible_labels
from page_sample import sample_page
from sweptwater.paper import looks
from sweptwater.paper.page import render_page

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("paper") / "page.html"
    file.write_text(render_page(sample_page()), encoding="utf-8")
    return file


@pytest.fixture(params=WIDTHS)
def page(
    request: pytest.FixtureRequest, browser: Browser, file: Path
) -> Iterator[Page]:
    """Yield the sample page, and look at the end that it asked for nothing."""
    yield from opened(browser, file, device=request.param)


@pytest.fixture
def laptop(browser: Browser, file: Path) -> Iterator[Page]:
    yield from opened(browser, file, device="laptop")


def open_layers(page: Page) -> None:
    page.locator(".leaflet-control-layers").hover()
    page.wait_for_timeout(50)  # Leaflet lets no click through in the same moment


def paths(page: Page) -> int:
    return page.locator(".leaflet-overlay-pane path").count()


def zoom(page: Page) -> float:
    return float(page.evaluate("map_0.getZoom()"))


def test_everything_on_show_is_drawn(page: Page) -> None:
    shown = [layer for layer in sample_page().layers if layer.shown]
    drawn = sum(len(layer.features) for layer in shown)
    assert drawn > 60
    assert paths(page) == drawn
    filled = page.locator('.leaflet-overlay-pane path[fill^="url(#cross-"]')
    assert filled.count() == 2  # water fished often, and out of bounds


def test_page_is_no_wider_than_the_screen(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    box = page.locator(".folium-map").bounding_box()
    assert box
    assert box["height"] > 0.4 * page.viewport_size["height"]  # type: ignore[index]


def test_map_follows_the_facts_on_a_phone(page: Page) -> None:
    order = [".facts", ".chart", ".cautions", ".legend", "table"]
    tops = [page.locator(name).first.bounding_box() for name in order]
    heights = [box["y"] for box in tops if box]
    if page.viewport_size == {"width": 390, "height": 844}:
        assert heights == sorted(heights)
    else:  # beside each other
        assert heights[1] == pytest.approx(heights[2], abs=2)


def test_water_fills_the_map(page: Page) -> None:
    water = page.locator(".leaflet-overlay-pane path").first.bounding_box()
    box = page.locator(".folium-map").bounding_box()
    assert water
    assert box
    assert 0.8 * box["width"] < water["width"] < box["width"]


def test_labels_do_not_cover_each_other(page: Page) -> None:
    labels = visible_labels(page)
    texts = {label["text"] for label in labels}
    pieces = [layer for layer in sample_page().layers if layer.key == "unfished"]
    numbers = [feature.label for feature in pieces[0].features]
    phone = page.viewport_size == {"width": 390, "height": 844}
    # On a phone the smallest may wait until the map is enlarged.
    expected = {*numbers[: 8 if phone else None], "Heron", "Grebe", "Teal"}
    assert expected <= texts
    assert covering(labels) == []


def test_layer_switch_hides_and_shows(page: Page) -> None:
    before, labels = paths(page), len(visible_labels(page))
    open_layers(page)
    switch = page.get_by_label("Nobody has been here")
    switch.uncheck()
    pieces = next(x for x in sample_page().layers if x.key == "unfished").features
    assert paths(page) == before - len(pieces)
    assert not {label["text"] for label in visible_labels(page)} & set("123456789")
    entry = page.locator('.legend li[data-layer="unfished"]')
    assert "switched off" in entry.inner_text()
    switch.check()
    assert "switched off" not in entry.inner_text()
    assert paths(page) == before
    assert len(visible_labels(page)) == labels


def test_layer_switched_on_stays_below_what_lies_above(laptop: Page) -> None:
    open_layers(laptop)
    water = laptop.get_by_label("Water", exact=True)
    water.uncheck()
    water.check()
    first = laptop.locator(".leaflet-overlay-pane path").first
    assert first.get_attribute("fill") == "#e6eff2"


@pytest.mark.parametrize("how", ["click", "Enter"])
def test_row_leads_to_its_piece(page: Page, how: str) -> None:
    row = page.locator('tr[data-key="piece-3"]')
    button = row.get_by_role("button")
    before = zoom(page)
    if how == "click":
        row.locator("td").last.click()
    else:
        button.focus()
        button.press("Enter")
    popup = page.locator(".leaflet-popup-content")
    popup.wait_for()
    assert (popup.text_content() or "").startswith("Piece 3\n")
    assert row.get_attribute("aria-current") == "true"
    assert zoom(page) > before
    box = page.locator(".leaflet-popup").bounding_box()
    height = page.viewport_size["height"]  # type: ignore[index]
    assert box
    assert 0 <= box["y"] < height
    page.keyboard.press("Escape")
    page.locator(".leaflet-popup").wait_for(state="detached")
    assert page.locator("tr[aria-current]").count() == 0


@pytest.mark.parametrize("look", [looks.OFFER, looks.JETTY, looks.MARK])
def test_points_have_the_symbol_of_the_legend(laptop: Page, look: looks.Look) -> None:
    number = {
        layer.look: len(layer.features) for layer in sample_page().layers if layer.shown
    }[look]
    drawn = laptop.evaluate(
        """() => [...document.querySelectorAll(".leaflet-overlay-pane path")]
        .map((path) => path.getAttribute("d"))"""
    )
    in_legend = looks.symbol_path(look.symbol, x=0, y=0, radius=look.radius)

    def relative(path: str) -> str:
        return re.sub(r"^M\S+ [^a-z]+|\.0\b", "", path)

    assert [relative(path) for path in drawn].count(relative(in_legend)) == number


def test_row_switches_its_layer_on(laptop: Page) -> None:
    open_layers(laptop)
    laptop.get_by_label("Nobody has been here").uncheck()
    laptop.locator('tr[data-key="piece-1"]').click()
    laptop.locator(".leaflet-popup-content").wait_for()
    open_layers(laptop)
    assert laptop.get_by_label("Nobody has been here").is_checked()


def test_shape_leads_to_its_row(page: Page) -> None:
    label = next(label for label in visible_labels(page) if label["text"] == "2")
    page.mouse.click(float(label["x"]) + 4, float(label["y"]) + 4)
    page.locator(".leaflet-popup-content").wait_for()
    assert page.locator("tr[aria-current]").get_attribute("data-key") == "piece-2"
    page.locator('tr[data-key="piece-3"] button').click()
    page.locator(".leaflet-popup-content", has_text="Piece 3").wait_for()
    assert page.locator("tr[aria-current]").get_attribute("data-key") == "piece-3"


def test_shapes_are_no_stops_of_the_keyboard(laptop: Page) -> None:
    """Some fifteen stops lead past the map; its hundreds of shapes are none."""
    stops = []
    for _ in range(40):
        laptop.keyboard.press("Tab")
        stops.append(
            laptop.evaluate("document.activeElement.closest('svg, button, a')?.tagName")
        )
        if laptop.evaluate("Boolean(document.activeElement.closest('table'))"):
            break
    else:
        pytest.fail("the keyboard never came to the tables")
    assert "svg" not in stops


def test_layers_can_be_switched_by_keyboard(laptop: Page) -> None:
    button = laptop.locator(".leaflet-control-layers-toggle")
    assert button.get_attribute("aria-expanded") == "false"
    button.focus()
    laptop.keyboard.press("Enter")
    assert button.get_attribute("aria-expanded") == "true"
    before = paths(laptop)
    laptop.wait_for_timeout(50)  # Leaflet lets no click through in the same moment
    laptop.keyboard.press("Space")  # the first layer has the focus
    assert paths(laptop) < before
    laptop.keyboard.press("Escape")
    assert button.get_attribute("aria-expanded") == "false"
    assert button.evaluate("button => button === document.activeElement")


def test_close_up_an_area_keeps_its_label(page: Page) -> None:
    """Its own spots may lie out of sight; then another within it does."""
    page.locator('tr[data-key="piece-1"] button').click()
    page.wait_for_timeout(200)
    page.evaluate("void map_0.setZoom(map_0.getZoom() + 3, {animate: false})")
    page.wait_for_timeout(200)
    assert visible_labels(page)


def test_no_line_out_of_sight_leaves_its_arrowhead(laptop: Page) -> None:
    laptop.evaluate("void map_0.setZoom(map_0.getZoom() + 3, {animate: false})")
    strays = laptop.evaluate(
        """() => [...document.querySelectorAll(".leaflet-pane path")]
        .filter((path) => (path.getAttribute("class") || "").includes("ends-"))
        .filter((path) => path.getAttribute("d") === "M0 0"
                && getComputedStyle(path).visibility !== "hidden").length"""
    )
    assert strays == 0


def test_the_paper_is_not_shrunk_by_a_wide_table(page: Page) -> None:
    """A4 less margins of 13 mm is 184 mm, 695 px at 96 px an inch."""
    page.set_viewport_size({"width": 696, "height": 1000})
    print_preview(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 696


def test_popup_leaves_its_piece_in_sight(page: Page) -> None:
    for number in ("2", "5"):
        page.locator(f'tr[data-key="piece-{number}"] button').click()
        page.locator(".leaflet-popup-content", has_text=f"Piece {number}").wait_for()
        popup = page.locator(".leaflet-popup-content-wrapper").bounding_box()
        halo = page.locator(".leaflet-overlay-pane path").last.bounding_box()
        assert popup
        assert halo
        assert popup["y"] + popup["height"] < halo["y"] + 4


def test_tables_wider_than_the_screen_say_so_at_the_edge(
    browser: Browser, file: Path
) -> None:
    for page in opened(browser, file, device="phone"):
        table = page.locator(".table").last
        table.scroll_into_view_if_needed()
        assert table.evaluate("(box) => box.scrollWidth > box.clientWidth + 20")
        assert edges(browser, table) == (False, True)
        table.evaluate("(box) => { box.scrollLeft = 12; }")
        page.wait_for_timeout(100)
        table.evaluate("(box) => { box.scrollLeft = box.scrollWidth; }")
        page.wait_for_timeout(100)
        assert edges(browser, table) == (True, False)
        beside = page.locator(".table").first  # all of it fits
        assert beside.evaluate("(box) => box.scrollWidth <= box.clientWidth")
        assert edges(browser, beside) == (False, False)


def edges(browser: Browser, table: Locator) -> tuple[bool, bool]:
    """Return whether there is a shadow at the left and at the right of a table.

    The lightest of a column of pixels is the ground that it stands on.
    """
    png = b64encode(table.screenshot()).decode("ascii")
    blank = browser.new_page()
    lightest = blank.evaluate(
        """async (png) => {
        const image = new Image();
        image.src = "data:image/png;base64," + png;
        await image.decode();
        const canvas = new OffscreenCanvas(image.width, image.height);
        const drawing = canvas.getContext("2d");
        drawing.drawImage(image, 0, 0);
        const column = (x) => drawing.getImageData(x, 3, 1, image.height - 6).data;
        return [2, image.width - 3].map((x) => Math.max(...column(x).filter(
            (_, index) => index % 4 === 0)));
        }""",
        png,
    )
    blank.close()
    left, right = (value < 225 for value in lightest)
    return left, right


def test_pointer_brings_up_the_tip(laptop: Page) -> None:
    label = next(label for label in visible_labels(laptop) if label["text"] == "2")
    laptop.mouse.move(float(label["x"]) + 4, float(label["y"]) + 4)
    laptop.locator(".leaflet-tooltip", has_text="Piece 2").wait_for()


def test_button_brings_back_the_whole_water(page: Page) -> None:
    before = zoom(page)
    page.locator(".leaflet-control-zoom-in").click()
    page.locator(".leaflet-control-zoom-in").click()
    assert zoom(page) == before + 2
    page.get_by_role("button", name="Show the whole water").click()
    assert zoom(page) == before


def test_scale_bar_is_true(page: Page) -> None:
    """The bar against Leaflet's own great-circle distance on the map."""
    length, unit = (page.locator(".scale span").text_content() or "").split()
    metres = float(length.replace(",", "")) * {"yards": 0.9144, "mile": 1609.344}[unit]
    measured = page.evaluate(
        """() => {
        const bar = document.querySelector(".scale div").getBoundingClientRect();
        const y = map_0.getSize().y / 2;
        const at = (x) => map_0.containerPointToLatLng([x, y]);
        return at(0).distanceTo(at(bar.width));
        }"""
    )
    assert measured == pytest.approx(metres, rel=0.02)


def test_skip_link_and_keyboard(laptop: Page) -> None:
    laptop.keyboard.press("Tab")
    focused = laptop.locator(":focus")
    assert focused.text_content() == "Skip the map, go to the figures"
    box = focused.bounding_box()
    assert box
    assert box["y"] >= 0
    laptop.keyboard.press("Enter")
    assert laptop.url.endswith("#figures")


def test_hostile_texts_run_nothing(browser: Browser, tmp_path: Path) -> None:
    bad = "<img src=x onerror=document.title='ran'></script><script>alert(1)"
    sample = sample_page()
    layers = tuple(
        replace(
            layer,
            title=f"{layer.title} {bad}",
            features=tuple(
                replace(
                    feature,
                    tip=bad,
                    label=feature.label and f"{feature.label} {bad}",
                    key=feature.key and f"{feature.key}{bad}",
                )
                for feature in layer.features
            ),
        )
        for layer in sample.layers
    )
    file = tmp_path / "bad.html"
    file.write_text(render_page(replace(sample, layers=layers)), encoding="utf-8")
    for page in opened(browser, file, device="laptop"):
        label = next(x for x in visible_labels(page) if str(x["text"]).startswith("1 "))
        middle = float(label["x"]) + float(label["width"]) / 2
        page.mouse.click(middle, float(label["y"]) + 4)
        popup = page.locator(".leaflet-popup-content")
        popup.wait_for()
        assert popup.text_content() == bad
        open_layers(page)
        assert page.get_by_label(f"Jetty {bad}").is_checked()
        assert page.title() == sample.title
        assert page.locator("body img").count() == 0


def test_page_prints_on_a_few_sheets_of_a4(page: Page, tmp_path: Path) -> None:
    file = tmp_path / "page.pdf"
    page.pdf(path=file, prefer_css_page_size=True)
    pdf = file.read_bytes()
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) in {2, 3}
    # ISO 216: A4 is 210 mm by 297 mm; a point is 1/72 in (ISO 32000-1, 8.3.2.3).
    sizes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", pdf)
    assert sizes
    for across, up in sizes:
        assert float(across) == pytest.approx(210 / 25.4 * 72, abs=1)
        assert float(up) == pytest.approx(297 / 25.4 * 72, abs=1)


def print_preview(page: Page) -> None:
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    page.emulate_media(media="print")
    page.wait_for_timeout(400)  # nothing may move the map any more


def back_on_the_screen(page: Page) -> None:
    page.emulate_media(media="screen")
    page.evaluate("dispatchEvent(new Event('afterprint'))")


def test_print_has_the_static_drawing_and_no_controls(page: Page) -> None:
    drawing, live = page.locator("svg.drawing"), page.locator(".folium-map")
    assert (drawing.is_visible(), live.is_visible()) == (False, True)
    print_preview(page)
    assert (drawing.is_visible(), live.is_visible()) == (True, False)
    for name in (".leaflet-control-layers", ".skip", ".views"):
        assert not page.locator(name).first.is_visible()
    assert page.locator(".legend ul").is_visible()
    back_on_the_screen(page)
    assert (drawing.is_visible(), live.is_visible()) == (False, True)


def test_print_has_the_legend_right_below_the_map(page: Page) -> None:
    """Else it is on another sheet, and nobody can read the map that is pinned up."""
    print_preview(page)
    names = (".chart", ".legend", ".cautions", "#figures")
    tops = [page.locator(name).bounding_box() or {"y": 0.0} for name in names]
    assert [top["y"] for top in tops] == sorted(top["y"] for top in tops)
    back_on_the_screen(page)


@pytest.mark.parametrize("change", ["layer", "zoom"])
def test_print_has_the_map_as_the_reader_left_it(page: Page, change: str) -> None:
    if change == "layer":
        open_layers(page)
        page.locator(".leaflet-control-layers-selector:checked").last.uncheck()
    else:
        page.evaluate("map_0.setZoom(map_0.getZoom() + 1, {animate: false})")
    print_preview(page)
    assert not page.locator("svg.drawing").is_visible()
    box = page.locator(".folium-map").bounding_box()
    assert box
    # CSS Values 3, section 6.2: 96 px an inch.
    assert box["width"] == pytest.approx(184 / 25.4 * 96, abs=1)
    for name in (".legend ul", ".scale", ".north"):
        assert page.locator(name).is_visible()
    back_on_the_screen(page)
    assert page.locator(".folium-map").is_visible()


def test_picture_can_be_saved(page: Page, tmp_path: Path) -> None:
    with page.expect_download() as told:
        page.get_by_role("button", name="Save the whole map as a picture").click()
    file = tmp_path / "picture.png"
    told.value.save_as(file)
    assert told.value.suggested_filename == "Ashlode-Water-fished-and-not-fished.png"
    header = file.read_bytes()[:24]
    # PNG, third edition, 5.2 and 11.2.1: signature, then width and height of IHDR.
    assert header[:8] == b"\x89PNG\r\n\x1a\n"
    assert int.from_bytes(header[16:20]) == 2 * (760 + 2 * 20)
    assert file.stat().st_size > 50_000  # an empty one is far smaller


def test_without_scripts_the_drawing_is_there(browser: Browser, file: Path) -> None:
    context = browser.new_context(java_script_enabled=False, offline=True)
    page = context.new_page()
    page.goto(file.as_uri())
    assert page.locator("svg.drawing").is_visible()
    assert page.locator("noscript").first.is_visible()
    assert not page.locator(".folium-map").is_visible()
    assert not page.locator(".views").first.is_visible()
    context.close()


def test_land_is_white_on_paper(page: Page) -> None:
    land = "getComputedStyle(document.querySelector('.folium-map')).backgroundColor"
    assert page.evaluate(land) != "rgb(255, 255, 255)"
    page.emulate_media(media="print")
    assert page.evaluate(land) == "rgb(255, 255, 255)"


@pytest.fixture(scope="module")
def folded_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    sample = sample_page()
    last = replace(sample.tables[-1], folded=True)
    folded = replace(sample, tables=(*sample.tables[:-1], last))
    file = tmp_path_factory.mktemp("paper") / "folded.html"
    file.write_text(render_page(folded), encoding="utf-8")
    return file


def test_a_folded_table_opens_for_its_row_and_stays_closed_on_paper(
    browser: Browser, folded_file: Path
) -> None:
    for page in opened(browser, folded_file, device="laptop"):
        fold = page.locator("details.fold")
        assert fold.get_attribute("open") is None
        assert not fold.locator("table").is_visible()
        page.emulate_media(media="print")
        assert not fold.is_visible()
        page.emulate_media(media="screen")
        fold.locator("summary").click()
        assert fold.locator("table").is_visible()
        fold.locator("summary").click()
        page.evaluate("document.querySelectorAll('details.fold button')[0].click()")
        assert fold.get_attribute("open") is not None
