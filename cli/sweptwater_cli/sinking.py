"""`sinking`: which line reaches which depth."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sweptwater_cli.options import json_option, pair_option
from sweptwater_cli.show import sentence, show_json, table, tell, watch

if TYPE_CHECKING:
    from sweptwater.jobs.sinking import Sinking
    from sweptwater.units import System


@click.command()
@click.option(
    "--drift",
    metavar="SPEED",
    help="How fast the boat drifts: 24yd/min, or metres a second; else as tracks say.",
)
@click.option("--wind", metavar="WIND", help="A wind that gives the speed, like SW4.")
@click.option("--cast", metavar="LENGTH", help="How far rods cast, like 25yd or 23m.")
@click.option("--depth", metavar="DEPTH", help="A depth to reach, like 15ft or 4.5m.")
@click.option(
    "--retrieve",
    metavar="WORDS",
    help="How flies are worked: static, slow, figure of eight, steady, fast...",
)
@click.option(
    "--drogue", type=click.Choice(["in", "out"]), help="Else as practice.toml says."
)
@pair_option("Whose boat's drifts to go by; else those of all.")
@json_option
@click.pass_obj
def sinking(
    folder: Path,
    *,
    drift: str | None,
    wind: str | None,
    cast: str | None,
    depth: str | None,
    retrieve: str | None,
    drogue: str | None,
    pair: str | None,
    as_json: bool,
) -> None:
    """Tell how deep each line fishes, and for how long to let it sink.

    While a line sinks the boat drifts on to it: the deeper a fly is to be, the faster
    the line, the slower the drift or the longer the cast must be. The lines and their
    rates stand in practice.toml.

    \b
    Examples:
      sweptwater sinking --depth 15ft
      sweptwater sinking --drift 24yd/min --cast 25yd
      sweptwater sinking --wind SW4 --drogue in --pair Heron --retrieve "slow"
    """
    from sweptwater.jobs.opened import open_folder
    from sweptwater.jobs.sinking import Ask
    from sweptwater.jobs.sinking import sinking as job

    ask = Ask(
        drift=drift,
        wind=wind,
        cast=cast,
        depth=depth,
        retrieve=retrieve,
        drogue=drogue,  # type: ignore[arg-type]
        pair=pair,
    )
    report = job(folder, ask, watch=watch)
    for remark in report.remarks:
        tell(sentence(remark[:1].upper() + remark[1:]))
    if as_json:
        show_json(report)
        return
    _print(report, open_folder(folder).settings.units)


def _print(report: "Sinking", units: "System") -> None:
    from sweptwater.jobs.wording import pace_text
    from sweptwater.units import share_text

    click.echo(f"{pace_text(report.drift_m_s, units)}: {report.drift_told}")
    click.echo(report.advice)
    feet = "feet" if units == "imperial" else "metres"
    click.echo(f"\nHow deep flies get in {feet}, and the count to a depth in seconds")
    _print_reach(report, units)
    click.echo(f"\nSeconds of a cast in each layer, {report.retrieve} from the start")
    _print_layers(report)
    click.echo(
        "\nAt most: where the boat is over the fly; flies usefully work down to "
        f"{share_text(report.useful)} of that.\nPrinted rates hold in still water, and "
        f"are good to some {share_text(report.doubt)} either way, which makes the "
        "maybe. Fly and leader lag the line (all of it common practice).\nThese are "
        "depths of the fly: how deep the water is, and for how long you count, are two "
        "other things."
    )


def _print_reach(report: "Sinking", units: "System") -> None:
    from sweptwater.units import depth_text

    def number(depth_m: float) -> str:
        return depth_text(depth_m, units).partition(" ")[0] if depth_m else "0"

    slower = report.with_drogue
    depths = next((line.countdown for line in report.lines if line.countdown), ())
    head = [
        *("line", ">in/s", ">useful to", ">maybe"),
        *([">drogue in"] if slower else []),
        ">at most",
        *(f">{depth_text(count.depth_m, units)}" for count in depths),
    ]
    rows = []
    for place, line in enumerate(report.lines):
        counts = [f"{one.s:.0f}" if one.in_time else "-" for one in line.countdown]
        low, high = (
            number(depth_m) for depth_m in (line.useful_low_m, line.useful_high_m)
        )
        with_drogue = [number(slower.lines[place].useful_depth_m)] if slower else []
        rows.append(
            [
                line.line,
                f"{line.sink_in_s:.3g}",
                number(line.useful_depth_m),
                f"{low} to {high}" if line.sink_in_s else "-",
                *with_drogue,
                number(line.overrun_depth_m),
                *(counts or ["-"] * len(depths)),
            ]
        )
    table(head, rows)


def _print_layers(report: "Sinking") -> None:
    head = ["line", *(f">{layer.layer}" for layer in report.lines[0].layers)]
    table(
        head,
        (
            [line.line, *(f"{layer.s:.0f}" for layer in line.layers)]
            for line in report.lines
        ),
    )
