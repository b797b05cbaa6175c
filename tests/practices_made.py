"""An invented lake and boats whose swept water follows from closed forms.

The lake is a rectangle of 2,400 by 1,200 m with an island, about the middle of FRAME.
Heron drifts east along northing 0 on two days, and Grebe twice along the south shore.
"""

import hashlib
import json
from collections.abc import Sequence
from datetime import datetime
from math import radians
from pathlib import Path
from typing import Any

import click
import numpy as np
from click.testing import CliRunner, Result
from shapely import Point, Polygon, box
from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

from sweptwater.frame import Frame
from sweptwater.practice.settings import Spread
from sweptwater_cli.main import cli
from sweptwater_demo.gps import Fixes
from sweptwater_demo.gpx import gpx_bytes
from tracks_made import Leg, Trip, trip

FRAME = Frame(lon=2.3, lat=54.95)
ISLAND = box(400, 200, 600, 300)
LAKE = Polygon(box(-1200, -600, 1200, 600).exterior, [ISLAND.exterior])
CLOSED = box(800, -200, 1000, 200)
PAIRS = ("Heron", "Grebe")

FAN = Spread()
FAN_M2 = radians(FAN.half_angle_deg) * FAN.cast_m**2 + FAN.boat_m * FAN.cast_m

DRIFT_M, DRIFT_M_S = 1000.0, 0.4
STRIP_M2 = DRIFT_M * FAN.width_m + FAN_M2
"""What a straight drift of DRIFT_M sweeps: see test_spread.py for the closed form."""

DRIFT_EAST = Leg(DRIFT_M / DRIFT_M_S, DRIFT_M_S, 90)
BACK = (Leg(100, 2, 0, fishing=False), Leg(500, 2, 270, fishing=False))
"""Motoring: 200 m north, then 1,000 m west."""


def run(folder: Path | None, *args: object) -> Result:
    """Run a command; a bug's traceback fails the test."""
    words = [*(("-C", str(folder)) if folder else ()), *map(str, args)]
    return CliRunner().invoke(cli, words, catch_exceptions=False)


def commands() -> dict[str, click.Command]:
    """Return all commands that do something, by their words."""
    found: dict[str, click.Command] = {}
    for name, command in cli.commands.items():
        if isinstance(command, click.Group):
            found |= {f"{name} {sub}": c for sub, c in command.commands.items()}
        else:
            found[name] = command
    return found


def done(folder: Path | None, *args: object) -> Result:
    """Run a command that must succeed."""
    result = run(folder, *args)
    assert result.exit_code == 0, result.output
    return result


def remarks(result: Result) -> str:
    """Return what stands on standard error, but for what comes next."""
    lines = result.stderr.splitlines(keepends=True)
    return "".join(line for line in lines if not line.startswith("Next: "))


def report(folder: Path | None, *args: object, code: int = 0) -> Any:
    """Return the one JSON object that a command prints on standard output."""
    result = run(folder, *args, "--json")
    assert result.exit_code == code, result.output
    found = json.loads(result.stdout, parse_constant=_no_number)
    assert isinstance(found, dict)
    return found


def refused(folder: Path | None, *args: object, kept: Path | None = None) -> str:
    """Return the one sentence of a command that must fail and change nothing.

    The figures of a coverage report hold even where its page cannot be written.
    """
    place = kept or folder or Path()
    before = tree(place)
    result = run(folder, *args)
    assert result.exit_code == 1, result.output
    assert not result.stdout or "with a cast 25 % shorter" in result.stdout
    told = result.stderr.removesuffix("\n")
    assert told.startswith(("Error: ", "Not taken: "))
    assert "\n" not in told
    assert tree(place) == before
    return told


def tree(folder: Path) -> dict[str, str]:
    """Return the hash of each file in a folder, by its path, but for the cache."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(
            path.read_bytes() if path.is_file() else b"folder"
        ).hexdigest()
        for path in folder.rglob("*")
        if path.relative_to(folder).parts[0] != ".cache"
    }


def boat(
    *legs: Leg,
    start: tuple[float, float] = (-500, 0),
    begin: str = "2027-06-08T10:00:00+01:00",
) -> bytes:
    """Return the GPX of a boat's way, without any error, one fix a second."""
    return gpx_of(trip(*legs), start=start, begin=begin)


def gpx_of(way: Trip, *, start: tuple[float, float], begin: str) -> bytes:
    """Return a way as GPX, moved to a place and to a time."""
    fixes = Fixes(
        way.time_s - way.time_s[0] + datetime.fromisoformat(begin).timestamp(),
        way.easting + start[0],
        way.northing + start[1],
    )
    return gpx_bytes(fixes, FRAME, name="a boat", note="invented")


def write(path: Path, data: bytes | str) -> Path:
    """Write a file, with its folder, and return its path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    return path


def geojson(path: Path, *shapes: BaseGeometry, names: Sequence[str] = ()) -> Path:
    """Write shapes in metres as GeoJSON in degrees, and return the path."""
    features = [
        {
            "type": "Feature",
            "properties": {"name": names[i]} if i < len(names) else {},
            "geometry": mapping(FRAME.degrees(shape)),
        }
        for i, shape in enumerate(shapes)
    ]
    return write(path, json.dumps({"type": "FeatureCollection", "features": features}))


def begin(folder: Path, scratch: Path) -> Path:
    """Begin a practice on the lake, with a closed zone, a jetty and marks."""
    outline = geojson(scratch / "outline.geojson", LAKE, names=["Ashlode Pool"])
    words = ("--pairs", ",".join(PAIRS), "--zone", "Europe/London")
    done(None, "start", folder, "--venue", outline, *words)
    zone = geojson(scratch / "zone.geojson", CLOSED, names=["Tower"])
    jetty = geojson(scratch / "jetty.geojson", Point(-1195, 0), names=["Jetty"])
    marks = geojson(
        scratch / "marks.geojson", Point(-500, 60), Point(0, 599), names=["Buoy", "Oak"]
    )
    done(folder, "venue", "add", "--kind", "out-of-bounds", zone)
    done(folder, "venue", "add", "--kind", "jetty", jetty)
    done(folder, "venue", "add", "--kind", "mark", marks)
    return folder


def heron(day: int = 8) -> bytes:
    """Return Heron's one drift of 1,000 m along northing 0, and the way back."""
    return boat(DRIFT_EAST, *BACK, begin=f"2027-06-{day:02}T10:00:00+01:00")


def grebe() -> bytes:
    """Return Grebe's two drifts along the south shore, 17 and 47 m off it."""
    along = Leg(DRIFT_M / 2 / DRIFT_M_S, DRIFT_M_S, 90)
    out = (
        Leg(50, 2, 0, fishing=False),
        Leg(250, 2, 270, fishing=False),
        Leg(35, 2, 180, fishing=False),
    )
    return boat(along, *out, along, *out[:2], start=(-800, -583))


def numbers_of(text: str) -> list[float]:
    """Return the numbers in a text, thousands marked or not."""
    words = text.replace(",", "").replace("\u00a0", " ").split()
    return [float(w) for w in words if w.replace(".", "", 1).isdigit()]


def rough(value: float, other: float, part: float = 1e-6) -> bool:
    """Tell whether two numbers are the same to a part of them."""
    return bool(np.isclose(value, other, rtol=part, atol=1e-3))


def _no_number(text: str) -> float:
    raise AssertionError(f"{text} is not JSON")
