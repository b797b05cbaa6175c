"""Pages stand alone, say what they were told to and nothing else, and stay small."""

import json
import re
from dataclasses import replace
from datetime import date, timedelta
from html.parser import HTMLParser
from importlib.resources import files
from itertools import pairwise
from typing import Any

import folium
import folium.plugins
import numpy as np
import pytest
import shapely
from branca.element import Element
from hypothesis import given
from hypothesis import strategies as st
from shapely import (
    LineString,
    MultiLineString,
    MultiPoint,
    MultiPolygon,
    Point,
    Polygon,
    affinity,
    box,
)

import practices_made
from contrasts import contrast, luminance
from page_sample import FRAME, path, sample_page, wiggly
from sweptwater.errors import PageError
from sweptwater.jobs import boat_tables, coverage_page, coverage_tables
from sweptwater.jobs.covered import Sight
from sweptwater.jobs.listed import DriftLine
from sweptwater.jobs.sight import look
from sweptwater.paper import looks
from sweptwater.paper.layers import (
    Column,
    Feature,
    Layer,
    Page,
    Row,
    Table,
    label_points,
    thinned,
)
from sweptwater.paper.looks import Look
from sweptwater.paper.offline import OfflineMap
from sweptwater.paper.page import COARSEST_DEG, MOST_BYTES, _thinned, render_page

HOSTILE = (
    "<script>alert(1)</script>",
    "</script><script>alert(2)</script>",
    "<!-- <script>",
    "'\"><img src=x onerror=alert(3)>",
    "{{ 7 * 7 }} {% raw %} {# note",
    "a\u2028b\u2029c",
    "&lt;b&gt; &amp; \\u003cb\\u003e",
    "0123456789abcdef0123456789abcdef",
    "https://example.org/track",
)


class Parsed(HTMLParser):
    """The elements of a page with their attributes, its text, and its scripts."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.scripts: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an element."""
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        """Note a text, or the source of a script."""
        inside_script = bool(self.tags) and self.tags[-1][0] == "script"
        (self.scripts if inside_script else self.text).append(data)

    def all(self, name: str) -> list[dict[str, str | None]]:
        """Return the attributes of the elements of a name."""
        return [attributes for tag, attributes in self.tags if tag == name]


def small_page(text: str = "Ashlode Water", **changes: object) -> Page:
    """Return a page that says the text wherever a text can stand."""
    feature = Feature(box(0, 0, 0.02, 0.01), label=text, tip=text, key=text)
    page = Page(
        title=text,
        lead=text,
        date_line=text,
        units="metric",
        missing=(text,) * 4,
        facts=((text, text),),
        layers=(
            Layer("one", text, (feature,), looks.UNFISHED, labels="names", note=text),
        ),
        tables=(
            Table(text, (Column(text),), (Row((text,), key=text),), note=text),
            Table(text, (Column(text),), (Row((text,), key=text),), beside=True),
        ),
        cautions=(text,),
        notes=(text,),
    )
    return replace(page, **changes)  # type: ignore[arg-type]


def setting(html: str) -> Any:
    """Return what the page hands to its own script."""
    found = re.search(r"paper\.start\(\w+, \[.*?\], (\{.*\})\);\n", html)
    assert found
    return json.loads(found[1])


@pytest.fixture(scope="module")
def html() -> str:
    return render_page(sample_page())


def test_page_links_to_nothing_outside(html: str) -> None:
    parsed = Parsed(html)
    assert not parsed.all("link")
    assert not [attributes for attributes in parsed.all("script") if attributes]
    linking = {"src", "href", "srcset", "data", "action", "poster"}
    links = [
        value
        for _, attributes in parsed.tags
        for name, value in attributes.items()
        if name in linking
    ]
    assert links
    assert all(link and link.startswith(("#", "data:")) for link in links)
    # A URL in CSS: https://www.w3.org/TR/css-values/#urls
    urls = re.findall(r"""url\(['"]?([^)'"]+)""", html)
    assert urls
    assert all(url.startswith(("#", "data:image/png")) for url in urls)
    assert "@import" not in html


def test_page_forbids_the_browser_to_fetch(html: str) -> None:
    # Content Security Policy Level 3, section 6.1: what default-src covers.
    rules = [
        attributes["content"]
        for attributes in Parsed(html).all("meta")
        if attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    assert len(rules) == 1
    assert str(rules[0]).startswith("default-src 'none'; ")
    assert "http" not in str(rules[0])


def test_leaflet_keeps_its_notice(html: str) -> None:
    # BSD 2-Clause: redistributions must retain the copyright notice.
    assert "(c) 2010-2023 Vladimir Agafonkin" in html


@pytest.mark.parametrize(
    "child",
    [
        folium.TileLayer("OpenStreetMap"),
        folium.plugins.Fullscreen(),  # type: ignore[no-untyped-call]
        folium.plugins.MeasureControl(),  # type: ignore[no-untyped-call]
        folium.Marker((0, 0), icon=folium.CustomIcon("https://example.org/icon.png")),
    ],
    ids=lambda child: type(child).__name__,
)
def test_whatever_links_outside_is_refused(child: Element) -> None:
    map_ = OfflineMap()
    map_.add_child(child)
    with pytest.raises(PageError, match=r"cannot use .*http.*leave out"):
        map_.parts()


def without_labels(parsed: Parsed) -> list[str]:
    return [tag for tag, _ in parsed.tags if tag not in ("text", "tspan", "g")]


@pytest.mark.parametrize("text", HOSTILE)
def test_texts_stay_texts(text: str) -> None:
    html = render_page(small_page(text))
    plain, parsed = Parsed(render_page(small_page())), Parsed(html)
    # No element came out of a text, nor was one lost to it; but labels are drawn only
    # where there is room for them.
    assert without_labels(parsed) == without_labels(plain)
    assert [part.strip() for part in parsed.text].count(text) >= 21
    assert parsed.all("tr")[1]["data-key"] == text
    assert parsed.all("meta")[3]["content"] == text
    told = setting(html)["layers"][0]["features"]
    assert {**told[0], "at": None} == {
        "key": text,
        "tip": text,
        "label": text,
        "at": None,
    }


@pytest.mark.parametrize("text", HOSTILE)
def test_scripts_hold_no_text_that_could_end_them(text: str) -> None:
    # What ends or hides a script: HTML Living Standard, section 4.12.1.3. Lines may
    # not end inside an older string of JavaScript: ECMA-262, 5th edition, 7.3.
    script = "".join(Parsed(render_page(small_page(text))).scripts)
    own = script[script.index("paper.start(map_0") - 3000 :]
    assert not re.search("</script|<script|<!--|[\u2028\u2029]", own, re.IGNORECASE)


def test_layer_switch_cannot_hold_markup() -> None:
    html = render_page(small_page("<b>{{ 7*7 }}</b>"))
    # Leaflet sets a switch's name as HTML; numeric references are text to it.
    assert '"\\u0026#60;b\\u0026#62;\\u0026#123;\\u0026#123; 7\\u0026#42;7' in html


def test_half_a_character_does_not_break_the_page() -> None:
    html = render_page(small_page("broken \ud800 name"))
    assert "broken ? name" in html
    assert html.encode("utf-8")


def test_same_page_is_the_same_text(html: str) -> None:
    assert render_page(sample_page()) == html
    assert not re.search(r"_[0-9a-f]{32}", html)


def test_page_is_a_proper_document(html: str) -> None:
    parsed = Parsed(html)
    assert html.startswith("<!DOCTYPE html>")
    assert parsed.all("html") == [{"lang": "en"}]
    viewports = [meta for meta in parsed.all("meta") if meta.get("name") == "viewport"]
    # The reader may pinch: WCAG 2.2, success criterion 1.4.4.
    assert [meta["content"] for meta in viewports] == [
        "width=device-width, initial-scale=1"
    ]
    ids = [attributes["id"] for _, attributes in parsed.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    assert {link["href"] for link in parsed.all("a")} <= {f"#{name}" for name in ids}
    assert len(parsed.all("caption")) == len(parsed.all("table")) == 2
    assert all(head.get("scope") in {"col", "row"} for head in parsed.all("th"))


def test_every_pattern_and_line_end_in_use_is_defined(html: str) -> None:
    used = set(re.findall(r"url\(#([\w-]+)\)", html))
    defined = set(re.findall(r'<(?:pattern|marker|clipPath) id="([\w-]+)"', html))
    assert used == defined
    assert len(used) > 6


def test_only_rows_with_something_to_show_can_be_pressed() -> None:
    table = Table("T", (Column("A"),), (Row(("x",), key="gone"), Row(("y",))))
    html = render_page(small_page(tables=(table,)))
    assert "data-key" not in html[html.index("<table>") : html.index("</table>")]
    assert [button["class"] for button in Parsed(html).all("button")] == ["picture"]


def test_page_without_shapes_has_no_map_and_no_script() -> None:
    empty = Layer("one", "Empty", (Feature(Polygon()),), looks.WATER)
    parsed = Parsed(render_page(small_page(layers=(empty,))))
    assert not parsed.all("script")
    assert "Empty" not in [part.strip() for part in parsed.text]
    assert len(parsed.all("table")) == 2


def test_large_page_stays_under_a_megabyte() -> None:
    shifts = np.random.default_rng(7).uniform(-700, 700, (100, 2))
    polygons = tuple(
        Feature(
            FRAME.degrees(affinity.translate(wiggly(40, vertices=150), *shift)),
            label=str(number),
            tip=f"Piece {number}",
            key=str(number),
        )
        for number, shift in enumerate(shifts)
    )
    drifts = tuple(
        Feature(FRAME.degrees(path(number)), tip=f"Heron, drift {number}")
        for number in range(400)
    )
    page = sample_page()
    layers = (
        Layer("many", "Many", polygons, looks.UNFISHED, labels="numbers"),
        Layer("lines", "Lines", drifts, looks.DRIFT),
    )
    size = len(render_page(replace(page, layers=layers)).encode())
    assert 200_000 < size < 1_000_000


def test_a_season_of_vertices_is_thinned_until_it_fits() -> None:
    noise = np.random.default_rng(1).normal(0, 2e-6, (400, 1500, 2))
    along = np.stack([np.linspace(0, 0.01, 1500), np.zeros(1500)], axis=1)
    lines = [LineString(xy) for xy in along + np.cumsum(noise, axis=1)]
    layer = Layer("l", "L", tuple(Feature(line) for line in lines), looks.DRIFT)
    html = render_page(small_page(layers=(layer,)))
    assert 0.4 * MOST_BYTES < len(html.encode()) <= MOST_BYTES
    drawn = re.search(r'"coordinates": (\[\[.*?\]\])', html)
    assert drawn
    # Each round adds to the last: twice the coarsest, on both sides of the outline.
    off_deg = lines[0].hausdorff_distance(LineString(json.loads(drawn[1])))
    assert off_deg < 4 * COARSEST_DEG


def test_specks_go_when_a_page_is_thinned_but_never_the_last_part() -> None:
    east, north = np.meshgrid(np.arange(10) * 2e-4, np.arange(5) * 2e-4)
    specks = list(shapely.box(east, north, east + 1e-5, north + 1e-5).ravel())
    lake = MultiPolygon([*specks, box(-0.02, 0, -0.01, 0.01)])

    def parts(shape: MultiPolygon, tolerance_deg: float) -> int:
        layer = Layer("l", "L", (Feature(shape),), looks.WATER)
        (drawn,) = _thinned([layer], tolerance_deg)
        return int(shapely.get_num_geometries(drawn.features[0].shape))

    assert parts(lake, 9e-6) == 51
    assert parts(lake, 1.1e-5) == 1
    assert parts(MultiPolygon(specks[:1]), 1.1e-5) == 1


def test_lines_that_cross_are_thinned_as_any_others() -> None:
    along = np.linspace(0, 0.01, 200)
    wave = 1e-6 * np.sin(np.arange(200))
    across = MultiLineString(
        [np.column_stack([along, along + wave]), np.column_stack([along, 0.01 - along])]
    )
    assert shapely.get_num_coordinates(thinned(across, 1e-5)) == 4


@given(
    st.floats(20, 500),
    st.floats(0, 6),
    st.sampled_from([1e-6, 1e-5, 1e-4]),
)
def test_thinning_moves_no_outline_further_than_told(
    radius_m: float, phase: float, tolerance_deg: float
) -> None:
    lake = FRAME.degrees(wiggly(radius_m, phase=phase) - wiggly(radius_m / 5))
    thin = thinned(lake, tolerance_deg)
    places = 5 if tolerance_deg > 2e-5 else 6
    rounding_deg = 0.5 * 10**-places * 2**0.5
    # Douglas and Peucker (1973) keep every left-out vertex within the tolerance; GEOS
    # then may leave out the ring's first vertex by the same rule, hence twice.
    assert lake.hausdorff_distance(thin) <= 2 * (tolerance_deg + rounding_deg)
    assert shapely.get_num_interior_rings(thin) == 1
    assert shapely.get_num_coordinates(thin) <= shapely.get_num_coordinates(lake)
    xy = shapely.get_coordinates(thin)
    assert np.array_equal(xy, np.round(xy, places))


def test_thinning_keeps_small_parts_and_leaves_heights_out() -> None:
    parts = shapely.union_all([box(0, 0, 1, 1), box(2, 2, 2.00002, 2.00002)])
    assert shapely.get_num_geometries(thinned(parts, 1e-3)) == 2
    assert not shapely.has_z(thinned(LineString([(0, 0, 1), (1, 1, 1)]), 1e-3))


@given(st.floats(0, 6), st.integers(1, 8))
def test_labels_lie_inside_their_area(phase: float, most: int) -> None:
    lake = FRAME.degrees(wiggly(600, phase=phase) - wiggly(200, phase=phase))
    points = label_points(lake, most)
    assert 1 <= len(points) <= most
    assert all(lake.buffer(1e-6).contains(Point(point)) for point in points)
    assert len(set(points)) == len(points)


def test_label_of_the_largest_part_and_of_points() -> None:
    parts = shapely.union_all([box(0, 0, 1, 1), box(2, 2, 5, 5)])
    assert label_points(parts) == [(3.5, 3.5)]
    assert label_points(MultiPoint([(1, 2), (3, 4)])) == [(1, 2)]


def test_tables_and_layers_are_checked() -> None:
    with pytest.raises(ValueError, match="row 1 of the table 'T' has 2 cells for 1"):
        Table("T", (Column("A"),), (Row(("x", "y")),))
    layer = Layer("one", "Title", (), looks.WATER)
    with pytest.raises(ValueError, match="more than one layer has the key 'one'"):
        small_page(layers=(layer, layer))
    with pytest.raises(ValueError, match="more than one layer has the title 'Title'"):
        small_page(layers=(layer, replace(layer, key="two")))


@pytest.mark.parametrize(
    ("text", "ground"),
    [
        *[(text, "paper") for text in ("ink", "muted", "link", "call")],
        *[(text, "chosen") for text in ("ink", "link")],
        *[(text, "land") for text in ("ink", "muted")],
        ("ink", "wash"),
    ],
)
def test_texts_can_be_read(text: str, ground: str) -> None:
    # WCAG 2.2, success criterion 1.4.3 (AA): 4.5 to 1.
    css = (files("sweptwater.paper") / "templates" / "page.css").read_text("utf-8")
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", css))
    assert contrast(colours[text], colours[ground]) >= 4.5


def test_oftener_is_darker_and_unfished_stands_out() -> None:
    scale = [looks.WATER.fill, *(look.fill for look in looks.SWEPT)]
    light = [luminance(colour) for colour in scale]
    # In a grey print neighbours in the scale still differ, by a third at least.
    assert all(a > 1.3 * b for a, b in pairwise(light))
    # WCAG 2.2, success criterion 1.4.11: 3 to 1 for what has to be seen.
    for ground in (looks.WATER.fill, looks.UNFISHED.fill, looks.LAND):
        assert contrast(looks.UNFISHED.stroke, ground) >= 3


def test_swept_patterns_differ() -> None:
    shown = (looks.WATER, looks.UNFISHED, *looks.SWEPT)
    assert len({look.pattern for look in shown}) == len(shown)
    assert looks.UNFISHED_BIT.paint == looks.UNFISHED.paint
    assert looks.swept(0) == looks.swept(1)


def test_drifts_to_come_can_be_told_from_all_else_without_colour() -> None:
    lines = (looks.PLANNED, looks.DRIFT, looks.REMEMBERED_DRIFT, looks.UNDER_WAY)
    assert looks.PLANNED.arrow
    assert not looks.PLANNED.dash  # those from memory are dashed
    assert looks.PLANNED.weight > 2 * looks.DRIFT.weight
    assert len({(look.dash, look.weight) for look in lines}) == len(lines)
    # WCAG 2.2, success criterion 1.4.11: 3 to 1 for what has to be seen.
    grounds = (looks.WATER.fill, looks.ANGLERS.fill, looks.LAND, "#ffffff")
    for seen in (looks.PLANNED, looks.UNDER_WAY, looks.ANGLERS):
        assert all(contrast(seen.stroke, ground) >= 3 for ground in grounds)
    strips = (looks.ANGLERS, looks.OUT_OF_BOUNDS, looks.UNFISHED, looks.WATER)
    assert len({look.pattern for look in strips}) == len(strips)


@pytest.mark.parametrize("symbol", ["circle", "square", "triangle", "diamond", "cross"])
def test_legend_shows_each_symbol(symbol: looks.Symbol) -> None:
    look = Look(stroke="#000000", symbol=symbol)
    layer = Layer("p", "P", (Feature(Point(0, 0)),), look)
    html = render_page(small_page(layers=(layer,)))
    assert looks.symbol_path(symbol, x=18, y=11, radius=look.radius) in html


def test_a_label_finds_its_place_in_an_outline_that_crosses_itself() -> None:
    """Thinning for drawing can leave one: two lobes that meet in a crossing."""
    crossed = Polygon([(0, 0), (2, 2), (2, 0), (0, 2), (-3, 1)])
    assert not crossed.is_valid
    for lon, lat in label_points(crossed, 3):
        assert crossed.convex_hull.covers(Point(lon, lat))
    flat = Polygon([(0, 0), (1, 0), (2, 0)])
    assert label_points(flat) == [(1.0, 0.0)]


def drift_line(day: int, number: int) -> DriftLine:
    return DriftLine(
        day=date(2027, 6, 1) + timedelta(days=day),
        pair="Heron",
        number=number,
        start="2027-06-01T10:00:00+01:00",
        end="2027-06-01T10:20:00+01:00",
        minutes=20,
        length_m=200,
        course_deg=90,
        swept_m2=5000,
        near="the tower",
        length_error=0,
        doubtful_s=0,
        source="heron.gpx",
        told=False,
    )


@pytest.mark.parametrize(
    ("days", "each", "listed"),
    [(1, 400, 400), (4, 100, 400), (5, 100, 400), (9, 150, 300), (2, 500, 500)],
)
def test_of_many_drifts_the_last_days_are_listed(
    days: int, each: int, listed: int
) -> None:
    lines = [drift_line(day, n) for day in range(days) for n in range(each)]
    table = coverage_tables._drifts_table(lines, "imperial")
    keys = [boat_tables.drift_key(line) for line in lines]
    assert [row.key for row in table.rows] == keys[-listed:]
    more = days * each - listed
    assert (f" {more:,} earlier ones" in table.note) == (more > 0)


@pytest.fixture(scope="module")
def sight(tmp_path_factory: pytest.TempPathFactory) -> Sight:
    """Return what is seen of a lake on which Heron has drifted once, and Grebe."""
    scratch = tmp_path_factory.mktemp("sight")
    folder = practices_made.begin(scratch / "lake", scratch)
    for pair in ("heron", "grebe"):
        gpx = getattr(practices_made, pair)()
        file = practices_made.write(scratch / f"{pair}.gpx", gpx)
        practices_made.done(folder, "upload", file, "--pair", pair.title())
    return look(folder)


def test_all_water_that_nobody_fished_looks_unfished(sight: Sight) -> None:
    """By areas: what is listed, the bits and what is swept make up the water."""
    builder = coverage_page._Builder(sight)
    # A large least size makes bits of what would be numbered.
    largest = max(piece.area_m2 for piece, _ in builder.pieces)
    builder.pieces = [x for x in builder.pieces if x[0].area_m2 >= largest]
    drawn = {layer.key: layer for layer in builder.layers()}
    assert drawn["unfished-bits"].look.paint == drawn["unfished"].look.paint
    shown = [
        sight.opened.venue.frame.metres(feature.shape)
        for key in ("unfished", "unfished-bits", "swept-1", "swept-2", "swept-3")
        for feature in drawn[key].features
    ]
    fishable = sight.opened.venue.fishable
    assert sum(shape.area for shape in shown) == pytest.approx(fishable.area, rel=1e-3)
    assert not any(feature.label for feature in drawn["unfished-bits"].features)


def test_ways_between_drifts_are_there_and_switched_off(sight: Sight) -> None:
    layers = list(coverage_page._Builder(sight).layers())
    ways = next(layer for layer in layers if layer.key == "under-way")
    assert not ways.shown
    assert [feature.tip.split(",")[0] for feature in ways.features] == [
        boat.pair for boat in sight.boats
    ]
    for feature, boat in zip(ways.features, sight.boats, strict=True):
        drawn = sight.opened.venue.frame.metres(feature.shape)
        full = MultiLineString([way for way in boat.afloat.motoring if len(way) > 1])
        # Douglas and Peucker (1973): no vertex left out is further off than told.
        assert full.hausdorff_distance(drawn) <= coverage_page.WAY_M + 0.01
        assert len(shapely.get_coordinates(drawn)) < len(shapely.get_coordinates(full))
