"""Plots of rates are sound SVG, say what they show, and draw it where it belongs."""

import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import matplotlib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.offers.compare import Direction, Verdict
from sweptwater.paper import interval_plots
from sweptwater.paper.interval_plots import interval_svg
from sweptwater.paper.intervals import Interval, IntervalPlot, scale_end
from sweptwater.paper.lettering import text_width

UNTOLD = Interval(
    label="dusk", value=None, low=None, high=None, offers=0, hours=0, untold_hours=3.2
)
ROWS = (
    Interval(
        label="bright",
        value=0.2,
        low=0.08,
        high=0.38,
        offers=5,
        hours=30.2,
        untold_hours=4.1,
        verdict="leaning",
        direction="fewer",
    ),
    Interval(label="broken", value=0.4, low=0.22, high=0.8, offers=7, hours=12.4),
    Interval(
        label="dull",
        value=1.1,
        low=0.7,
        high=1.8,
        offers=14,
        hours=12.3,
        verdict="clear",
        direction="more",
    ),
    Interval(label="a blink", value=0.5, low=0.02, high=5.5, offers=0, hours=0.4),
    UNTOLD,
)
PLOT = IntervalPlot(title="By light", unit="offers an hour", rows=ROWS, mean=0.42)
SVG = "{http://www.w3.org/2000/svg}"


class Drawn:
    """A plot as a reader of XML finds it."""

    def __init__(self, plot: IntervalPlot, name: str = "plot") -> None:
        self.svg = interval_svg(plot, name=name)
        self.root = ElementTree.fromstring(self.svg)
        self.name = name

    def texts(self) -> list[str]:
        """Return all that is written, in order."""
        return [element.text or "" for element in self.root.iter(f"{SVG}text")]

    def found(self, gid: str) -> ElementTree.Element | None:
        """Return the group of an id."""
        for group in self.root.iter(f"{SVG}g"):
            if group.get("id") == f"{self.name}-{gid}":
                return group
        return None

    def dot(self, number: int) -> tuple[float, float]:
        """Return the middle of a row's dot, in pixels."""
        group = self.found(f"dot-{number}")
        assert group is not None
        use = next(group.iter(f"{SVG}use"))
        return float(use.get("x", "")), float(use.get("y", ""))

    def line(self, gid: str) -> list[float]:
        """Return how far across the ends of a line are, in pixels."""
        group = self.found(gid)
        assert group is not None
        path = next(group.iter(f"{SVG}path")).get("d", "")
        # SVG 1.1, section 8.3: M and L are followed by x and y.
        return [float(x) for x in re.findall(r"[ML] ([\d.]+) [\d.]+", path)]

    def ticks(self) -> dict[float, float]:
        """Return where each number of the scale stands, across, in pixels."""
        middle = "text-anchor: middle"
        return {
            float(text.text or ""): float(text.get("x", ""))
            for text in self.root.iter(f"{SVG}text")
            if middle in text.get("style", "")
            and re.fullmatch(r"[\d.]+", text.text or "")
        }


@pytest.fixture(scope="module")
def drawn() -> Drawn:
    return Drawn(PLOT)


def test_a_plot_says_what_it_rests_on(drawn: Drawn) -> None:
    texts = drawn.texts()
    labels = [text for text in texts if text in {row.label for row in ROWS}]
    assert labels == ["bright", "broken", "dull", "a blink", "dusk"]
    assert [text for text in texts if " in " in text and text.endswith(" h")] == [
        *("5 in 30.2 h", "7 in 12.4 h", "14 in 12.3 h", "0 in 0.4 h")
    ]
    assert [text for text in texts if text.startswith("not told")] == [
        *("not told, 4.1 h", "not told, 3.2 h")
    ]
    assert {"offers an hour", "all: 0.42", "clear", "leaning"} <= set(texts)


def test_dots_and_ranges_stand_at_their_values(drawn: Drawn) -> None:
    """By the scale that the reader sees: its numbers, taken as a straight ruler."""
    ticks = drawn.ticks()
    assert len(ticks) >= 3
    (least, left), (most, right) = min(ticks.items()), max(ticks.items())
    assert least == 0
    assert left == pytest.approx(interval_plots.LABELS_PX)

    def across(rate: float) -> float:
        return left + (right - left) * rate / most

    tops = []
    for number, row in enumerate(ROWS[:4], 1):
        assert row.value is not None
        assert row.low is not None
        x, y = drawn.dot(number)
        assert x == pytest.approx(across(row.value), abs=0.01)
        low, high = drawn.line(f"range-{number}")
        assert low == pytest.approx(across(row.low), abs=0.01)
        assert high == pytest.approx(across(min(row.high or 0, most)), abs=0.01)
        tops.append(y)
    assert all(above < below for above, below in pairwise(tops))
    assert drawn.line("mean") == [pytest.approx(across(0.42), abs=0.01)] * 2


def test_only_a_range_that_goes_beyond_the_scale_has_an_arrow(drawn: Drawn) -> None:
    assert max(drawn.ticks()) < 5.5
    there = [drawn.found(f"beyond-{number}") is not None for number in range(1, 6)]
    assert there == [False, False, False, True, False]


def test_what_nobody_told_has_no_dot(drawn: Drawn) -> None:
    assert drawn.found("dot-5") is None
    assert drawn.found("range-5") is None


def shape(verdict: Verdict, direction: Direction) -> tuple[tuple[str, ...], ...]:
    """Return the outlines of a dot and whether each is filled with its own colour."""
    row = replace(ROWS[1], verdict=verdict, direction=direction)
    drawn = Drawn(replace(PLOT, rows=(row,)))
    group = drawn.found("dot-1")
    assert group is not None
    paths = [path.get("d", "") for path in group.iter(f"{SVG}path")]
    uses = [use.get("style", "") for use in group.iter(f"{SVG}use")]
    white = ["fill: #ffffff" in use for use in uses]
    return tuple(paths[-len(uses) :]), tuple(map(str, white))


def test_verdicts_can_be_told_without_colour() -> None:
    """By outline and filling: as in a grey print."""
    ways: list[tuple[Verdict, Direction]] = [
        ("clear", "more"),
        ("leaning", "more"),
        ("too little to tell", ""),
    ]
    shapes = [shape(*way) for way in ways]
    assert len(set(shapes)) == 3
    full, half, empty = (white for _, white in shapes)
    assert (full, half, empty) == (("False",), ("False", "True"), ("True",))


def test_it_is_an_image_with_all_in_words(drawn: Drawn) -> None:
    """WAI-ARIA 1.2 (img) and SVG 1.1, section 5.4: a title and a description."""
    assert drawn.root.get("role") == "img"
    title, told = drawn.root.find(f"{SVG}title"), drawn.root.find(f"{SVG}desc")
    assert title is not None
    assert told is not None
    assert title.text == "By light"
    assert (drawn.root.get("aria-labelledby") or "").split() == [
        title.get("id"),
        told.get("id"),
    ]
    words = told.text or ""
    assert "dull: 1.1, 0.70 to 1.8, 14 in 12.3 h, clear: more" in words
    assert "dusk: not told, 3.2 h" in words


def test_ids_are_of_one_plot_only() -> None:
    ids = [
        re.findall(r'\bid="([^"]+)"', interval_svg(PLOT, name=name))
        for name in ("light", "wind")
    ]
    for each in ids:
        assert len(each) == len(set(each)) > 20
    assert not set(ids[0]) & set(ids[1])
    svg = interval_svg(PLOT, name="light")
    used = set(re.findall(r'(?:href="#|url\(#)([^")]+)', svg))
    assert used <= set(ids[0])


def test_nothing_in_it_reaches_out(drawn: Drawn) -> None:
    """No style sheet, script or link: it would be of the whole page, or be refused."""
    names = {element.tag.removeprefix(SVG) for element in drawn.root.iter()}
    drawing = {"g", "path", "use", "text", "defs", "clipPath", "rect"}
    assert names <= {"svg", "title", "desc", *drawing}
    assert "http" not in drawn.svg.replace("http://www.w3.org/2000/svg", "")
    assert "DejaVu" not in drawn.svg
    assert not re.search(r"\bon\w+=", drawn.svg)


def test_the_same_plot_is_the_same_text(drawn: Drawn) -> None:
    """Whatever else draws with the library, and however it is set."""
    before = dict(matplotlib.rcParams)
    with matplotlib.rc_context({"font.size": 30, "axes.facecolor": "red"}):
        assert interval_svg(PLOT, name="plot") == drawn.svg
    assert dict(matplotlib.rcParams) == before


@pytest.mark.parametrize("label", ["<b>&amp;", "$x^2$ $", "a\x00\ud800b", "'\"{{x}}"])
def test_labels_are_only_words(label: str) -> None:
    drawn = Drawn(replace(PLOT, rows=(replace(ROWS[0], label=label),)))
    told = "".join(drawn.texts())
    assert label.replace("\x00", "\ufffd").replace("\ud800", "\ufffd") in told


@pytest.mark.parametrize("count", [1, 14])
def test_it_grows_with_its_rows(count: int) -> None:
    rows = tuple(replace(ROWS[1], label=f"row {n}") for n in range(count))
    drawn = Drawn(replace(PLOT, rows=rows))
    height = float(drawn.root.get("height", ""))
    assert height == interval_plots.HEAD_PX + interval_plots.FOOT_PX + 42 * count
    _, last = drawn.dot(count)
    assert last < height - interval_plots.FOOT_PX


def test_a_plot_without_rows_is_refused() -> None:
    with pytest.raises(ValueError, match="'By light' has no rows"):
        interval_svg(replace(PLOT, rows=()), name="plot")


@given(st.text(min_size=1, max_size=80))
def test_long_labels_stay_in_their_column(label: str) -> None:
    lines = interval_plots._label_lines(label)
    assert 1 <= len(lines) <= interval_plots.MOST_LINES
    for line in lines:
        wide = text_width(line, interval_plots.LABEL_SIZE)
        assert wide <= interval_plots.LABELS_PX - 8 or len(line) == 1


rates = st.floats(0, 50)


@given(st.lists(st.tuples(rates, rates, rates), min_size=1, max_size=6), rates)
def test_a_scale_holds_all_rates_in_few_round_steps(
    told: list[tuple[float, float, float]], mean: float
) -> None:
    rows = [
        replace(ROWS[1], low=low, value=value, high=high)
        for low, value, high in map(sorted, told)
    ]
    end = scale_end(rows, mean)
    highest = max(mean, *(row.value or 0 for row in rows))
    assert end >= highest
    if highest > 0.01:
        assert end <= 2.5 * highest
    clear = [replace(row, direction="more") for row in rows]
    assert scale_end(clear, mean) >= max(row.high or 0 for row in clear)
