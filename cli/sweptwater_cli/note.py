"""`note`: what the day was like, from when on."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from textwrap import indent

import click

from sweptwater_cli.options import Command, day_option, json_option, pair_option
from sweptwater_cli.show import sentence, show_json, tell, watch


@dataclass(frozen=True)
class Kind:
    """A kind of note as it is typed.

    Parameters
    ----------
    name, kind
        The command, and what the file calls it.
    value
        What its value is called.
    does, more
        What it does, in a line, and what else there is to say.
    examples
        What is typed after the command's name.
    needed
        Whether it says nothing without a value.
    """

    name: str
    kind: str
    value: str
    does: str
    more: str
    examples: tuple[str, ...]
    needed: bool = True


KINDS = (
    Kind(
        "wind",
        "wind",
        "WIND",
        "Note where the wind came from, and how hard it blew.",
        "WIND is a compass point and Beaufort's force, or degrees and a speed with its "
        "unit (mph, kn, m/s, km/h). It holds until the day's next note of the wind. To "
        "correct one, note the same time again: the later note counts.",
        (
            "SW4 --day 2027-06-09 --at 10:00",
            '"WSW 4-5" --at 13:30',
            "240@12mph --at 10:00 --pair Heron",
        ),
    ),
    Kind(
        "sky",
        "sky",
        "bright|broken|dull",
        "Note how the sky was.",
        "It holds until the day's next note of the sky. Words like sunny, cloudy and "
        "overcast are understood.",
        ("bright --at 10:00", "overcast --at 14:20 --pair Teal"),
    ),
    Kind(
        "wave",
        "wave",
        "WORDS",
        "Note how the water's surface was.",
        "It holds until the day's next note of the wave.",
        ("ripple --at 10:00", '"flat calm" --at 12:00 --near "long point"'),
    ),
    Kind(
        "drogue",
        "drogue",
        "in|out",
        "Note that a boat put its drogue in the water, or took it out.",
        "",
        ("in --pair Heron --at 10:40", "out --day 2027-06-09"),
    ),
    Kind(
        "clarity",
        "clarity_ft",
        "DEPTH",
        "Note how deep one sees into the water.",
        "In feet, or with its unit.",
        ("6", "1.8m --near tower --at 11:00"),
    ),
    Kind(
        "temp-top",
        "temp_top",
        "DEGREES",
        "Note how warm the water is at the top.",
        "In C or F: a bare number is taken by what water can be.",
        ("14.5", "58F --at 10:00 --near jetty"),
    ),
    Kind(
        "temp-deep",
        "temp_deep",
        "DEGREES",
        "Note how warm the water is deep down.",
        "In C or F; --note says how deep.",
        ('11C --note "at 20 ft" --near tower',),
    ),
    Kind(
        "level",
        "level",
        "WORDS",
        "Note how high the water stands.",
        "For what is reckoned by it, put below_full into practice.toml.",
        ('"3 ft down, falling"',),
    ),
    Kind(
        "hatch",
        "hatch",
        "FLIES",
        "Note what hatched.",
        "",
        ('"buzzers, lake olives" --at 11:30 --near "long point"',),
    ),
    Kind(
        "birds",
        "birds",
        "WORDS",
        "Note what birds did.",
        "",
        ('"swifts low over the water" --at 15:00',),
    ),
    Kind(
        "weed",
        "weed",
        "WORDS",
        "Note where weed stood.",
        "",
        ('"up to the top, 40 yd out" --near "bank 12"',),
    ),
    Kind(
        "spooned",
        "spooned",
        "WORDS",
        "Note what a fish had eaten.",
        "",
        ('"bloodworm and a few daphnia" --pair Heron --at 12:15',),
    ),
    Kind(
        "stocked",
        "stocked",
        "WORDS",
        "Note that fish were put in.",
        "",
        ("", '"400 off the jetty" --day 2027-06-08 --near jetty'),
        needed=False,
    ),
    Kind(
        "boats",
        "boats",
        "WORDS",
        "Note how many other boats were where.",
        "",
        ("4 --near tower --at 11:00",),
    ),
    Kind(
        "other",
        "other",
        "WORDS",
        "Note anything else.",
        "",
        ('"ranger says the north arm fished well last week"',),
    ),
)


@click.group()
def note() -> None:
    """Note wind, sky, a hatch: what the day was like, and where.

    From winds and drogues the boats' own drifts tell how fast they go in a wind. A
    note's time is from when on it was so, and its place a mark, a bank, LAT,LON or any
    words. The file notes.csv holds all notes; a spreadsheet opens it.

    \b
    Examples:
      sweptwater note wind SW4 --day 2027-06-09 --at 10:00
      sweptwater note sky bright --at 10:00
      sweptwater note drogue in --pair Heron --at 10:40
      sweptwater note hatch "buzzers, lake olives" --near "long point"
    """


def when(command: Command) -> Command:
    """Add the options that say of when a note is, whose, and where."""
    for option in (
        click.option("--note", "said", default="", help="What else was said."),
        click.option("--near", default="", help="Where: a mark, a bank, or words."),
        pair_option("Of whose boat; else of all."),
        click.option("--at", metavar="HH:MM", help="From when on; else all day."),
        day_option("Which day; else the last one with tracks."),
    ):
        command = option(command)
    return command


def _noting(kind: Kind) -> Callable[..., None]:
    @note.command(kind.name, help=_help(kind))
    @click.argument("value", metavar=kind.value, required=kind.needed, default=None)
    @when
    @json_option
    @click.pass_obj
    def command(
        folder: Path,
        *,
        value: str | None,
        day: str | None,
        at: str | None,
        pair: str | None,
        near: str,
        said: str,
        as_json: bool,
    ) -> None:
        from sweptwater.jobs.note import Say, add_note

        say = Say(
            kind=kind.kind,
            value=value or "",
            day=day,
            at=at,
            pair=pair,
            near=near,
            note=said,
        )
        report = add_note(folder, say, watch=watch)
        for remark in report.remarks:
            tell(sentence(remark[:1].upper() + remark[1:]))
        if as_json:
            show_json(report)
            return
        since = f"from {report.time} on" if report.time else "all day"
        told = f"{report.day.isoformat()} {since}, {report.pair or 'all boats'}"
        where = f", near {report.near}" if report.near else ""
        known = ": noted already, nothing changes" if report.known else ""
        instead = f" instead of {report.instead_of}" if report.instead_of else ""
        click.echo(f"{told}: {report.meaning}{where}{instead}{known}")

    return command


def _help(kind: Kind) -> str:
    lines = (f"sweptwater note {kind.name} {end}".rstrip() for end in kind.examples)
    head = "Example" if len(kind.examples) == 1 else "Examples"
    shown = "\n".join(("\b", f"{head}:", indent("\n".join(lines), "  ")))
    return "\n\n".join(part for part in (kind.does, kind.more, shown) if part)


for one in KINDS:
    _noting(one)
