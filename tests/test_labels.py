"""Labels never cover anything, and text is never wider than it was taken for."""

import unicodedata
from collections.abc import Sequence
from itertools import combinations
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Browser
from shapely import LineString, box

from sweptwater.paper.labels import GAP, Placed, Spot, Version, leader_of, place_labels
from sweptwater.paper.lettering import (
    clean,
    shortened,
    text_svg,
    text_width,
    wrapped,
)
from sweptwater.paper.plane import Box

FRAME = Box(0, 0, 200, 150)


def crowd(seed: int, number: int) -> list[list[Version]]:
    """Return labels that all want places in the same small frame."""
    rng = np.random.default_rng(seed)

    def spot() -> Spot:
        x, y, tip_x, tip_y = rng.uniform([-10, -10, 0, 0], [210, 160, 200, 150])
        leader = (float(tip_x), float(tip_y)) if rng.random() < 0.5 else None
        return Spot(float(x), float(y), float(rng.uniform(0, 50)), leader)

    def version() -> Version:
        width, height = rng.uniform(3, 50), rng.uniform(3, 25)
        spots = tuple(spot() for _ in range(rng.integers(0, 12)))
        return Version(float(width), float(height), spots)

    return [[version() for _ in range(rng.integers(1, 3))] for _ in range(number)]


labels = st.builds(crowd, st.integers(0, 2**32 - 1), st.integers(0, 40))
obstacles = st.lists(
    st.builds(lambda x, y, w, h: Box(x, y, x + w, y + h), *[st.floats(1, 60)] * 4),
    max_size=4,
)


def line(placed: Placed) -> LineString | None:
    """Return a label's leader, if it has one outside its box."""
    if placed.spot.leader is None:
        return None
    x0, y0, x1, y1 = leader_of(placed.box, placed.spot)
    return LineString([(x0, y0), (x1, y1)])


def found(placed: Sequence[Placed | None]) -> list[Placed]:
    return [place for place in placed if place]


# Shapely judges here what the placing computes by itself.
@given(labels, obstacles)
def test_boxes_keep_off_each_other_and_in_the_frame(
    wanted: list[list[Version]], walls: list[Box]
) -> None:
    placed = found(place_labels(wanted, frame=FRAME, obstacles=walls))
    boxes = [box(*place.box) for place in placed]
    for one, other in combinations(boxes, 2):
        assert one.distance(other) >= GAP - 1e-6
    for one in boxes:
        assert box(*FRAME).buffer(1e-6).covers(one)
        assert all(one.distance(box(*wall)) >= GAP - 1e-6 for wall in walls)


@pytest.mark.slow
@given(labels, obstacles)
def test_leaders_cross_no_box_and_no_leader(
    wanted: list[list[Version]], walls: list[Box]
) -> None:
    placed = found(place_labels(wanted, frame=FRAME, obstacles=walls))
    lines = [line(place) for place in placed]
    for place, leader in zip(placed, lines, strict=True):
        if leader is None:
            continue
        others = [box(*other.box) for other in placed if other is not place]
        tip = shapely.Point(leader.coords[-1])
        others += [box(*w) for w in walls if not box(*w).buffer(1e-6).covers(tip)]
        inner = [other.buffer(-1e-6) for other in others]
        assert not any(leader.intersects(other) for other in inner)
    for one, other in combinations([one for one in lines if one], 2):
        assert not one.crosses(other)


@pytest.mark.slow
@given(labels, labels)
def test_later_labels_take_nothing_from_earlier_ones(
    first: list[list[Version]], later: list[list[Version]]
) -> None:
    alone = [bool(place) for place in place_labels(first, frame=FRAME)]
    both = place_labels([*first, *later], frame=FRAME)[: len(first)]
    assert [bool(place) for place in both] == alone


def test_earlier_labels_move_for_one_that_has_one_place_only() -> None:
    number = [Version(10, 10, (Spot(50, 50), Spot(90, 50, cost=9)))]
    name = [Version(30, 10, (Spot(50, 50),))]
    assert place_labels([number], frame=FRAME) == [
        Placed(Box(45, 45, 55, 55), Spot(50, 50), 0)
    ]
    first, second = place_labels([number, name], frame=FRAME)
    assert first
    assert second
    assert (first.spot.x, second.spot.x) == (90, 50)


def test_no_label_moves_for_one_that_would_leave_it_without_a_place() -> None:
    one = [Version(10, 10, (Spot(50, 50),))]
    first, second = place_labels([one, one], frame=FRAME)
    assert first
    assert second is None


def test_next_version_is_taken_where_the_first_has_no_room() -> None:
    large = Version(300, 10, (Spot(100, 50),))
    small = Version(30, 10, (Spot(100, 50),))
    (place,) = place_labels([[large, small]], frame=FRAME)
    assert place
    assert place.version == 1


def test_what_speaks_against_a_spot_from_outside_counts() -> None:
    version = Version(10, 10, (Spot(50, 50), Spot(90, 50, cost=3)), extra=(5, 0))
    (place,) = place_labels([[version]], frame=FRAME)
    assert place
    assert place.spot.x == 90


def test_leader_that_ends_under_an_obstacle_may_reach_it() -> None:
    wall = Box(40, 40, 60, 60)
    wanted = [[Version(10, 10, (Spot(80, 50, leader=(50, 50)),))]]
    (place,) = place_labels(wanted, frame=FRAME, obstacles=[wall])
    assert place
    beyond = [[Version(10, 10, (Spot(80, 50, leader=(20, 50)),))]]
    assert place_labels(beyond, frame=FRAME, obstacles=[wall]) == [None]


# --- text


@given(st.text(), st.floats(5, 40), st.floats(20, 400), st.booleans())
def test_lines_are_no_wider_than_asked_and_lose_nothing(
    text: str, size: float, most: float, bold: bool
) -> None:
    lines = wrapped(text, size, most=most, bold=bold)
    for part in lines:
        assert text_width(part, size, bold=bold) <= most or len(part) == 1
    assert "".join("".join(lines).split()) == "".join(text.split())
    short = shortened(text, size, most=most, bold=bold)
    assert text_width(short, size, bold=bold) <= most or short == "\u2026"


@given(st.text(st.characters(codec=None), max_size=60))
def test_any_text_is_harmless_in_the_drawing(text: str) -> None:
    svg = text_svg(text, 1, 2, size=12, fill="#000000", halo=True)
    parsed = ElementTree.fromstring(svg)
    assert parsed.text == (clean(text) or None)
    assert len(parsed) == 0


# XML 1.0, fifth edition, section 2.2, production Char, less the controls that it
# discourages (note there).
@pytest.mark.parametrize("code", [0x0, 0x8, 0x1F, 0x7F, 0x85, 0xD800, 0xDFFF, 0xFFFE])
def test_characters_outside_xml_are_replaced(code: int) -> None:
    white = chr(code).isspace()
    assert clean(f"a{chr(code)}b") == ("a b" if white else "a\ufffdb")


LETTERS = [chr(code) for code in (*range(0x20, 0x7F), *range(0xA1, 0x180))]
WORDS = [
    "Stony point",
    "Mwmw WM",
    "\u0416\u0428\u0429 \u044e",
    "\u6c34\u9762",
    "1,037 yd",
]
FAMILIES = ["DejaVu Sans", "DejaVu Serif", "Liberation Sans", "Liberation Serif"]


@pytest.mark.browser
@pytest.mark.parametrize("weight", [400, 700])
def test_no_letter_is_wider_than_its_bound(browser: Browser, weight: int) -> None:
    """The browser measures its letters; ours are upper bounds of them."""
    letters = [letter for letter in LETTERS if unicodedata.category(letter) != "Cf"]
    texts = [*letters, *WORDS]
    widths: list[list[float]] = browser.new_page().evaluate(
        """([texts, families, weight]) => {
          const pen = document.createElement("canvas").getContext("2d");
          return families.map((family) => {
            pen.font = `${weight} 100px "${family}"`;
            return texts.map((text) => pen.measureText(text).width);
          });
        }""",
        [texts, FAMILIES, weight],
    )
    bounds = [text_width(text, 100, bold=weight == 700) for text in texts]
    too_wide = [
        (family, text, width, bound)
        for family, own in zip(FAMILIES, widths, strict=True)
        for text, width, bound in zip(texts, own, bounds, strict=True)
        if width > bound + 0.1
    ]
    assert too_wide == []
    widest = [max(column) for column in zip(*widths, strict=True)]
    slack = sum(bounds[: len(letters)]) / sum(widest[: len(letters)])
    assert slack < 1.4  # bounds that are no use would place no label
