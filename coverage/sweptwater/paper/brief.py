"""The match brief: what a team reads on the eve, and a card for each of its rods."""

from dataclasses import dataclass

from markupsafe import Markup
from shapely.geometry.base import BaseGeometry

from sweptwater.paper.chart import looks_of
from sweptwater.paper.drawing import TALLEST, map_svg
from sweptwater.paper.framing import chart_of, layers_seen
from sweptwater.paper.furniture import layer_swatch
from sweptwater.paper.layers import Page, Table
from sweptwater.paper.looks import svg_definitions
from sweptwater.paper.templating import source, template

PAPER_PX = 716, 440
"""The map on paper is at most so wide and high: A4 less 10 mm on each side, and less
than half of its height."""

PHONE_PX = 358
"""The width of a phone less its margins."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place on the brief's table of rods; all texts are ready to print.

    Parameters
    ----------
    name, why
        Where, and why there.
    sun, cloud
        The line with its count, and how deep that is; the same if it does not matter.
    drift
        The longest one that the rules allow, and what it ends before.
    leave
        The clock time to leave it by: "17:21".
    """

    name: str
    why: str
    sun: str
    cloud: str
    drift: str
    leave: str


@dataclass(frozen=True, slots=True)
class Rod:
    """Where one rod starts, and where it goes next.

    Parameters
    ----------
    key, link
        The id of its rows; and that to which its number on the map leads, which is
        another rod's if both start at one place.
    name
        "1", or "Heron bow".
    risk
        How likely it goes without an offer: "8 in 100".
    bold
        Whether less is known of its start, and more may be there.
    """

    key: str
    link: str
    name: str
    risk: str
    bold: bool
    start: Place
    then: Place | None


@dataclass(frozen=True, slots=True)
class RodCard:
    """What one rod learns by heart: a word each, with what it stands for."""

    rod: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief:
    """A match brief. All texts are ready to print, none is markup.

    Parameters
    ----------
    title, day_text
        "Ashlode Water: match brief", "Saturday 12 June 2027".
    first
        What comes before all else, such as what gusts ask for.
    stay_ashore
        Whether that says that nobody should go out: it then stands large.
    conditions, times, rules
        Of the day and the match, in the order in which they matter.
    rods, lead
        Who starts where; and what that risks, in a sentence or two.
    triggers
        When something is so, and what to do.
    turns
        What can be drifted when the wind turns.
    known, places
        What the practice taught, in sentences and place by place.
    unknown, closed, cautions
        What nobody knows, what is out of bounds, and how to stay safe.
    cards
        One a rod.
    on_card
        What stands at the foot of each card.
    map
        Its layers in degrees; numbers lead to the rods' rows by their links.
    wind_to_deg
        Where the wind blows to, clockwise from north; None if there is none.
    around
        What the map has to show, in degrees; all areas if None.
    """

    title: str
    day_text: str
    first: str
    stay_ashore: bool
    conditions: tuple[str, ...]
    times: tuple[str, ...]
    rules: tuple[str, ...]
    rods: tuple[Rod, ...]
    lead: str
    triggers: tuple[tuple[str, str], ...]
    turns: Table | None
    known: tuple[str, ...]
    places: Table | None
    unknown: tuple[str, ...]
    closed: tuple[str, ...]
    cautions: tuple[str, ...]
    cards: tuple[RodCard, ...]
    on_card: str
    map: Page
    wind_to_deg: float | None = None
    around: BaseGeometry | None = None


def render_brief(brief: Brief) -> str:
    """Return a brief as one HTML file that needs no script and no network.

    It prints on A4, the cards on a side of their own, to be cut apart. On a narrow
    screen it is one column. Every text is escaped; the same brief is always the same
    text.
    """
    chart = chart_of(brief.map, around=brief.around)
    legend = [layer for layer in chart.layers if layer.in_legend] if chart else []
    width_px, height_px = PAPER_PX
    html = template("brief.html").render(
        brief=brief,
        definitions=svg_definitions(looks_of(chart.layers if chart else ())),
        paper_map=_map(brief, "paper", width_px, height_px),
        phone_map=_map(brief, "phone", PHONE_PX, None),
        legend=layers_seen(chart, legend, width_px, height_px),
        phone_legend=layers_seen(chart, legend, PHONE_PX, PHONE_PX * TALLEST),
        swatch=layer_swatch,
        css=source("fonts.css") + source("brief.css"),
    )
    return html.encode("utf-8", "replace").decode("utf-8")  # lone surrogates


def _map(brief: Brief, name: str, width_px: int, height_px: int | None) -> Markup:
    return Markup(
        map_svg(
            brief.map,
            width_px=width_px,
            height_px=height_px,
            name=f"{name}-map",
            around=brief.around,
            wind_to_deg=brief.wind_to_deg,
        )
    )
