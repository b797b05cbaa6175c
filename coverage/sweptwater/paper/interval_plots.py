"""Drawing plots of rates: each an SVG element for a page of HTML, by matplotlib."""

import re
from collections.abc import Sequence
from math import floor
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from markupsafe import Markup

from sweptwater.offers.compare import Verdict
from sweptwater.paper.furniture import MUTED
from sweptwater.paper.intervals import (
    LEAST_H,
    Interval,
    IntervalPlot,
    counts_text,
    rate_text,
    round_step,
    scale_end,
    told_of,
    untold_text,
)
from sweptwater.paper.lettering import SANS, clean, shortened, wrapped
from sweptwater.paper.looks import FEWER_INK, INK, MORE_INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDTH_PX = 400.0
LABELS_PX = 150.0
"""Of the column of labels."""

PAD_PX, ROW_PX, LABEL_LINE_PX, HEAD_PX, FOOT_PX = 10.0, 42.0, 17.0, 24.0, 62.0
LABEL_SIZE, SMALL_SIZE, KEY_SIZE = 14.0, 12.5, 12.0
MOST_LINES = 2
"""A label takes so many lines at most."""

DOT_PX: dict[Verdict, float] = {
    "clear": 11.0,
    "leaning": 10.0,
    "too little to tell": 6.5,
}
LINE_PX: dict[Verdict, float] = {
    "clear": 3.0,
    "leaning": 2.0,
    "too little to tell": 1.1,
}
KEY: dict[Verdict, float] = {"clear": 66, "leaning": 82, "too little to tell": 120}
"""How wide each word of the key is, with its dot."""


def interval_svg(plot: IntervalPlot, *, name: str) -> Markup:
    """Return a plot as an SVG element for a page of HTML, told in words too.

    The same plot is always the same text; letters are text in the page's own fonts.

    Parameters
    ----------
    name
        Begins the ids, which are to be the only ones of a page: letters, digits and
        hyphens.

    Raises
    ------
    ValueError
        If there are no rows.

    Examples
    --------
    >>> from sweptwater.paper.intervals import Interval, IntervalPlot
    >>> row = Interval(label="dull", value=1.1, low=0.7, high=1.8, offers=14, hours=12)
    >>> plot = IntervalPlot(title="By light", unit="offers a rod-hour", rows=(row,))
    >>> svg = interval_svg(plot, name="light")
    >>> "14 in 12 h" in svg, svg == interval_svg(plot, name="light")
    (True, True)
    """
    if not plot.rows:
        raise ValueError(f"the plot {plot.title!r} has no rows")
    tops, height = _tops(plot.rows)
    svg = _with_matplotlib(plot, tops, height, name)
    return _element(svg, plot, height, name)


def _tops(rows: Sequence[Interval]) -> tuple[list[float], float]:
    """Return where each row begins, and the height of all, in pixels from the top."""
    tops, y = [], HEAD_PX
    for row in rows:
        tops.append(y)
        y += ROW_PX + LABEL_LINE_PX * (len(_label_lines(row.label)) - 1)
    return tops, y + FOOT_PX


def _label_lines(label: str) -> list[str]:
    most = LABELS_PX - 8
    lines = wrapped(clean(label), LABEL_SIZE, most=most, bold=True) or ["\u2013"]
    if len(lines) > MOST_LINES:
        rest = " ".join(lines[MOST_LINES - 1 :])
        lines = [*lines[: MOST_LINES - 1], shortened(rest, LABEL_SIZE, most=most)]
    return lines


def _with_matplotlib(
    plot: IntervalPlot, tops: Sequence[float], height: float, name: str
) -> str:
    """Return the drawing as matplotlib writes it, whatever its settings and the day."""
    from io import StringIO

    import matplotlib.style
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    own = {"svg.fonttype": "none", "svg.hashsalt": name, "text.parse_math": False}
    with matplotlib.style.context(["default", own]):
        figure = Figure(figsize=(WIDTH_PX / 72, height / 72), dpi=72, frameon=False)
        FigureCanvasSVG(figure)
        left, right = LABELS_PX, WIDTH_PX - 2 * PAD_PX
        axes = figure.add_axes(
            (
                left / WIDTH_PX,
                FOOT_PX / height,
                (right - left) / WIDTH_PX,
                1 - (FOOT_PX + HEAD_PX) / height,
            )
        )
        # The rates across; pixels from the top of the drawing up and down.
        end = plot.most or scale_end(plot.rows, plot.mean)
        axes.set_xlim(0, end)
        axes.set_ylim(height - FOOT_PX, HEAD_PX)
        _draw_scale(axes, plot, end, height)
        for number, (row, top) in enumerate(zip(plot.rows, tops, strict=True), 1):
            _draw_row(axes, row, top, end, number)
        _draw_key(axes, height)
        told = StringIO()
        figure.savefig(told, format="svg", metadata={"Date": None})
    return told.getvalue()


def _draw_scale(axes: "Axes", plot: IntervalPlot, end: float, height: float) -> None:
    """Draw the axis with its unit, and the line of the mean."""
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(MUTED)
    axes.set_yticks([])
    step = round_step(end)
    ticks = [round(step * number, 9) for number in range(floor(end / step + 1e-9) + 1)]
    axes.set_xticks(ticks, [""] * len(ticks))
    axes.tick_params(axis="x", length=4, color=MUTED)
    axes.grid(visible=True, axis="x", color="#e3e0d8", linewidth=0.8)
    axes.set_axisbelow(True)
    for tick in ticks:
        _write(axes, f"{tick:g}", tick, height - FOOT_PX + 17, anchor="center")
    _write(axes, plot.unit, end, height - FOOT_PX + 34, anchor="right", size=SMALL_SIZE)
    _write(axes, "offers in rod-hours", None, HEAD_PX - 7, size=KEY_SIZE)
    if plot.mean is not None and plot.mean <= end:
        axes.axvline(plot.mean, color=INK, linewidth=1, dashes=(4, 2), gid="mean")
        right = plot.mean > 0.6 * end
        _write(
            axes,
            f"all: {rate_text(plot.mean)}",
            plot.mean,
            HEAD_PX - 7,
            anchor="right" if right else "left" if plot.mean < 0.2 * end else "center",
        )


def _draw_row(axes: "Axes", row: Interval, top: float, end: float, number: int) -> None:
    y = top + 15
    for line in _label_lines(row.label):
        _write(axes, line, None, y, size=LABEL_SIZE, colour=INK, bold=True)
        y += LABEL_LINE_PX
    middle = top + 10.5
    if row.value is None or row.low is None or row.high is None:
        _write(axes, "nothing told" if row.untold_hours else "not fished", None, y)
        if row.untold_hours:
            _write(axes, untold_text(row), 0, middle + 5, shift=6, ground=True)
        return
    _write(axes, counts_text(row), None, y, colour=INK)
    if row.untold_hours >= LEAST_H:
        _write(axes, untold_text(row), end, y, anchor="right", ground=True)
    colour = {"more": MORE_INK, "fewer": FEWER_INK, "": MUTED}[row.direction]
    axes.plot(
        [min(row.low, end), min(row.high, end)],
        [middle, middle],
        color=colour,
        linewidth=LINE_PX[row.verdict],
        solid_capstyle="butt",
        clip_on=False,
        gid=f"range-{number}",
    )
    if row.high > end:
        axes.plot(
            [end],
            [middle],
            marker=">",
            markersize=9,
            color=colour,
            clip_on=False,
            gid=f"beyond-{number}",
        )
    if row.value <= end:
        _draw_dot(axes, row.value, middle, row.verdict, colour, f"dot-{number}")


def _draw_dot(
    axes: "Axes",
    x: float,
    y: float,
    verdict: Verdict,
    colour: str,
    gid: str,
    **more: Any,
) -> None:
    """Draw a dot: full if clear, half full if leaning, small and open if neither."""
    axes.plot(
        [x],
        [y],
        marker="o",
        markersize=DOT_PX[verdict],
        fillstyle={"clear": "full", "leaning": "left"}.get(verdict, "full"),
        markerfacecolor="#ffffff" if verdict == "too little to tell" else colour,
        markerfacecoloralt="#ffffff",
        markeredgecolor=colour,
        markeredgewidth=1.6,
        linestyle="none",
        clip_on=False,
        gid=gid,
        **more,
    )


def _draw_key(axes: "Axes", height: float) -> None:
    """Draw what the dots mean, along the bottom."""
    y, x = height - 9, PAD_PX
    across = axes.get_yaxis_transform()  # by the axis across, by pixels up and down
    whole = WIDTH_PX * float(axes.get_position().width)
    for number, (verdict, wide) in enumerate(KEY.items()):
        at = (x - LABELS_PX) / whole
        _draw_dot(axes, at, y - 4, verdict, INK, f"key-{number}", transform=across)
        _write(axes, verdict, None, y, shift=x + 11, size=KEY_SIZE)
        x += wide


def _write(
    axes: "Axes",
    text: str,
    x: float | None,
    y: float,
    *,
    anchor: str = "left",
    size: float = SMALL_SIZE,
    colour: str = MUTED,
    bold: bool = False,
    shift: float = 0.0,
    ground: bool = False,
) -> None:
    """Write a line at a rate, or in the column of labels; y in pixels from the top."""
    from matplotlib.transforms import ScaledTranslation

    where = axes.transData if x is not None else axes.get_yaxis_transform()
    if x is None:
        shift -= LABELS_PX
    axes.text(
        x or 0.0,
        y,
        clean(text),
        transform=where + ScaledTranslation(shift / 72, 0, axes.figure.dpi_scale_trans),
        ha=anchor,
        va="baseline",
        fontsize=size,
        color=colour,
        fontweight="bold" if bold else "normal",
        clip_on=False,
        bbox={"facecolor": "#ffffff", "edgecolor": "none", "pad": 1}
        if ground
        else None,
    )


def _element(svg: str, plot: IntervalPlot, height: float, name: str) -> Markup:
    """Return what matplotlib wrote as one element of a page, with its words.

    Its style sheet, which would reach all of the page, goes; so do its fonts; its ids
    begin with the name.
    """
    root = ElementTree.fromstring(svg)
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag.rpartition("}")[2] in ("metadata", "style"):
                parent.remove(child)
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
        for key, value in list(element.attrib.items()):
            del element.attrib[key]
            element.set(key.rpartition("}")[2], _renamed(key, value, name))
    drawn = Markup("").join(
        Markup(ElementTree.tostring(child, encoding="unicode")) for child in root
    )
    told = "; ".join(told_of(row) for row in plot.rows)
    mean = "" if plot.mean is None else f"All together: {rate_text(plot.mean)}. "
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" class="intervals" width="{w:g}" '
        'height="{h:g}" viewBox="0 0 {w:g} {h:g}" role="img" '
        'aria-labelledby="{name}-title {name}-told" font-family="{family}" '
        'stroke-linejoin="round"><title id="{name}-title">{title}</title>'
        '<desc id="{name}-told">{told}</desc>{drawn}</svg>'
    ).format(
        w=WIDTH_PX,
        h=round(height, 1),
        name=name,
        family=SANS,
        title=clean(plot.title),
        told=clean(f"{plot.unit}. {mean}{told}."),
        drawn=drawn,
    )


_REFERENCE = re.compile(r"url\(#([^)]+)\)")


def _renamed(key: str, value: str, name: str) -> str:
    """Return an attribute with ids and what refers to them begun with a name."""
    short = key.rpartition("}")[2]
    if short == "id":
        return f"{name}-{value}"
    if short == "href" and value.startswith("#"):
        return f"#{name}-{value[1:]}"
    if short == "style":
        value = re.sub(r"font-family:[^;]*;?\s*", "", value)
    return _REFERENCE.sub(rf"url(#{name}-\1)", value)
