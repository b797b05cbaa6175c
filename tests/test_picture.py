"""Maps as pictures: read by Pillow, and held against what is drawn in them."""

import io
import struct
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapely import box

from page_sample import sample_page
from practices_made import done
from sweptwater.paper.layers import Feature, Layer, Page
from sweptwater.paper.looks import Look
from sweptwater.paper.picture import SHARPNESS, WIDTH_PX, render_picture

RED, BLUE = (255, 0, 0), (0, 0, 255)


def pixels(png: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(png)) as picture:
        picture.load()
        return np.asarray(picture.convert("RGB"))


def share(png: bytes, colour: tuple[int, int, int]) -> float:
    return float((pixels(png) == colour).all(axis=2).mean())


def two_squares(text: str = "") -> Page:
    """Return a page with an area, and one of a ninth of it inside."""
    large = Layer(
        "large", "Large", (Feature(box(0, 0, 0.03, 0.03)),), Look(fill="#ff0000")
    )
    small = Layer(
        "small",
        "Small",
        (Feature(box(0.01, 0.01, 0.02, 0.02), label=text),),
        Look(fill="#0000ff"),
        labels="names",
    )
    quiet = (replace(layer, in_legend=False) for layer in (large, small))
    return Page(
        title="Pool", lead="", date_line="", units="metric", layers=tuple(quiet)
    )


def test_it_is_as_wide_as_it_says() -> None:
    """Portable Network Graphics, third edition, 5.6 and 11.2.1: IHDR comes first."""
    png = render_picture(sample_page())
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    assert png[12:16] == b"IHDR"
    width, height = struct.unpack(">II", png[16:24])
    assert width == WIDTH_PX * SHARPNESS
    assert width / 3 < height < 3 * width
    assert pixels(png).shape == (height, width, 3)


def test_areas_are_drawn_in_proportion() -> None:
    """The inner square is a ninth of the outer, by their sides."""
    png = render_picture(two_squares())
    red, blue = share(png, RED), share(png, BLUE)
    assert red > 0.2
    assert blue / (red + blue) == pytest.approx(1 / 9, rel=0.02)


def test_letters_are_drawn() -> None:
    """In typefaces that come along: a machine without any draws the same."""
    bare, named = (render_picture(two_squares(text)) for text in ("", "Boathouse"))
    assert share(named, BLUE) < 0.98 * share(bare, BLUE)


def test_the_same_page_is_the_same_picture() -> None:
    assert render_picture(sample_page()) == render_picture(sample_page())


def test_it_can_show_a_part() -> None:
    page = two_squares()
    part = render_picture(page, around=box(0.012, 0.012, 0.018, 0.018))
    assert share(part, BLUE) > 4 * share(render_picture(page), BLUE)


def test_it_tells_nothing_of_who_made_it() -> None:
    """The chunks of text, time and Exif (same, 11.3) are not there."""
    png = render_picture(sample_page())
    names, at = [], 8
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        names.append(png[at + 4 : at + 8])
        at += 12 + length
    assert names[0] == b"IHDR"
    assert names[-1] == b"IEND"
    assert set(names) <= {b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND", b"pHYs", b"sRGB"}


def test_reports_have_their_maps_beside_them(fished: Path) -> None:
    result = done(fished, "coverage", "--day", "2027-06-08", "--pair", "Heron")
    picture = fished / "reports" / "coverage-2027-06-08-Heron.png"
    assert str(picture) in result.stderr
    assert 20_000 < picture.stat().st_size < 1_000_000
    assert pixels(picture.read_bytes()).shape[1] == WIDTH_PX * SHARPNESS
