"""The page of where to go next: what to do, a map of where fish may be, and why."""

from collections.abc import Iterator

from shapely import Point

from sweptwater.jobs.coverage_words import SAFETY
from sweptwater.jobs.discreet import near_water
from sweptwater.jobs.map_layers import (
    feature,
    places_layer,
    sectors_layer,
    water_layer,
    zones_layers,
)
from sweptwater.jobs.next import NextSight
from sweptwater.jobs.next_tables import next_tables
from sweptwater.jobs.next_words import (
    chances_text,
    even_if_more,
    hours_cell,
    order_texts,
    page_notes,
    title_text,
    way_text,
)
from sweptwater.jobs.saved import Saved, save
from sweptwater.jobs.wording import and_text, counted, day_text
from sweptwater.paper import looks
from sweptwater.paper.layers import Feature, Finding, Layer, Page
from sweptwater.search.areas import by_likelihood
from sweptwater.units import share_text

PAGE = "next"

DOUBT = (
    "Nobody knows where fish are. This says where hours are best spent by what was "
    "searched and met so far. What you know of this water counts as well: write it "
    "below [hopes] in practice.toml, and ask again."
)

LIKELY = (
    "Fish not met yet: least likely",
    "Less likely than in the mean",
    "Likelier than in the mean",
    "Over twice as likely",
)


def save_page(sight: NextSight) -> Saved:
    """Write the page of where to go next, and return where it is.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    return save(sight.opened.practice.folder, PAGE, page_of(sight))


def page_of(sight: NextSight) -> Page:
    """Return what the page of where to go next shows."""
    report, units = sight.report, sight.opened.settings.units
    days = sorted({boat.day for boat in sight.searching.boats})
    fished = and_text([day_text(day) for day in days]) if days else "no day yet"
    return Page(
        title=f"{report.practice}: where to go next",
        lead=chances_text(report),
        date_line=f"{title_text(report, units)}. From what was fished on {fished}.",
        units=units,
        missing=report.remarks,
        facts=tuple(_facts(sight)),
        findings=tuple(_findings(sight)),
        layers=tuple(_layers(sight)),
        tables=tuple(next_tables(sight)),
        cautions=(DOUBT, SAFETY),
        notes=page_notes(sight.searching),
    )


def _facts(sight: NextSight) -> Iterator[tuple[str, str]]:
    report = sight.report
    yield share_text(report.chance_now), "of shoals anywhere would have shown by now"
    yield share_text(report.chance_after), "by the end of that day"
    if even_h := even_if_more(report):
        yield f"{even_h:.0f} h", "spread evenly would do as much"
    yield f"{len(report.finds)}", "finds" if len(report.finds) != 1 else "find"


def _findings(sight: NextSight) -> Iterator[Finding]:
    """Yield the orders of each pair, then what offers have taught."""
    report = sight.report
    for pair in report.pairs:
        mine = [row for row in report.rows if row.pair == pair.pair]
        spent = [
            f"{hours_cell(pair.search_hours)} searching",
            *(
                [f"{hours_cell(pair.confirm_hours)} trying finds again"]
                if pair.confirm_hours
                else []
            ),
            f"{hours_cell(pair.motoring_hours)} motoring from water to water",
            f"{hours_cell(pair.idle_hours)} for lunch and in hand",
        ]
        where = f", sector {and_text(pair.sectors)}" if pair.sectors else ""
        yield Finding(
            f"{pair.pair}{where}",
            tuple(order_texts(mine)) or ("Nothing: the hours do not reach any water.",),
            note=f"{hours_cell(pair.hours)} afloat: {', '.join(spent)}.",
        )
    if report.lessons:
        yield Finding("What the offers say of such water", report.lessons)


def _layers(sight: NextSight) -> Iterator[Layer]:
    opened, searching = sight.opened, sight.searching
    yield water_layer(opened)
    likely = searching.belief.unfound.sum(axis=1)
    areas = by_likelihood(searching.squares, likely, opened.venue.fishable)
    for number, (area, title) in enumerate(zip(areas, LIKELY, strict=True)):
        drawn = () if area.is_empty else (feature(opened, area, tip=title),)
        yield Layer(f"likely-{number}", title, drawn, looks.LIKELY[number])
    yield from zones_layers(opened)
    yield sectors_layer(opened, sight.report.day)
    yield Layer(
        "go-to", "Go there", tuple(_water_to_go(sight)), looks.GO_TO, labels="numbers"
    )
    yield places_layer(opened, "jetty", "Jetties", looks.JETTY)
    yield places_layer(opened, "mark", "Marks", looks.MARK)
    yield _finds_layer(sight)


def _water_to_go(sight: NextSight) -> Iterator[Feature]:
    """Yield the water of each order, numbered as in the table."""
    for number, (row, patch) in enumerate(
        zip(sight.report.rows, sight.patches, strict=True), 1
    ):
        if row.what != "search":
            continue
        told = f"{row.pair}: {hours_cell(row.hours)}, {row.layer}, {way_text(row)}"
        yield feature(
            sight.opened,
            sight.water_of(patch),
            label=str(number),
            tip=f"{number}: {row.place}\n{told}\n{row.why}",
            key=f"order-{number}",
        )


def _finds_layer(sight: NextSight) -> Layer:
    opened = sight.opened
    near = near_water(opened)
    drawn = []
    for line in sight.report.finds:
        find, at = line.find, Point(line.find.easting, line.find.northing)
        if not near.covers(at):
            continue
        told = f"{counted(find.offers, 'offer')} in {find.rod_hours:.1f} rod-hours"
        drawn.append(
            feature(
                opened,
                at,
                label=f"F{find.number}",
                tip=f"Find {find.number}, {line.place}\n{told}\n"
                f"{' and '.join(find.states)}: {line.advice}",
                key=f"find-{find.number}",
                look=looks.FIND if find.good else looks.FIND_IN_DOUBT,
            )
        )
    return Layer(
        "finds",
        "Finds",
        tuple(drawn),
        looks.FIND_IN_DOUBT,
        labels="numbers",
        note="filled: trusted and fresh",
    )
