"""A day of two pairs, before anybody told what was met: for the tests of the tally.

Heron has a full track with lunch ashore in it; Grebe's phone died at 12:10.
"""

import csv
import io
import shutil
from pathlib import Path
from typing import Any

from shapely import Point

from memory_made import with_marks
from practices_made import boat, done, geojson, report, write
from tracks_made import Leg

SHORT = Leg(500, 0.4, 90)
UP = (Leg(30, 2, 0, fishing=False), Leg(100, 2, 270, fishing=False))
"""Motoring 60 m north and 200 m west, for the next drift beside the last one."""

ASHORE = Leg(2400, 0.0, 0, fishing=False)
TOWER = (-450.0, 40.0)
LOOSE = ("--near", "tower", "--when", "before lunch", "--note", "on the hang")


def lunch() -> bytes:
    """Return three drifts of 200 m from 10:30 on, lunch at the jetty, and two more."""
    start, third = (-500.0, 0.0), 120.0
    to_jetty = (
        Leg(third / 2, 2, 180, fishing=False),
        Leg((start[0] + 200 + 1190) / 2, 2, 270, fishing=False),
    )
    back = (Leg((start[0] + 1190) / 2, 2, 90, fishing=False),)
    morning = (SHORT, *UP, SHORT, *UP, SHORT)
    afternoon = (SHORT, *UP, SHORT)
    return boat(
        *(*morning, *to_jetty, ASHORE, *back, *afternoon),
        start=start,
        begin="2027-06-08T11:00:00+01:00",
    )


def evening_of(begun: Path, scratch: Path) -> Path:
    """Return the practice with both tracks."""
    folder = with_marks(Path(shutil.copytree(begun, scratch / "pool")), scratch)
    tower = geojson(scratch / "tower.geojson", Point(TOWER), names=["The tower"])
    done(folder, "venue", "add", "--kind", "mark", tower)
    done(folder, "upload", "--pair", "Heron", write(scratch / "h.gpx", lunch()))
    way, begin = Leg(2500, 0.4, 90), "2027-06-08T11:28:20+01:00"
    died = boat(way, start=(-800, 300), begin=begin)
    done(folder, "upload", "--pair", "Grebe", write(scratch / "g.gpx", died))
    return folder


def rows(folder: Path, name: str = "tally.csv") -> list[dict[str, str]]:
    """Return the rows of a file, as another program reads them."""
    text = (folder / name).read_bytes().decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


def told_rows(folder: Path) -> list[dict[str, str]]:
    return [row for row in rows(folder) if row["told"]]


def tell(folder: Path, *words: object) -> Any:
    return report(folder, "tally", *words)


def boat_of(folder: Path, pair: str) -> dict[str, Any]:
    """Return what `tally` says of a pair's day."""
    (found,) = [one for one in tell(folder)["boats"] if one["pair"] == pair]
    assert isinstance(found, dict)
    return found
