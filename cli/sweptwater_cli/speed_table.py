"""The table of how fast the boats drift."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from sweptwater_cli.show import table

if TYPE_CHECKING:
    from sweptwater.jobs.learned import DriftSpeed
    from sweptwater.units import System


def show_speeds(speeds: "Sequence[DriftSpeed]", units: "System") -> None:
    """Print how fast the boats drifted, and how they go in a wind where it is known."""
    if not speeds:
        return
    unit = "m" if units == "metric" else "yd"
    head = ("pair", "drogue", ">drifts", f">{unit} a minute", "mostly")
    known = any(line.wind_share is not None for line in speeds)
    more = (">of the wind", "off straight downwind") if known else ()
    click.echo("\nHow fast the boats drift")
    table((*head, *more), [_cells(line, units, known=known) for line in speeds])


def _cells(line: "DriftSpeed", units: "System", *, known: bool) -> tuple[str, ...]:
    from sweptwater.units import YARD_M, share_text

    unit_m = 1.0 if units == "metric" else YARD_M
    speeds_m_s = (line.speed_m_s, line.slow_m_s, line.fast_m_s)
    middle, slow, fast = (f"{60 * speed / unit_m:.0f}" for speed in speeds_m_s)
    cells = (
        line.pair or "all boats",
        line.drogue or "not told",
        str(line.drifts),
        middle,
        f"{slow} to {fast}",
    )
    if not known:
        return cells
    share, off = line.wind_share, line.off_deg
    if share is None or off is None or line.off_sd_deg is None:
        return (*cells, "-", "-")
    return (
        *cells,
        share_text(share),
        f"{_off(off)}, give or take {line.off_sd_deg:.0f}",
    )


def _off(off_deg: float) -> str:
    from sweptwater.jobs.wording import counted

    degrees = round(abs(off_deg))
    if not degrees:
        return "none"
    return f"{counted(degrees, 'degree')} {'right' if off_deg > 0 else 'left'}"
