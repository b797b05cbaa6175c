"""Drawings are sound SVG, true to the ground, and whole in a real browser."""

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from playwright.sync_api import Browser
from shapely import LineString, MultiPolygon, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from outside import geodesic_m2_m, lake_parts
from page_sample import FRAME, sample_page, wiggly
from sweptwater.frame import Frame
from sweptwater.paper import looks
from sweptwater.paper.drawing import (
    fitting_size,
    map_svg,
    render_drawing,
    shown_keys,
)
from sweptwater.paper.layers import Feature, Layer, Page, View
from sweptwater.paper.looks import Look
from sweptwater.paper.plane import THINNED_PX, area_path, line_paths
from sweptwater.units import System

SVG = "{http://www.w3.org/2000/svg}"
METRES = {"yard": 0.9144, "mile": 1609.344, "m": 1.0, "km": 1000.0}


def parsed(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def page_of(*layers: Layer, units: System = "metric", **words: Any) -> Page:
    told = {"title": "A pool", "lead": "", "date_line": "9 June", **words}
    return Page(**told, units=units, layers=layers)


def area_layer(
    shape: BaseGeometry, key: str = "water", look: Look = looks.WATER
) -> Layer:
    return Layer(key, key.title(), (Feature(shape),), look)


def points_of(path: str) -> list[list[tuple[float, float]]]:
    """Return the corners of the rings or lines of a path (SVG 1.1, section 8.3)."""
    rings: list[list[tuple[float, float]]] = []
    for part in path.split("M")[1:]:
        start, _, rest = part.rstrip("z").partition("l")
        numbers = [
            float(n) for n in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", start + " " + rest)
        ]
        steps = np.array(numbers).reshape(-1, 2).cumsum(axis=0)
        rings.append([(float(x), float(y)) for x, y in steps])
    return rings


def even_odd(path: str) -> BaseGeometry:
    """Return the area that a path fills by the even-odd rule."""
    filled: BaseGeometry = Polygon()
    for ring in points_of(path):
        filled = filled.symmetric_difference(Polygon(ring).buffer(0))
    return filled


def drawn_paths(svg: str, paint: str) -> list[str]:
    """Return the paths of the map's groups that have a certain filling."""
    root = parsed(svg)
    groups = [
        group
        for clipped in root.iter(f"{SVG}g")
        if clipped.get("fill-rule") == "evenodd"
        for group in clipped
        if group.get("fill") == paint
    ]
    return [path.get("d") or "" for group in groups for path in group]


def m_per_px(svg: str) -> float:
    """Return what the scale bar says that a pixel is."""
    root = parsed(svg)
    (bar,) = (g for g in root.iter(f"{SVG}g") if g.get("class") == "drawing-scale")
    words = [text.text or "" for text in root.iter(f"{SVG}text")]
    pattern = re.compile(r"([\d,.]+) (yard|mile|m|km)s?")
    (match,) = (m for word in words if (m := pattern.fullmatch(word)))
    length_m = float(match[1].replace(",", "")) * METRES[match[2]]
    return length_m / float(bar[0].get("width") or 0)


# --- true to the ground


@pytest.mark.parametrize("lat", [-54.0, 0.0, 38.0, 54.0, 68.9])
@pytest.mark.parametrize("across_m", [20.0, 900.0, 8_000.0, 50_000.0])
@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_scale_bar_is_true(lat: float, across_m: float, units: System) -> None:
    """Against the geodesic through the middle (geographiclib, WGS 84)."""
    frame = Frame(lon=179.99, lat=lat)
    shape = frame.degrees(box(-across_m / 2, -across_m / 3, across_m / 2, across_m / 3))
    svg = map_svg(page_of(area_layer(shape), units=units), width_px=700)
    (ring,) = points_of(drawn_paths(svg, looks.WATER.fill)[0])
    across_px = np.ptp(np.array(ring)[:, 0])
    west, _, east, _ = shape.bounds
    way = Geodesic.WGS84.Inverse(lat, west, lat, east)
    assert way["s12"] / across_px == pytest.approx(m_per_px(svg), rel=0.01)


@pytest.mark.parametrize(
    "name", ["caputh_wgs84", "nhd_crab_lake", "ne10m_eu_muddusjarvi", "nhd_tiny_pond"]
)
def test_areas_are_those_of_the_lake(name: str) -> None:
    """Against the geodesic area of the outline (geographiclib); source in INDEX.md."""
    lake = max(lake_parts(name), key=lambda part: part.area)
    svg = map_svg(page_of(area_layer(lake)), width_px=1000, height_px=1000)
    (path,) = drawn_paths(svg, looks.WATER.fill)
    drawn = even_odd(path)
    area_m2, shore_m = geodesic_m2_m(lake)
    pixel_m = m_per_px(svg)
    # Mercator's scale, 1/cos(lat), differs over a lake half a degree high.
    assert drawn.area * pixel_m**2 == pytest.approx(area_m2, rel=0.004)
    assert drawn.length * pixel_m == pytest.approx(shore_m, rel=0.03)


def test_north_is_up_and_east_is_right() -> None:
    places = [Feature(Point(x, y)) for x, y in [(0, 0), (0.01, 0), (0, 0.01)]]
    svg = map_svg(
        page_of(Layer("m", "Marks", tuple(places), looks.JETTY)), width_px=500
    )
    paths = drawn_paths(svg, looks.JETTY.fill)
    starts = [tuple(map(float, re.findall(r"-?[\d.]+", path)[:2])) for path in paths]
    origin, east, north = starts
    assert east[0] - origin[0] > 300
    assert east[1] == pytest.approx(origin[1], abs=0.1)
    assert north[0] == pytest.approx(origin[0], abs=0.1)
    assert origin[1] - north[1] == pytest.approx(east[0] - origin[0], rel=0.01)


@given(st.integers(0, 2**32 - 1), st.integers(3, 60), st.floats(5, 300))
def test_outlines_move_by_no_more_than_the_tolerance(
    seed: int, corners: int, radius: float
) -> None:
    """Against the shape itself: the distance of the outlines, by shapely."""
    rng = np.random.default_rng(seed)
    turns = np.sort(rng.uniform(0, 2 * np.pi, corners))
    far = radius * rng.uniform(0.4, 1, corners)
    outer = Polygon(np.column_stack([far * np.cos(turns), far * np.sin(turns)])).buffer(
        0
    )
    shape = max(shapely.get_parts(outer), key=shapely.area, default=Polygon())
    hole = shape.representative_point().buffer(radius / 20)
    shape = shape - hole if hole.area > 1 and shape.contains(hole) else shape
    if shape.area < 1:
        return
    lines = [LineString([*ring, ring[0]]) for ring in points_of(area_path(shape))]
    drawn = shapely.union_all(lines)
    rounding = 0.05 * 2**0.5
    assert drawn.hausdorff_distance(shape.boundary) <= THINNED_PX + rounding + 1e-9
    assert len(lines) == len(shapely.get_rings(shape))


def test_specks_go_and_the_largest_part_stays() -> None:
    specks = [box(x, 0, x + 0.4, 0.4) for x in range(5)]
    shape = MultiPolygon([*specks, box(10, 10, 30, 30)])
    assert len(points_of(area_path(shape))) == 1
    assert len(points_of(area_path(MultiPolygon(specks)))) == 1


def test_lines_that_go_on_are_one() -> None:
    """So that a dashed edge does not begin its dashes anew at each corner."""
    pieces = shapely.MultiLineString([[(0, 0), (9, 0)], [(9, 0), (9, 9)]])
    assert [path for path, _ in line_paths([pieces])] == ["M0 0l9 0 0 9"]


# --- sound documents


@pytest.fixture(scope="module")
def svg() -> str:
    return render_drawing(sample_page())


def test_document_stands_alone(svg: str) -> None:
    root = etree.fromstring(svg.encode())
    assert root.tag == f"{SVG}svg"
    width, height = (float(root.get(side)) for side in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {width:g} {height:g}"
    assert root.get("role") == "img"
    assert root.get("{http://www.w3.org/XML/1998/namespace}lang") == "en"
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert set(root.get("aria-labelledby").split()) <= set(ids)
    assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= set(ids)
    assert "http" not in svg.replace("http://www.w3.org/2000/svg", "")
    assert not {"script", "image", "use", "a", "foreignObject"} & {
        etree.QName(element).localname for element in root.iter()
    }
    assert "@import" not in svg
    assert "href" not in svg


def test_title_and_description_are_the_page_s(svg: str) -> None:
    page = sample_page()
    title, told = parsed(svg)[:2]
    assert (title.tag, title.text) == (f"{SVG}title", page.title)
    assert told.tag == f"{SVG}desc"
    assert page.lead in (told.text or "")
    assert page.date_line in (told.text or "")


def test_same_page_same_text(svg: str) -> None:
    assert render_drawing(sample_page()) == svg


HOSTILE = [
    "<script>alert(1)</script>",
    "]]> & &amp; \"'>",
    "{{ 7 * 7 }}{0}{x}",
    "a\u2028b\u0000c\u001bd\ud800e\ufffe",
    "--><!-- <![CDATA[",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_texts_are_texts(text: str) -> None:
    layer = Layer(
        "w", text, (Feature(box(0, 0, 1, 1), text, text, text),), looks.WATER,
        labels="names", note=text,
    )  # fmt: skip
    point = Layer(
        "p", text + ".", (Feature(Point(0.5, 0.2), text),), looks.MARK, labels="names"
    )
    words: dict[str, Any] = {"title": text, "lead": text, "date_line": text}
    page = page_of(layer, point, facts=((text, text),), missing=(text,), **words)
    for svg in (render_drawing(page), map_svg(page, width_px=300)):
        root = parsed(svg)
        plain = parsed(render_drawing(page_of(layer, point)).replace(text, ""))
        assert {e.tag for e in root.iter()} <= {e.tag for e in plain.iter()}
        assert svg.encode("utf-8")
        kept = re.sub(r"[\u0000\u001b\ud800\ufffe]", "\ufffd", " ".join(text.split()))
        assert root[0].text == kept


@pytest.mark.parametrize(
    "layers",
    [
        (),
        (Layer("water", "Water", (), looks.WATER),),
        (area_layer(Polygon()),),
        (Layer("ways", "Ways", (Feature(box(0, 0, 1, 1)),), looks.WATER, shown=False),),
    ],
)
def test_page_without_shapes_has_no_map(layers: tuple[Layer, ...]) -> None:
    page = page_of(*layers)
    assert map_svg(page, width_px=300) == ""
    root = parsed(render_drawing(page))
    assert "A pool" in [text.text for text in root.iter(f"{SVG}text")]
    assert fitting_size(page) == (716, 1045)


@pytest.mark.parametrize(
    "shape",
    [
        Point(-3.2, 54.1),
        LineString([(-3.2, 54.1), (-3.2, 54.2)]),
        LineString([(-3.2, 54.1), (-3.1, 54.1)]),
        box(-3.2, 54.1, -3.2 + 3e-4, 54.1 + 1.8e-4),
        box(-3.5, 54.0, -2.8, 54.05),
        box(179.9, -1, 180.1, 1),
        Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]),
        shapely.GeometryCollection([Point(0, 0), box(0, 0, 1, 1)]),
    ],
)
def test_any_shape_makes_a_map_that_holds_it(shape: BaseGeometry) -> None:
    layer = Layer("x", "X", (Feature(shape, "7"),), looks.DRIFT, labels="numbers")
    for labels in ("numbers", "names"):
        page = page_of(replace(layer, labels=labels, look=looks.UNFISHED))
        svg = render_drawing(page, width_px=500)
        root = parsed(svg)
        frame = next(root.iter(f"{SVG}clipPath"))[0]
        width, height = float(frame.get("width", 0)), float(frame.get("height", 0))
        assert 0.39 * width <= height <= 1.51 * width
        assert 0.001 < m_per_px(svg) < 1000
        assert "7" in [text.text for text in root.iter(f"{SVG}text")]


def test_far_off_points_do_not_shrink_the_water() -> None:
    water = area_layer(box(0, 0, 0.01, 0.01))
    near, far = Feature(Point(0.0105, 0.005)), Feature(Point(2, 2))
    marks = Layer("m", "Marks", (near, far), looks.MARK)
    alone = m_per_px(map_svg(page_of(water), width_px=600))
    both = m_per_px(map_svg(page_of(water, marks), width_px=600))
    assert alone <= both < 1.1 * alone


def test_layers_are_those_of_the_view_or_those_asked_for() -> None:
    first, second, always, hidden = (
        area_layer(box(0, 0, 1, 1), key, Look(fill=f"#00000{number}"))
        for number, key in enumerate(["first", "second", "always", "hidden"])
    )
    page = page_of(
        replace(first, view="often"),
        replace(second, view="pairs"),
        always,
        replace(hidden, shown=False),
        views=(View("often", "How often"), View("pairs", "By whom")),
    )
    assert shown_keys(page) == {"first", "always"}
    assert shown_keys(page, "pairs") == {"second", "always"}

    def drawn(**options: Any) -> list[bool]:
        svg = render_drawing(page, **options)
        return [bool(drawn_paths(svg, f"#00000{number}")) for number in range(4)]

    assert drawn() == [True, False, True, False]
    assert drawn(keys=shown_keys(page, "pairs")) == [False, True, True, False]
    assert drawn(keys={"hidden"}) == [False, False, False, True]


def test_map_for_a_page_has_ids_of_its_own_and_no_definitions() -> None:
    svg = map_svg(sample_page(), width_px=700, name="heron")
    root = parsed(svg)
    ids = [element.get("id", "") for element in root.iter() if element.get("id")]
    assert ids
    assert all(name.startswith("heron-") for name in ids)
    assert not list(root.iter(f"{SVG}pattern"))
    used = set(re.findall(r"url\(#([^)]+)\)", svg))
    defined = set(re.findall(r'id="([^"]+)"', render_drawing(sample_page())))
    assert used - set(ids) <= defined
    words = [text.text for text in root.iter(f"{SVG}text")]
    assert sample_page().title not in words


@pytest.mark.parametrize("title", [True, False])
@pytest.mark.parametrize("key", [True, False])
def test_title_and_legend_are_there_if_wanted(title: bool, key: bool) -> None:
    svg = render_drawing(sample_page(), with_title=title, with_legend=key)
    words = [text.text for text in parsed(svg).iter(f"{SVG}text")]
    assert (sample_page().title in words) == title
    assert ("Out of bounds" in words) == key


def test_sheet_lies_as_the_water_does() -> None:
    wide = page_of(area_layer(FRAME.degrees(box(0, 0, 3000, 1000))))
    tall = page_of(area_layer(FRAME.degrees(box(0, 0, 1000, 3000))))
    assert fitting_size(wide) == (1045, 716)
    assert fitting_size(tall) == (716, 1045)
    for page in (wide, tall, sample_page()):
        root = parsed(render_drawing(page))
        width, height = fitting_size(page)
        assert float(root.get("width", 0)) == width
        assert float(root.get("height", 0)) <= height + 0.1
        # ISO 216: A4 is 210 by 297 mm; CSS: 96 px an inch. 10 mm are left around.
        assert sorted([width, height]) <= [190 / 25.4 * 96, 277 / 25.4 * 96]


@pytest.mark.parametrize(("wide", "tall"), [(3000, 2000), (1000, 1500), (500, 520)])
def test_water_fills_its_frame(wide: float, tall: float) -> None:
    shape = FRAME.degrees(affinity.scale(wiggly(500), wide / 1700, tall / 1000))
    svg = map_svg(page_of(area_layer(shape)), width_px=700)
    (ring,) = points_of(drawn_paths(svg, looks.WATER.fill)[0])
    frame = next(parsed(svg).iter(f"{SVG}clipPath"))[0]
    low, high = np.min(ring, axis=0), np.max(ring, axis=0)
    sides = np.array([float(frame.get("width", 0)), float(frame.get("height", 0))])
    assert ((high - low) / sides).max() > 0.9
    assert (low > 5).all()
    assert (high < sides - 5).all()


def test_scale_stands_below_water_that_fills_all_corners() -> None:
    water = area_layer(FRAME.degrees(box(0, 0, 1500, 1000)))
    svg = map_svg(page_of(water), width_px=400)
    filled = even_odd(drawn_paths(svg, looks.WATER.fill)[0])
    assert filled.bounds[2] - filled.bounds[0] > 0.9 * 400
    (scale,) = (g for g in parsed(svg).iter() if g.get("class") == "drawing-scale")
    top = float(scale[0].get("y", 0))
    height = float(parsed(svg).get("height", 0))
    assert filled.bounds[3] < top < height


# --- less where there is much


def drifts_page(number: int, length_m: float) -> Page:
    lines = [
        LineString([(x, y), (x + length_m, y + 0.2 * length_m)])
        for x, y in np.random.default_rng(5).uniform(0, 4000, (number, 2)).tolist()
    ]
    return page_of(
        area_layer(FRAME.degrees(box(0, 0, 5000, 5000))),
        Layer("d", "D", tuple(Feature(FRAME.degrees(x)) for x in lines), looks.DRIFT),
    )


@pytest.mark.parametrize(
    ("number", "length_m", "dots", "arrows", "tips"),
    [(3, 100, 1, 1, 0), (40, 900, 1, 1, 0), (40, 150, 0, 0, 1), (40, 30, 0, 0, 0)],
)
def test_short_drifts_have_small_ends_or_none(
    number: int, length_m: float, dots: int, arrows: int, tips: int
) -> None:
    svg = map_svg(drifts_page(number, length_m), width_px=700)
    ends = [
        svg.count(f"url(#{end}-{looks.DRIFT.stroke[1:]})")
        for end in ("dot", "arrow", "tip")
    ]
    assert ends == [dots, arrows, tips]


@pytest.mark.slow
def test_season_stays_small() -> None:
    """2,250 drifts, 25 a boat-day, over each other in all directions."""
    rng = np.random.default_rng(3)
    water = wiggly(900)
    lines = [
        affinity.translate(
            affinity.rotate(
                LineString([(0, 4 * np.sin(s / 6)) for s in range(3)]
                           + [(8 * s, 5 * np.sin(s / 4)) for s in range(1, 45)]),
                float(rng.uniform(0, 360)),
            ),
            *rng.uniform(-1300, 1300, 2).tolist(),
        )
        & water
        for _ in range(2250)
    ]  # fmt: skip
    lines = [line for line in lines if line.length > 30]
    swept = [line.buffer(13, cap_style="flat") for line in lines]
    over = [shapely.union_all(swept[k::3]) & water for k in range(3)]
    page = page_of(
        area_layer(FRAME.degrees(water)),
        *(
            area_layer(FRAME.degrees(shape), f"swept-{k}", looks.swept(k))
            for k, shape in enumerate(over, 1)
        ),
        Layer(
            "d",
            "D",
            tuple(Feature(FRAME.degrees(x)) for x in lines),
            looks.EARLIER_DRIFT,
        ),
    )
    assert len(render_drawing(page).encode()) < 250_000


# --- labels on the map


def numbered_page(pieces: Sequence[BaseGeometry]) -> Page:
    features = tuple(
        Feature(FRAME.degrees(piece), str(number), key=f"piece-{number}")
        for number, piece in enumerate(pieces, 1)
    )
    return page_of(
        Layer("u", "U", features, looks.UNFISHED, labels="numbers"),
    )


def labels_of(svg: str) -> ElementTree.Element:
    (labels,) = (
        g for g in parsed(svg).iter(f"{SVG}g") if g.get("class") == "drawing-labels"
    )
    return labels


@pytest.mark.slow
def test_numbers_left_out_are_the_last_and_are_told() -> None:
    pieces = [
        box(x, y, x + 8, y + 8) for y in range(0, 200, 10) for x in range(0, 200, 10)
    ]
    labels = labels_of(map_svg(numbered_page(pieces), width_px=300))
    words = [text.text or "" for text in labels.iter(f"{SVG}text")]
    numbers = {int(word) for word in words if word.isdigit()}
    note = " ".join(word for word in words if not word.isdigit())
    left = 400 - len(numbers)
    assert left > 100
    assert note == f"{left} numbers had no room: the table has all."
    assert set(range(1, 10)) <= numbers


def test_number_of_a_small_piece_stands_beside_it() -> None:
    pieces = [box(0, 0, 500, 400), box(700, 200, 706, 206)]
    labels = labels_of(map_svg(numbered_page(pieces), width_px=700))
    (dot,) = labels.iter(f"{SVG}circle")
    boxes = [
        box(x, y, x + float(r.get("width", 0)), y + float(r.get("height", 0)))
        for r in labels.iter(f"{SVG}rect")
        for x, y in [(float(r.get("x", 0)), float(r.get("y", 0)))]
    ]
    tip = Point(float(dot.get("cx", 0)), float(dot.get("cy", 0)))
    svg = map_svg(numbered_page(pieces), width_px=700)
    small = even_odd(drawn_paths(svg, looks.UNFISHED.paint)[1])
    assert small.buffer(0.2).contains(tip)
    assert all(one.distance(small) > 0 for one in boxes)


# --- in a browser

BOXES = """() => {
  const root = document.documentElement;
  const of = (element) => {
    const { left, top, right, bottom } = element.getBoundingClientRect();
    return [left, top, right, bottom, element.textContent];
  };
  const all = (query) => [...root.querySelectorAll(query)].map(of);
  return {
    view: [0, 0, root.viewBox.baseVal.width, root.viewBox.baseVal.height],
    texts: all("text"),
    names: all(".drawing-labels > text"),
    numbers: all(".drawing-labels > rect"),
    figures: all(".drawing-labels > rect + text"),
    scale: all(".drawing-scale"),
    frame: all(".drawing-land")[0],
  };
}"""


@pytest.mark.browser
@pytest.mark.parametrize("family", ["", "DejaVu Sans", "Liberation Serif"])
@pytest.mark.parametrize("width", [390, 716, 1280])
def test_labels_are_apart_and_inside_when_drawn(
    browser: Browser, tmp_path: Path, width: int, family: str
) -> None:
    svg = render_drawing(sample_page(), width_px=width)
    if family:
        svg = re.sub(r'font-family="[^"]*"', f'font-family="{family}"', svg)
    file = tmp_path / "map.svg"
    file.write_text(svg, encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 1200})
    page.goto(file.as_uri())
    seen = page.evaluate(BOXES)
    page.close()
    view = box(*seen["view"])
    assert len(seen["texts"]) > 20
    for text in seen["texts"]:
        assert view.buffer(0.5).covers(box(*text[:4])), text[4]
    figures = {tuple(figure) for figure in seen["figures"]}
    names = [name for name in seen["names"] if tuple(name) not in figures]
    assert {"Heron", "Grebe", "Teal"} <= {name[4] for name in names}
    frame = box(*seen["frame"][:4])
    # A line's box in a browser holds room above and below its letters.
    labels = [_letters(*name[:4]) for name in names]
    labels += [box(*number[:4]) for number in seen["numbers"]]
    labels += [box(*scale[:4]) for scale in seen["scale"]]
    for one, other in combinations(labels, 2):
        assert not one.intersects(other)
    assert all(frame.covers(label) for label in labels)
    for figure, number in zip(seen["figures"], seen["numbers"], strict=True):
        assert number[0] < figure[0]
        assert figure[2] < number[2]


def _letters(left: float, top: float, right: float, bottom: float) -> Polygon:
    spare = 0.1 * (bottom - top)
    return box(left, top + spare, right, bottom - spare)


def test_numbers_keep_off_water_out_of_bounds() -> None:
    """A bit of water beside a closed zone has its number on the open side."""
    closed = box(500, 0, 1000, 1000)
    for side, sign in ((497, -1), (1003, 1)):
        bit = box(side - 2, 498, side + 2, 502)
        page = page_of(
            area_layer(FRAME.degrees(box(0, 0, 1500, 1000))),
            Layer(
                "out-of-bounds",
                "Out",
                (Feature(FRAME.degrees(closed)),),
                looks.OUT_OF_BOUNDS,
            ),
            Layer(
                "p",
                "P",
                (Feature(FRAME.degrees(bit), "7"),),
                looks.UNFISHED,
                labels="numbers",
            ),
        )
        root = parsed(map_svg(page, width_px=750))
        group = next(
            g for g in root.iter(f"{SVG}g") if g.get("class") == "drawing-labels"
        )
        frame = next(r for r in group.iter(f"{SVG}rect"))
        dot = next(c for c in group.iter(f"{SVG}circle"))
        middle = float(frame.get("x", 0)) + float(frame.get("width", 0)) / 2
        assert sign * (middle - float(dot.get("cx", 0))) > 0
