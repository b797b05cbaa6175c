"""A practice on the evening before a match: three pairs met fish at four places.

The water is a rectangle of 4,000 by 1,200 m. The best place is 1.9 miles downwind of
the jetty in a west wind, by the south bank, and buoys lie across the water beyond it.
"""

from pathlib import Path

from shapely import Point, box

from practices_made import FRAME, boat, done, geojson, write
from sweptwater.units import MILE_M, YARD_M
from tracks_made import Leg

WATER = box(-2000, -600, 2000, 600)
JETTY = Point(-1990, -560)
BEST = (-1990 + 1.9 * MILE_M, -560.0)
BUOYS_M = 1320.0
BUOYS = box(BUOYS_M, -600, 2000, 600)
MARGIN_M = 10 * YARD_M
MATCH_DAY, DAYS = "2027-06-12", ("2027-06-10", "2027-06-11")
WIND = ("--day", MATCH_DAY, "--wind", "W14mph", "--gust", "24mph")

FINDS = {
    # Who met what where on which day: follows, pulls, lost, boated, by each rod.
    ("Heron", 0): (BEST, (("1", "1,2,0,1"), ("2", "0,2,0,1"))),
    ("Heron", 1): (BEST, (("1", "0,1,0,1"), ("2", "1,1,0,0"))),
    ("Grebe", 0): ((-500.0, 550.0), (("3", "0,2,0,1"), ("4", "0,1,0,0"))),
    ("Grebe", 1): ((-500.0, 550.0), (("3", "0,1,0,0"), ("4", "0,0,0,1"))),
    ("Teal", 0): ((-1000.0, -555.0), (("5", "0,1,0,1"), ("6", "1,0,0,0"))),
    ("Teal", 1): ((700.0, 555.0), (("5", "0,1,0,0"), ("6", "0,1,0,1"))),
}


def _track(place: tuple[float, float], day: str) -> bytes:
    """Return a drift of 400 m east, its middle at a place, and the way back."""
    start = (place[0] - 200, place[1])
    side = 180 if place[1] > 0 else 0
    back = (
        Leg(100, 2, side, fishing=False),
        Leg(300, 2, 270, fishing=False),
    )
    return boat(Leg(1000, 0.4, 90), *back, start=start, begin=f"{day}T10:00:00+01:00")


def _tally() -> str:
    lines = ["day,pair,drift,rod,told,follow,pull,lost,boated,line,count_s,lat,lon"]
    for (pair, day), (place, rods) in FINDS.items():
        lon, lat = (float(v) for v in FRAME.to_degrees(*place))
        lines += [
            f"{DAYS[day]},{pair},1,{rod},tallied,{met},3 in/s,12,{lat:.7f},{lon:.7f}"
            for rod, met in rods
        ]
    return "\n".join(lines) + "\n"


def match_practice(scratch: Path) -> Path:
    """Build the practice, with a captain's commands, and return its folder."""
    folder = scratch / "long"
    outline = geojson(scratch / "outline.geojson", WATER, names=["Long Pool"])
    words = ("--pairs", "Heron,Grebe,Teal", "--zone", "Europe/London")
    done(None, "start", folder, "--venue", outline, *words)
    for kind, shape, name in (
        ("out-of-bounds", BUOYS, "Buoys"),
        ("jetty", JETTY, "Jetty"),
    ):
        file = geojson(scratch / f"{kind}.geojson", shape, names=[name])
        done(folder, "venue", "add", "--kind", kind, file)
    settings = folder / "practice.toml"
    text = settings.read_text(encoding="utf-8")
    for pair, rods in (("Heron", "12"), ("Grebe", "34"), ("Teal", "56")):
        line = f'# {pair} = ["{rods[0]}", "{rods[1]}"]'
        assert line in text
        text = text.replace(line, line.removeprefix("# "), 1)
    settings.write_text(text, encoding="utf-8")
    done(folder, "divide")
    for (pair, number), (place, _) in FINDS.items():
        day = DAYS[number]
        file = write(scratch / f"{pair}-{day}.gpx", _track(place, day))
        done(folder, "upload", "--pair", pair, file)
    for day in DAYS:
        done(folder, "note", "sky", "bright", "--day", day, "--at", "09:00")
        done(folder, "note", "wind", "W14mph", "--day", day, "--at", "09:00")
    done(folder, "tally", write(scratch / "tally.csv", _tally()))
    return folder
