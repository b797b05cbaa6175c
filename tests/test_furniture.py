"""Scale bars are round and true, text can be read, and the legend explains all."""

import re
from dataclasses import replace
from importlib.resources import files
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from contrasts import contrast
from page_sample import sample_page
from sweptwater.paper import looks
from sweptwater.paper.drawing import map_svg
from sweptwater.paper.furniture import (
    CALL_TEXT,
    MUTED,
    PAPER,
    Block,
    heading,
    legend,
    scale_bar,
    scale_box,
)
from sweptwater.paper.lettering import text_width
from sweptwater.units import System

# International yard and mile (1959); the metre and kilometre are themselves.
METRES = {"yard": 0.9144, "mile": 1609.344, "m": 1.0, "km": 1000.0}


def parsed(block: Block) -> ElementTree.Element:
    return ElementTree.fromstring(f"<g>{block.svg}</g>")


def texts(block: Block) -> list[str]:
    return [text.text or "" for text in parsed(block).iter("text")]


@given(
    st.floats(1e-3, 1e3), st.sampled_from(["imperial", "metric"]), st.floats(40, 200)
)
def test_bar_is_as_long_as_it_says_and_round(
    m_per_px: float, system: System, longest_px: float
) -> None:
    bar = scale_bar(m_per_px, system, longest_px=longest_px)
    number, unit = bar.text.replace(",", "").split()
    length_m = float(number) * METRES[unit.removesuffix("s") or unit]
    assert bar.length_m == pytest.approx(length_m, rel=1e-9)
    assert bar.length_px * m_per_px == pytest.approx(length_m, rel=1e-9)
    assert 0.39 * longest_px < bar.length_px <= longest_px * (1 + 1e-6)
    assert re.fullmatch(r"0*\.?0*[125]0*", number)
    assert system == ("metric" if unit in ("m", "km") else "imperial")


@pytest.mark.parametrize(
    ("m_per_px", "system", "text"),
    [
        (1609.343 / 100, "imperial", "1,000 yards"),
        (1609.344 / 100, "imperial", "1 mile"),
        (3300 / 100, "imperial", "2 miles"),
        (0.92 / 100, "imperial", "1 yard"),
        (999 / 100, "metric", "500 m"),
        (1000 / 100, "metric", "1 km"),
        (0.06 / 100, "metric", "0.05 m"),
    ],
)
def test_bar_is_in_the_units_of_the_practice(
    m_per_px: float, system: System, text: str
) -> None:
    assert scale_bar(m_per_px, system, longest_px=100).text == text


def test_scale_box_holds_its_bar_and_its_words() -> None:
    bar = scale_bar(1, "imperial", longest_px=130)
    width, _ = scale_box(bar)
    assert width > max(bar.length_px, text_width(bar.text, 12.5)) + 30


def test_contrast_of_known_colours() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


# WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1.
@pytest.mark.parametrize(
    ("ink", "ground"),
    [
        *((looks.INK, ground) for ground in (PAPER, "#ffffff", looks.LAND)),
        *((looks.INK, look.fill) for look in (looks.WATER, looks.UNFISHED)),
        (MUTED, PAPER),
        (CALL_TEXT, PAPER),
    ],
)
def test_text_can_be_read_on_its_ground(ink: str, ground: str) -> None:
    assert contrast(ink, ground) >= 4.5


def test_names_bring_their_ground_along() -> None:
    """Some fills are too dark for ink: a name has white around it, a number a box.

    A border so wide that it fills a letter's inner details is its ground
    (Understanding WCAG 2.2, 1.4.3, from memory).
    """
    fills = [look.fill for look in (*looks.PAIRS, *looks.RANKED, *looks.LIKELY)]
    assert min(contrast(looks.INK, fill) for fill in fills) < 4.5  # so it is needed
    css = (files("sweptwater.paper") / "templates" / "page.css").read_text("utf-8")
    (name,) = re.findall(r"^\.names span \{(.*?)\}", css, re.DOTALL | re.MULTILINE)
    assert name.count("px #fff") + name.count("0 #fff") >= 8  # on all sides
    (number,) = re.findall(r"^\.numbers span \{(.*?)\}", css, re.DOTALL | re.MULTILINE)
    assert "background: #fff" in number
    drawn = map_svg(sample_page(), width_px=700)
    for word in ("Heron", "Grebe", "Teal"):
        (text,) = re.findall(rf"<text[^>]*>[^<]*{word}[^<]*</text>", drawn)
        assert 'stroke="#fff"' in text
        assert 'paint-order="stroke"' in text


# WCAG 2.2, success criterion 1.4.11: at least 3 to 1 for what has to be seen.
def test_frames_of_numbers_and_rims_of_unfished_water_stand_out() -> None:
    for ground in ("#ffffff", looks.LAND, looks.UNFISHED.fill):
        assert contrast(looks.CALL, ground) >= 3


@pytest.mark.parametrize("width", [180, 366, 692, 1021])
def test_legend_explains_each_layer_once_and_in_order(width: float) -> None:
    layers = sample_page().layers
    block = legend(layers, width)
    words = " ".join(texts(block))
    at = [words.index(layer.title) for layer in layers]
    if width == 180:  # one column: their order is that of the layers
        assert at == sorted(at)
    assert all(note in words for note in (layer.note for layer in layers))
    swatches = parsed(block).iter("svg")
    assert sum(svg.get("class") == "swatch" for svg in swatches) == len(layers)


@pytest.mark.parametrize("width", [180, 366, 692, 1021])
def test_legend_and_heading_stay_within_their_width(width: float) -> None:
    page = sample_page()
    page = replace(
        page, date_line=page.date_line * 3, title="Supercalifragilistic " * 4
    )
    for block in (heading(page, width), legend(page.layers, width)):
        for left, top, text in placed_texts(parsed(block)):
            bold = text.get("font-weight") == "700"
            size = float(text.get("font-size") or 0)
            words = text.text or ""
            assert left + text_width(words, size, bold=bold) <= width + 0.5
            assert top <= block.height


def placed_texts(
    element: ElementTree.Element, x: float = 0, y: float = 0
) -> list[tuple[float, float, ElementTree.Element]]:
    """Return left edge, baseline and element of each text, through its groups."""
    if moved := re.fullmatch(r"translate\((\S+) (\S+)\)", element.get("transform", "")):
        x, y = x + float(moved[1]), y + float(moved[2])
    own = (
        [(x + float(element.get("x", 0)), y + float(element.get("y", 0)), element)]
        if element.tag == "text"
        else []
    )
    return [*own, *(text for child in element for text in placed_texts(child, x, y))]


def test_heading_says_what_is_missing_before_the_figures() -> None:
    page = replace(sample_page(), missing=("Teal's record of 9 June is missing.",))
    words = texts(heading(page, 700))
    assert words.index(page.missing[0]) == words.index(page.date_line) + 1
    assert words.index(page.facts[0][0]) > words.index(page.missing[0])


def test_no_legend_of_nothing() -> None:
    block = legend((), 400)
    assert (str(block.svg), block.height) == ("", 0)
