"""Options that several commands share."""

import tomllib
from collections.abc import Callable
from datetime import date
from math import inf, isfinite, nan
from pathlib import Path
from typing import Any, TypeVar

import click
from click.types import FloatParamType

Command = TypeVar("Command", bound=Callable[..., Any])

existing_file = click.Path(path_type=Path, exists=True, dir_okay=False)
new_file = click.Path(path_type=Path, dir_okay=False)


def json_option(command: Command) -> Command:
    """Add `--json`: the report as one JSON object on standard output."""
    return click.option(
        "--json", "as_json", is_flag=True, help="Print one JSON object, in SI units."
    )(command)


def pair_option(told: str, *, required: bool = False) -> Callable[[Command], Command]:
    """Return the decorator that adds `--pair`, which shells complete."""
    return click.option(
        "--pair", required=required, help=told, shell_complete=pairs_there
    )


def day_option(told: str) -> Callable[[Command], Command]:
    """Return the decorator that adds `--day`, which shells complete."""
    return click.option("--day", metavar="DAY", help=told, shell_complete=days_there)


def pairs_there(ctx: click.Context, _: click.Parameter, begun: str) -> list[str]:
    """Return the pairs of a practice whose names begin so; none of no practice."""
    pairs = _listed(ctx, "pairs")
    return [pair for pair in pairs if pair.casefold().startswith(begun.casefold())]


def days_there(ctx: click.Context, _: click.Parameter, begun: str) -> list[str]:
    """Return the days of a practice that begin so; none of no practice."""
    return [day for day in _listed(ctx, "days") if day.startswith(begun)]


def _listed(ctx: click.Context, key: str) -> list[str]:
    """Return a list of a practice's settings; an empty one where there is none."""
    folder = ctx.find_root().params.get("folder") or Path()
    try:
        settings = tomllib.loads((folder / "practice.toml").read_text("utf-8-sig"))
        return [str(item) for item in settings[key]]
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return []


_MATCH = (
    day_option("Of the match, like 2027-06-12."),
    click.option(
        "--wind",
        metavar="WIND",
        help="Where from, and how hard: W4, or W14mph (kn, m/s); else as noted.",
    ),
    click.option("--gust", metavar="SPEED", help="How hard gusts blow, like 24mph."),
    click.option("--sky", metavar="SKY", help="Its light: bright, broken or dull."),
    click.option(
        "--drogue",
        type=click.Choice(["in", "out"]),
        help="Where the drogue usually is.",
    ),
)
"""Options of `match_options`, in the order in which help tells them."""


def match_options(command: Command) -> Command:
    """Add what is known of a match's day: its wind, gusts and sky, and the drogue."""
    for option in reversed(_MATCH):
        command = option(command)
    return command


def crs_option(command: Command) -> Command:
    """Add `--crs`, for files that do not say their coordinate system."""
    return click.option(
        "--crs",
        metavar="EPSG:N",
        help="The file's coordinate system, if it does not say its own.",
    )(command)


def names(_: click.Context, __: click.Parameter, value: str | None) -> tuple[str, ...]:
    """Return the parts of a list with commas."""
    return tuple(part.strip() for part in (value or "").split(",") if part.strip())


def days(_: click.Context, __: click.Parameter, value: str | None) -> tuple[date, ...]:
    """Return the days of a list with commas."""
    try:
        return tuple(
            date.fromisoformat(part.strip())
            for part in (value or "").split(",")
            if part.strip()
        )
    except ValueError as error:
        raise click.BadParameter(
            f"{value!r} is no list of days like 2027-06-08,2027-06-09"
        ) from error


class Amount(FloatParamType):
    """A number that is one: neither NaN nor infinite, nor below the least."""

    name = "number"

    def __init__(self, least: float = -inf) -> None:
        self.least = least

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number that a text means."""
        try:
            number = float(value)
        except ValueError:
            number = nan
        if not isfinite(number):
            self.fail(f"{value!r} is no number: write one like 2.5", param, ctx)
        if number < self.least:
            self.fail(f"{value} is too little: {self.least:g} is the least", param, ctx)
        return number


def numbers(
    _: click.Context, __: click.Parameter, value: str | None
) -> tuple[float, ...] | None:
    """Return the numbers of a list with commas."""
    if value is None:
        return None
    try:
        return tuple(float(part) for part in value.split(","))
    except ValueError as error:
        raise click.BadParameter(
            f"{value!r} is no list of numbers like 2,1,1"
        ) from error
