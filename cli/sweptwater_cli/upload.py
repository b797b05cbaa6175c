"""`upload`: the tracks of a pair."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sweptwater_cli.drift_table import show_drifts
from sweptwater_cli.guide import Step
from sweptwater_cli.options import (
    Amount,
    day_option,
    existing_file,
    json_option,
    pair_option,
)
from sweptwater_cli.show import sentence, show_json, tell, typed, watch

if TYPE_CHECKING:
    from sweptwater.jobs.upload import TrackLine
    from sweptwater.units import System


@click.command(cls=Step)
@pair_option("Whose tracks they are.", required=True)
@click.option(
    "--shift",
    type=Amount(),
    metavar="MIN",
    help="Minutes that the device's clock was slow by.",
)
@click.option(
    "--all-fishing",
    is_flag=True,
    help="Nothing in the track is motoring or ashore; for tracks without times too.",
)
@day_option("The day of a track without times.")
@click.argument("files", nargs=-1, required=True, type=existing_file)
@json_option
@click.pass_context
def upload(
    ctx: click.Context,
    pair: str,
    shift: float | None,
    all_fishing: bool,
    day: str | None,
    files: tuple[Path, ...],
    as_json: bool,
) -> None:
    """Keep the tracks of a pair, FILES, and say what each adds.

    \b
    Examples:
      sweptwater upload --pair Heron evening.gpx
      sweptwater upload --pair Heron --all-fishing --day 2027-06-08 no-times.gpx
    """
    from sweptwater.jobs.done import done_text
    from sweptwater.jobs.opened import open_folder
    from sweptwater.jobs.upload import upload as job

    folder: Path = ctx.obj
    report = job(
        folder,
        pair,
        files,
        shift_s=None if shift is None else 60 * shift,
        all_fishing=all_fishing,
        day=day,
        watch=watch,
    )
    if as_json:
        show_json(report)
    else:
        units = open_folder(folder).settings.units
        for track in report.tracks:
            _show_track(track, units)
        show_drifts(report.drifts, units)
        for done in report.planned:
            click.echo(sentence(done_text(done)))
    if report.tally_fault:
        tell(sentence(report.tally_fault))
    for refused in report.refused:
        tell(sentence(f"Not taken: {refused.why}"))
    if report.refused:
        ctx.exit(1)


def _show_track(track: "TrackLine", units: "System") -> None:
    from sweptwater.jobs.coverage_words import still_text, too_long_text
    from sweptwater.tracks.recording import UNTIMED
    from sweptwater.units import area_text, duration_text

    if track.known:
        what = ", and is told anew" if track.changed else ": nothing changes"
        click.echo(f"{track.file} was there already{what}.")
    days = ", ".join(day.isoformat() for day in track.days) or "no day"
    dropped = ", ".join(f"{n} {why}" for why, n in sorted(track.dropped_why.items()))
    click.echo(
        f"{track.file}: {track.pair}, {days}, {track.fixes:,} "
        f"{'fix' if track.fixes == 1 else 'fixes'}"
        + (f" ({dropped}: dropped)" if dropped else "")
    )
    spent = [
        f"{duration_text(seconds)} {what}"
        for seconds, what in (
            (track.fishing_s, "fishing"),
            (track.motoring_s, "motoring"),
            (track.ashore_s, "ashore"),
            (track.unknown_s, "unknown"),
        )
        if seconds >= 30 or what == "fishing"
    ]
    if track.untimed:
        spent = ["no times: its hours are not known"]
    click.echo(f"  {', '.join(spent)}")
    if track.doubtful_s >= 30:
        click.echo(
            f"  {duration_text(track.doubtful_s)} of the fishing is doubtful: it may "
            "have been slow motoring"
        )
    if long := too_long_text(track.drift_error):
        click.echo(f"  {long}")
    if still := still_text(track.anchored_s):
        click.echo(f"  {still}")
    new = "" if track.known else f", {area_text(track.new_m2, units)} of it new"
    click.echo(f"  {area_text(track.swept_m2, units)} of water swept{new}")
    for remark in track.remarks:
        if not (track.untimed and remark == UNTIMED):  # told above
            click.echo(typed(f"  {remark}"))
