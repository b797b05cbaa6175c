"""`tally`: what each rod met on each drift, and who still has to tell."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import day_option, json_option, pair_option
from sweptwater_cli.show import place, sentence, show_json, table, tell, typed, watch

if TYPE_CHECKING:
    from sweptwater.jobs.tally import TallyReport
    from sweptwater.jobs.tally_say import Tallied, TalliedLine
    from sweptwater.jobs.tally_take import Taken

FILES = (".csv", ".tsv", ".txt", ".gpx", ".xml")


@click.command(cls=Step)
@click.argument("words", nargs=-1, metavar="[PAIR DRIFT [ROD] MET [LINE] | FILE]")
@day_option("Which day; else the pair's last one.")
@click.option(
    "--at",
    "--when",
    "when",
    default="",
    metavar="TIME",
    help="When it was: 11:20, about 11:30, before lunch, after 2, 11:00-12:30.",
)
@click.option("--near", default="", metavar="MARK", help="Where it was, by a mark.")
@click.option("--at-place", default="", metavar="LAT,LON", help="Exactly where it was.")
@click.option("--taken", default="", help="How the fly was taken, like 'on the hang'.")
@click.option("--fly-place", default="", help="Which fly: point, middle, dropper.")
@click.option("--fly", default="", help="What the fly was.")
@click.option("--species", default="", help="What the fish was.")
@click.option("--drogue", default="", metavar="in|out", help="Where the drogue was.")
@click.option("--left", default="", help="Why the drift was left, like 'found'.")
@click.option("--note", default="", help="What else was said.")
@pair_option("Of a FILE that does not say whose it is.")
@click.option("--rod", help="Of a FILE that does not say which rod's it is.")
@json_option
@click.pass_obj
def tally(
    folder: Path,
    *,
    words: tuple[str, ...],
    day: str | None,
    when: str,
    near: str,
    at_place: str,
    taken: str,
    fly_place: str,
    fly: str,
    species: str,
    drogue: str,
    left: str,
    note: str,
    pair: str | None,
    rod: str | None,
    as_json: bool,
) -> bool:
    """Tell what each rod met on each drift; without words, see what is not told yet.

    MET are four numbers, follows/pulls/lost/boated; or words like 2 follows 1 boated;
    or blank. LINE is the line, for how long it was counted down, and how it was
    retrieved. DRIFT is its number in the list (see drifts), 4-7, or rest for all that
    are not told; or somewhere, if nobody knows which one it was. ROD is bow, stern or a
    call sign; a blank without one is of both.

    All of it is in tally.csv, which a spreadsheet opens and fills in as well. A FILE is
    a table with columns of it, or a GPX whose waypoints are named like "2 pulls". What
    is told anew replaces what was; tally-before.csv keeps that.

    \b
    Examples:
      sweptwater tally
      sweptwater tally Heron 4 bow 2/1/0/1 3ips c20 slow figure of eight
      sweptwater tally Heron 4 stern 1 pull floating --at 11:20
      sweptwater tally Heron 5-7 blank
      sweptwater tally Heron somewhere 3 --near tower --when "before lunch"
      sweptwater tally Heron rest blank
      sweptwater tally heron.gpx --pair Heron --rod bow
    """
    as_file = bool(words) and Path(words[0]).suffix.lower() in FILES
    said = (when, near, at_place, taken, fly_place, fly, species, drogue, left, note)
    if not words or as_file:
        if any(said) or (not words and (pair or rod or day)):
            raise click.UsageError(
                "say whose drift it was, and which, like: tally Heron 4 bow 2/1/0/1"
            )
        if not words:
            return _show_all(folder, as_json)
        _take(folder, words, pair, rod, day, as_json)
        return True
    if pair or rod:
        raise click.UsageError("--pair and --rod go with a file: say Heron 4 bow ...")
    from sweptwater.jobs.tally_say import Say, say_tally

    say = Say(
        words=words,
        day=day,
        when=when,
        near=near,
        at_place=at_place,
        taken=taken,
        fly_place=fly_place,
        fly=fly,
        species=species,
        drogue=drogue,
        left=left,
        note=note,
    )
    report = say_tally(folder, say, watch=watch)
    if as_json:
        show_json(report)
    else:
        _show_lines(report.lines)
        _show_left(report)
    return not report.not_told


def _show_lines(lines: "tuple[TalliedLine, ...]") -> None:
    for line in lines:
        which = f"drift {line.drift}" if line.drift else "somewhere"
        rod = f", {line.rod}" if line.rod else ""
        known = ": told already, nothing changes" if line.known else ""
        instead = f" (instead of {line.instead_of})" if line.instead_of else ""
        day = line.day.isoformat()
        told = f"{line.pair} on {day}, {which}{rod}: {line.text}"
        click.echo(f"{told}{instead}{known}")


def _show_left(report: "Tallied") -> None:
    from sweptwater.offers.doubts import drifts_text

    for question in report.questions:
        tell(question)
    if report.not_told:
        click.echo(f"Not told yet: {drifts_text(report.not_told)}.")


def _show_all(folder: Path, as_json: bool) -> bool:
    from sweptwater.jobs.tally import tally as job

    report = job(folder, watch=watch)
    for fault in report.faults:
        tell(sentence(f"Not in order: {fault}"))
    if as_json:
        show_json(report)
    else:
        _show_report(report, folder)
    return bool(report.boats)


def _show_report(report: "TallyReport", folder: Path) -> None:
    from sweptwater.jobs.wording import counted
    from sweptwater.practice.tally import TALLY

    if not report.boats:
        click.echo(typed("No drifts yet: sweptwater upload, or sweptwater drifts add"))
        return
    if report.new_rows:
        rows = counted(report.new_rows, "new row")
        click.echo(f"{place(folder / TALLY)}: {rows}, a rod and drift each, to fill in")
    table(
        ("day", "pair", ">drifts", ">told", ">blank", ">offers", "not told yet"),
        [
            (
                *(boat.day.isoformat(), boat.pair, str(boat.drifts)),
                *(str(boat.told), str(boat.blank), str(boat.offers)),
                _not_told(boat.rods_not_told),
            )
            for boat in report.boats
        ],
    )
    for loose in report.loose:
        rod = f", {loose.rod}" if loose.rod else ""
        offers = counted(loose.offers, "offer")
        words = f" ({loose.text})" if loose.text else ""
        click.echo(
            f"Loose: {loose.pair} on {loose.day.isoformat()}{rod}, {offers}{words}"
        )
    for question in report.questions:
        click.echo(typed(question))


def _not_told(rods: dict[str, tuple[int, ...]]) -> str:
    from sweptwater.offers.doubts import drifts_text

    alike = len(set(rods.values())) == 1 and len(rods) > 1
    if not rods:
        return "-"
    if alike:
        return drifts_text(next(iter(rods.values())))
    return "; ".join(f"{rod}: {drifts_text(drifts)}" for rod, drifts in rods.items())


def _take(
    folder: Path,
    words: tuple[str, ...],
    pair: str | None,
    rod: str | None,
    day: str | None,
    as_json: bool,
) -> None:
    from sweptwater.jobs.tally_take import take_tally

    if len(words) > 1:
        raise click.UsageError("one file at a time, and no other words beside it")
    file = Path(words[0])
    if not file.is_file():
        raise click.UsageError(f"there is no file {file}")
    report = take_tally(folder, file, pair=pair, rod=rod, day=day, watch=watch)
    if as_json:
        show_json(report)
        return
    _show_taken(report, folder)


def _show_taken(report: "Taken", folder: Path) -> None:
    from sweptwater.jobs.wording import and_text, counted

    _show_lines(report.lines)
    if not report.lines:
        click.echo(f"{report.file}: nothing new")
    if report.known:
        click.echo(f"{counted(report.known, 'row')} told already")
    if report.passed_over:
        click.echo(f"Passed over: {and_text(report.passed_over)}")
    for fault in report.not_read:
        tell(sentence(f"Not taken: {fault}"))
    if report.not_read:
        rows = counted(len(report.not_read), "row")
        tell(f"{rows} kept in {place(folder / report.kept_in)}.")
    for question in report.questions:
        tell(question)
