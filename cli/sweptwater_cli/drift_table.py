"""The table of drifts, as several commands print it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from sweptwater_cli.show import table

if TYPE_CHECKING:
    from sweptwater.jobs.listed import DriftLine
    from sweptwater.units import System

HEAD = (">", "from", "to", ">min", ">length", "towards", ">swept", "from near")


def show_drifts(lines: "Sequence[DriftLine]", units: "System") -> None:
    """Print the drifts of each boat-day.

    Which are told, how they are known, and the depth stand there where some have it.
    """
    told = any(line.told for line in lines)
    remembered = any(line.source != "track" for line in lines)
    deep = any(line.depth_m is not None for line in lines)
    head = (
        *HEAD,
        *((">depth",) if deep else ()),
        *(("tally",) if told else ()),
        *(("known from",) if remembered else ()),
    )
    for day, pair in dict.fromkeys((line.day, line.pair) for line in lines):
        click.echo(f"\n{pair}'s drifts on {day.isoformat()}")
        table(
            head,
            [
                (
                    *_cells(line, units),
                    *([_depth(line, units)] if deep else ()),
                    *(["told" if line.told else "not told"] if told else ()),
                    *([line.source] if remembered else ()),
                )
                for line in lines
                if (line.day, line.pair) == (day, pair)
            ],
        )


def _cells(line: "DriftLine", units: "System") -> tuple[str, ...]:
    from sweptwater.units import area_text, compass_point, length_text

    return (
        str(line.number),
        line.start[11:16] or "-",
        line.end[11:16] or "-",
        f"{line.minutes:.0f}" if line.start else "-",
        length_text(line.length_m, units),
        compass_point(line.course_deg),
        area_text(line.swept_m2, units),
        line.near,
    )


def _depth(line: "DriftLine", units: "System") -> str:
    from sweptwater.units import depth_text

    return "-" if line.depth_m is None else depth_text(line.depth_m, units)
