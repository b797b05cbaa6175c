"""Boat sheets as text: all that is to be told, escaped, in its order; how they fit."""

import re
from dataclasses import asdict, fields, replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import html as lxml_html

from sheet_made import sample_sheet
from sweptwater.paper.drawing import map_svg
from sweptwater.paper.layers import Page
from sweptwater.paper.sheet import DriftRow, Sheet, TurnRow, render_sheet
from sweptwater.paper.sheet_fit import (
    HEIGHT_MM,
    LEAST_MAP_MM,
    WIDTH_MM,
    Grid,
    columns_mm,
    divided,
    head_mm,
    pencil_mm,
    row_heights_mm,
    words_mm,
)

NASTY = """<script>alert(1)</script> & "x" 'y' {{ 7 * 7 }} é水"""


def read(sheet: Sheet) -> tuple[lxml_html.HtmlElement, str]:
    """Return a sheet's HTML as a tree, and its text with single blanks."""
    tree = lxml_html.document_fromstring(render_sheet(sheet))
    for style in tree.xpath("//style"):
        style.text = ""
    return tree, " ".join(tree.text_content().split())


def test_all_that_is_to_be_told_is_there() -> None:
    sheet = sample_sheet(drifts=40)
    _, text = read(sheet)
    told = [sheet.pair, sheet.day_text, sheet.wind, sheet.hours, sheet.possible]
    told += [sheet.home, sheet.ring, *sheet.closed, *sheet.sun, *sheet.cautions]
    told += sheet.left_out
    told += [str(value) for row in sheet.drifts for value in asdict(row).values()]
    told += [str(value) for row in sheet.turns for value in asdict(row).values()]
    for words in told:
        assert words in text, words


def test_the_general_cautions_are_on_every_sheet() -> None:
    """Common practice, no source."""
    _, text = read(sample_sheet(drifts=0, back=False, cautions=()))
    for word in ("uoyancy aids", "kill cord", "Cold water", "Thunder", "rules"):
        assert word in text


def test_any_text_is_only_text() -> None:
    plain = sample_sheet(drifts=2)
    drift = DriftRow(**{field.name: NASTY for field in fields(DriftRow)})
    turn = TurnRow(**{field.name: NASTY for field in fields(TurnRow)})
    texts = [field.name for field in fields(Sheet) if field.type in (str, "str")]
    lists = ["closed", "sun", "cautions", "left_out"]
    more: dict[str, Any] = {
        **dict.fromkeys(texts, NASTY),
        **dict.fromkeys(lists, (NASTY,)),
    }
    nasty = replace(plain, **more, drifts=(drift,), turns=(turn,))
    tree, text = read(nasty)
    assert tree.xpath("//script") == []
    assert text.count("{{ 7 * 7 }}") >= len(texts) + len(lists) + 13
    assert len(tree.xpath("//b")) <= len(read(plain)[0].xpath("//b"))


def test_lone_surrogates_do_no_harm() -> None:
    html = render_sheet(sample_sheet(drifts=1, home="home \ud800 by dusk"))
    assert "home ? by dusk" in html
    html.encode()


def test_it_needs_nothing_else() -> None:
    html = render_sheet(sample_sheet(drifts=40))
    assert html == render_sheet(sample_sheet(drifts=40))
    assert len(html.encode()) < 2_000_000
    assert "<script" not in html
    assert "default-src 'none'" in html
    for word in ("href=", "src=", "@import", "url(http"):
        assert word not in html


def test_it_is_built_for_readers_of_any_kind() -> None:
    tree, _ = read(sample_sheet(drifts=40))
    assert tree.get("lang") == "en"
    assert len(tree.xpath("//h1")) == len(tree.xpath("//main")) == 1
    heads = tree.xpath("//th")
    assert heads
    assert all(head.get("scope") for head in heads)
    for table in tree.xpath("//table"):
        assert table.xpath("caption")
    ids = tree.xpath("//@id")
    assert len(set(ids)) == len(ids)


def test_stay_ashore_stands_first() -> None:
    words = "Stay ashore: too much wind."
    tree, text = read(sample_sheet(drifts=0, stay_ashore=words))
    assert tree.xpath("//main/*[1]")[0].text_content().strip() == words
    assert "No drifts are planned." in text
    assert "Stay ashore" not in read(sample_sheet(drifts=0))[1]


def test_drifts_without_room_on_the_front_go_on_overleaf() -> None:
    tree, text = read(sample_sheet(drifts=40))
    front = tree.xpath("//main//table[@class='drifts']/tbody/tr/th")
    back = tree.xpath(
        "//section[contains(@class, 'back')]//table[@class='drifts']/tbody/tr/th"
    )
    numbers = [cell.text_content() for cell in (*front, *back)]
    assert numbers == [str(number) for number in range(1, 41)]
    assert 8 <= len(front) <= 40 - 8
    assert "the rest overleaf" in text
    assert f"Drifts {len(front) + 1} to 40" in text


def test_a_long_list_of_what_does_not_fit_is_cut_and_says_so() -> None:
    texts = tuple(f"bank {n}: 12 drifts, 1.4 h, 6.0 acres" for n in range(1, 400))
    tree, text = read(sample_sheet(drifts=40, left_out=texts))
    kept = [item.text_content() for item in tree.xpath("//ol/li")]
    assert kept == list(texts[: len(kept)])
    assert 3 < len(kept) < 100
    assert f"And {399 - len(kept)} more." in text
    assert " more." not in read(sample_sheet(drifts=40))[1]


def test_two_dozen_drifts_stay_on_the_front() -> None:
    tree, text = read(sample_sheet(drifts=24))
    assert len(tree.xpath("//main//table[@class='drifts']/tbody/tr")) == 24
    assert "overleaf" in text  # the back's own head
    assert "the rest overleaf" not in text
    assert "overleaf" not in read(sample_sheet(drifts=24, back=False))[1]


@pytest.mark.parametrize(
    ("units", "word"), [("imperial", "Yards"), ("metric", "Metres")]
)
def test_lengths_are_in_the_units_of_the_map(units: str, word: str) -> None:
    sheet = sample_sheet(drifts=2)
    page = replace(sheet.map, units=units)  # type: ignore[arg-type]
    _, text = read(replace(sheet, map=page))
    assert word in text
    assert f"Longest drift, {word.lower()}" in text


@pytest.mark.parametrize("to_deg", [45.0, 0.0, 200.5])
def test_the_wind_has_an_arrow(to_deg: float) -> None:
    html = render_sheet(sample_sheet(drifts=2, wind_to_deg=to_deg))
    arrows = re.findall(r'"drawing-wind" transform="[^"]* rotate\(([\d.]+)\)"', html)
    assert [float(arrow) for arrow in arrows] == [to_deg] * 2  # on paper, on a phone
    assert "drawing-wind" not in render_sheet(sample_sheet(drifts=2, wind_to_deg=None))


def numbers_on(tree: lxml_html.HtmlElement, which: str) -> set[str]:
    (drawing,) = tree.xpath(f"//div[contains(@class, '{which}')]/*[@class='drawing']")
    return {str(element.text) for element in drawing.iter("text")}


def test_a_few_drifts_are_all_numbered() -> None:
    tree, text = read(sample_sheet(drifts=6))
    for name in ("on-paper", "on-phone"):
        (drawing,) = tree.xpath(
            f"//div[contains(@class, '{name}')]//*[@class='drawing']"
        )
        told = [element.text for element in drawing.iter("text")]
        assert {"1", "2", "3", "4", "5", "6"} <= set(told)
    assert "is numbered" not in text


def test_of_many_drifts_some_are_numbered_and_the_sheet_says_which() -> None:
    tree, text = read(sample_sheet(drifts=40))
    told = numbers_on(tree, "on-paper")
    assert {"1", "10", "40"} <= told
    assert "7" not in told
    assert "drift is numbered" in text


def test_the_legend_tells_what_the_map_shows() -> None:
    sheet = sample_sheet(drifts=1)
    near = read(sheet)[0].xpath("//ul[@class='legend on-paper']/li")
    whole = read(replace(sheet, around=None))[0].xpath(
        "//ul[@class='legend on-paper']/li"
    )
    titles = [[item.text_content() for item in items] for items in (near, whole)]
    assert "Out of bounds" not in titles[0]
    assert {"Out of bounds", *titles[0]} <= set(titles[1])
    assert "Drift, from dot to arrow" in titles[0]


@pytest.mark.parametrize("which", ["on-paper", "on-phone"])
def test_the_sheet_draws_what_its_map_is_to_show(which: str) -> None:
    sheet = sample_sheet(drifts=1)
    near = numbers_on(read(sheet)[0], which)
    whole = numbers_on(read(replace(sheet, around=None))[0], which)
    assert "Valve Tower" in whole
    assert "Valve Tower" not in near


def test_a_map_without_shapes_is_left_out() -> None:
    empty = Page(title="x", lead="", date_line="", units="metric")
    tree, _ = read(replace(sample_sheet(drifts=3), map=empty, around=None))
    assert tree.xpath("//figure") == []
    assert len(tree.xpath("//table[@class='drifts']/tbody/tr")) == 3


def test_the_map_shows_what_it_is_to_show_larger() -> None:
    sheet = sample_sheet(drifts=3)

    def bar(svg: str) -> float:
        (words,) = [
            element.text
            for element in lxml_html.fromstring(svg).iter("text")
            if "yards" in (element.text or "") or "mile" in (element.text or "")
        ]
        number, unit = words.replace(",", "").split()
        return float(number) * (1760 if unit.startswith("mile") else 1)

    near = bar(map_svg(sheet.map, width_px=400, around=sheet.around))
    whole = bar(map_svg(sheet.map, width_px=400))
    assert near < whole / 2


PLACES = st.text("abcdefgh WM", min_size=1, max_size=40)


@given(
    places=st.lists(PLACES, min_size=1, max_size=40),
    words=st.lists(st.text("some words ", max_size=300), max_size=5),
    room_mm=st.floats(60, 220),
    tall=st.floats(0.1, 8),
)
def test_what_is_on_the_front_has_room(
    places: list[str], words: list[str], room_mm: float, tall: float
) -> None:
    rows = tuple((str(n), "09:00", place, place, "7") for n, place in enumerate(places))
    grid = Grid(("No", "Begin", "Start at", "To", "Yards"), rows, (2, 3))
    front = divided(grid, words, ["Drift"], room_mm=room_mm, tall=tall)
    assert 0 <= front.rows <= len(rows)
    table_mm = WIDTH_MM - front.left_mm - (5 if front.left_mm else 0)
    assert sum(front.columns_mm) <= table_mm + 0.5
    heights = row_heights_mm(grid, front.columns_mm)[: front.rows + 1]
    if front.rows:
        assert sum(heights) <= room_mm
        assert front.middle_mm <= room_mm


def test_more_drifts_never_make_the_map_larger() -> None:
    def side_mm(drifts: int) -> float:
        rows = tuple((str(n), "off the dam", "the bay") for n in range(drifts))
        grid = Grid(("No", "Start at", "Drift to"), rows, (1, 2))
        front = divided(grid, ["Words. " * 40], [], room_mm=150, tall=1.0)
        assert front.rows == drifts
        return min(front.map_mm)

    sides = [side_mm(drifts) for drifts in (1, 6, 12, 18, 24)]
    assert all(one >= other for one, other in pairwise(sides))
    assert sides[-1] >= LEAST_MAP_MM


def test_heights_add_up_by_hand() -> None:
    """11 pt are 3.88 mm; lines stand 1.1 times that apart, and rows 0.7 mm more."""
    grid = Grid(("No",), (("1",), ("2",)), ())
    assert row_heights_mm(grid, columns_mm(grid, 50))[1:] == pytest.approx(
        [4.97] * 2, abs=0.01
    )
    assert words_mm(["one", "two"], 100) == pytest.approx(4.06, abs=0.01)
    assert words_mm([], 100) == 0
    assert pencil_mm(0) == 0
    assert pencil_mm(14) == pytest.approx(14 * 5 + 13.5)
    head = head_mm("", "Heron", ("Wednesday", "Ashlode"), [("Wind", "Hours")])
    assert 15 < head < 30
    assert head_mm("Stay ashore", "Heron", ("W",), []) > head_mm(
        "", "Heron", ("W",), []
    )
    assert head + pencil_mm(14) < HEIGHT_MM / 2
