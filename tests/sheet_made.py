"""Boat sheets for Ashlode Water, made up: a pair's drifts in a south-west wind."""

import json
from functools import cache
from importlib.resources import files
from itertools import pairwise

import shapely
import shapely.ops
from shapely import LineString, Point, affinity
from shapely.geometry.base import BaseGeometry

from sweptwater.frame import Frame
from sweptwater.paper import looks
from sweptwater.paper.layers import Feature, Layer, Page
from sweptwater.paper.sheet import DriftRow, Sheet, TurnRow
from sweptwater.units import YARD_M

FRAME = Frame(lon=2.30, lat=54.85)
APART_M = 30 * YARD_M


@cache
def shapes(name: str) -> tuple[tuple[str, BaseGeometry], ...]:
    """Return the names and shapes, in metres, of a file of the demo's water."""
    file = files("sweptwater_data") / "ashlode" / f"{name}.geojson"
    items = json.loads(file.read_text(encoding="utf-8"))["features"]
    return tuple(
        (
            str(item["properties"].get("name", "")),
            FRAME.metres(shapely.from_geojson(json.dumps(item["geometry"]))),
        )
        for item in items
    )


@cache
def sector() -> BaseGeometry:
    """Return the western arm of the water, less what is out of bounds."""
    water = shapely.union_all([shape for _, shape in shapes("outline")])
    closed = shapely.union_all([shape for _, shape in shapes("out-of-bounds")])
    west, south, _, north = water.bounds
    return (water - closed) & shapely.box(west, south, -560, north)


def lines(drifts: int) -> list[LineString]:
    """Return drifts side by side down a wind from the south-west, in metres."""
    middle = Point(-1100, -180)
    room = sector().buffer(-30) & middle.buffer(700)
    found: list[LineString] = []
    step = 0
    while len(found) < drifts:
        off = (step + 1) // 2 * (1 if step % 2 else -1) * APART_M
        bare = LineString([(-3000, off), (3000, off)])
        line = affinity.rotate(
            affinity.translate(bare, middle.x, middle.y), 45, origin=middle
        )
        parts = shapely.get_parts(line & room)
        longest = max(parts, key=shapely.length, default=LineString())
        if longest.length > 40:
            found.append(LineString(shapely.ops.substring(longest, 0, 500).coords))
        step = step + 1 if abs(off) < 700 else 0
    return found


def sample_sheet(
    *, drifts: int = 24, back: bool = True, places: tuple[str, ...] = (), **more: object
) -> Sheet:
    """Return a pair's sheet with so many drifts."""
    names = places or ("off the Willows", "Boathouse Point", "Sheepfold Bay", "the dam")
    paths = lines(drifts)
    filled: dict[str, object] = {
        "pair": "Heron",
        "day_text": "Wednesday 9 June 2027",
        "water": "Ashlode Water",
        "sector": "the west arm",
        "wind": "SW 4 (15 mph), gusts 24 mph",
        "wind_to_deg": 45.0,
        "hours": "Leave 09:00, home by 17:00",
        "possible": f"{drifts} drifts, 38 acres, 9 % of the sector; 5 h 20 of fishing.",
        "map": _map(paths),
        "around": FRAME.degrees(shapely.union_all(paths).buffer(120)),
        "drifts": tuple(
            DriftRow(
                number=str(number),
                start=names[number % len(names)],
                finish=names[(number + 1) % len(names)],
                bearing="045 NE",
                length=f"{path.length / YARD_M:,.0f}",
                drogue_in=f"{path.length / 20:.0f}",
                drogue_out=f"{path.length / 33:.0f}",
                begins=f"{9 + number // 4:02d}:{number % 4 * 15:02d}",
            )
            for number, path in enumerate(paths, 1)
        ),
        "closed": (
            "the reserve north of the buoys at North Feeder",
            "170 yd off the dam and the valve tower",
        ),
        "sun": (
            "at 09:00 ESE, 40 deg up",
            "at 13:00 S, 58 deg up",
            "at 17:00 W, 37 deg up",
            "sunset 21:24",
        ),
        "home": "Turn for home by 16:31: 19 min from the far end, 10 spare.",
        "ring": "the lodge, 01632 960000",
        "cautions": (
            "Gusts of 24 mph raise short, steep waves off the dam.",
            "With this wind the far shore is a lee shore: start the engine early.",
        ),
    }
    if back:
        filled["turns"] = tuple(
            TurnRow(
                wind=wind,
                banks="1, 2 (The Willows), 5, 6, 7 (Sheepfold Bay), 11",
                longest=f"{400 + 90 * at}",
                minutes=f"{20 + 4 * at}",
                home=f"{11 + at} min",
            )
            for at, wind in enumerate(("N", "NE", "E", "SE", "S", "SW", "W", "NW"))
        )
        filled["left_out"] = (
            "bank 9, a ladder of 12 drifts, 1 h 40",
            "open water off Little Holm, 3 drifts, 1 h 05",
            "bank 10, along the shore, 2 drifts, 50 min",
        )
    return Sheet(**{**filled, **more})  # type: ignore[arg-type]


def _map(paths: list[LineString]) -> Page:
    water, closed = shapes("outline"), shapes("out-of-bounds")
    ways = [
        LineString([one.coords[-1], other.coords[0]]) for one, other in pairwise(paths)
    ]
    strip = sector().boundary.buffer(25) & sector() & Point(-1500, -60).buffer(250)
    layers = [
        Layer("water", "Water", _all(water), looks.WATER, in_legend=False),
        Layer("anglers", "Bank anglers", _all([("", strip)]), looks.ANGLERS),
        Layer("closed", "Out of bounds", _all(closed), looks.OUT_OF_BOUNDS),
        Layer("sector", "Your sector", _all([("", sector().boundary)]), looks.SECTOR),
        Layer(
            "ways", "Way back, lines in", _all([("", w) for w in ways]), looks.UNDER_WAY
        ),
        Layer(
            "planned",
            "Drift, from dot to arrow",
            _all([(str(n), path) for n, path in enumerate(paths, 1)]),
            looks.PLANNED,
            labels="numbers",
        ),
        Layer("jetty", "Jetty", _all(shapes("jetty")), looks.JETTY, labels="names"),
        Layer("marks", "Mark", _all(shapes("mark")), looks.MARK, labels="names"),
    ]
    return Page(
        title="Heron's drifts on 9 June",
        lead="Drifts down the wind, numbered as in the table.",
        date_line="",
        units="imperial",
        layers=tuple(layers),
    )


def _all(named: object) -> tuple[Feature, ...]:
    return tuple(
        Feature(FRAME.degrees(shape), label=name)
        for name, shape in named  # type: ignore[attr-defined]
    )
