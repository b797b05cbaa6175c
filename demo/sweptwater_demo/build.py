"""The demo practice: built with the same jobs that a captain's commands run."""

import json
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory

from sweptwater.errors import PracticeError
from sweptwater.jobs.brief import look_at_brief
from sweptwater.jobs.brief_page import save_page as save_brief
from sweptwater.jobs.check import check
from sweptwater.jobs.coverage import coverage
from sweptwater.jobs.coverage_words import shares_text
from sweptwater.jobs.divide import Wish, divide
from sweptwater.jobs.export import export
from sweptwater.jobs.extend import extend_venue
from sweptwater.jobs.met_shown import save_page
from sweptwater.jobs.next import AskNext, look_ahead
from sweptwater.jobs.next_shown import save_page as save_next
from sweptwater.jobs.note import Say, add_note
from sweptwater.jobs.opened import Watch, unwatched
from sweptwater.jobs.plan import Ask, plan
from sweptwater.jobs.rates import look_at_offers
from sweptwater.jobs.remember import Say as SayDrift
from sweptwater.jobs.remember import add_drift
from sweptwater.jobs.sound import add_depths
from sweptwater.jobs.start import start
from sweptwater.jobs.starts import AskStarts
from sweptwater.jobs.starts_page import save_page as save_starts
from sweptwater.jobs.tally import tally
from sweptwater.jobs.tally_take import take_tally
from sweptwater.jobs.unfished import unfished
from sweptwater.jobs.upload import upload
from sweptwater.practice.files import write_whole
from sweptwater.practice.folder import SETTINGS
from sweptwater.practice.sheets import Sheet, sheet_bytes
from sweptwater.practice.tally import FORM, Entry
from sweptwater.practice.tally_rows import with_new
from sweptwater.units import area_text
from sweptwater_demo import ashlode
from sweptwater_demo.bed import contours_geojson, soundings, soundings_csv
from sweptwater_demo.scenario import (
    DAYS,
    PAIRS,
    PHONE_DIES,
    TOLD,
    TOLD_TIMES,
    BoatDay,
    boat_days,
)
from sweptwater_demo.sky import demo_notes
from sweptwater_demo.tally import simulate_tally

ZONE = "Europe/London"
MARK = "invented-data.txt"
SENTENCE = (
    "Everything in this folder is invented: the water, the boats and their tracks. It "
    "was made by: sweptwater demo\n"
)

WIND_TO_COME, GUST_TO_COME = "SW4", "22mph"
TO_TRY = "to-try"
"""The folder of files to try the commands with."""

RING = "01632 960123"
"""A number that is kept for invented stories: Ofcom's list, from memory."""

TO_COME = tuple(DAYS[-1] + timedelta(days=number) for number in range(3))
"""The last day of the story, and two more on which the pairs change round."""


@dataclass(frozen=True, slots=True)
class Built:
    """What the demo came to, and where its reports are."""

    summary: str
    reports: Mapping[str, Path]


def build_demo(folder: Path, *, seed: int = 1, watch: Watch = unwatched) -> Built:
    """Build the invented practice in a folder, with every report.

    A demo that is there already is made anew.

    Raises
    ------
    SweptwaterError
        If the folder holds something else, or cannot be written to.
    """
    _clear(folder)
    write_whole(folder / MARK, SENTENCE)  # first, so that a part of a demo is one
    _venue(folder)
    divide(folder, Wish(rotate=True, days=TO_COME))
    days = boat_days(seed=seed)
    leave_to_try(folder / TO_TRY, days)
    _tracks(folder, days, watch)
    _told(folder, watch)
    _noted(folder)
    _met(folder, simulate_tally(days, seed=seed), watch)
    _depths(folder)  # last, since each step reads the venue
    return _reports(folder, watch)


def _clear(folder: Path) -> None:
    if not folder.exists() or not any(folder.iterdir()):
        return
    if not (folder / MARK).exists():
        raise PracticeError(
            f"{folder} holds something that is no demo: name another folder, like "
            "sweptwater demo ashlode-demo"
        )
    own = {f"{pair.lower()}-{day}.gpx" for pair in PAIRS for day in DAYS}
    for path in folder.glob("tracks/*/*.gpx"):
        if path.name.partition("-")[2] not in own:
            raise PracticeError(
                f"{path} is no track of the demo, and would be lost: move it away, or "
                "name another folder"
            )
    try:
        shutil.rmtree(folder)
    except OSError as error:
        raise PracticeError(
            f"{folder} could not be made anew ({error.strerror or error}): is a file "
            "of it open in another program?"
        ) from error


def _venue(folder: Path) -> None:
    files = files_of_ashlode()
    start(folder, files["outline"], name=ashlode.NAME, pairs=PAIRS, zone=ZONE)
    for kind in ("out-of-bounds", "jetty", "mark"):
        extend_venue(folder, kind, files[kind])
    settings = folder / SETTINGS
    told = settings.read_text(encoding="utf-8")
    write_whole(settings, told.replace('ring = ""', f'ring = "{RING}"'))


def _depths(folder: Path) -> None:
    """Put in what a survey of the bed found."""
    with TemporaryDirectory() as scratch:
        sounded = Path(scratch) / "soundings.csv"
        sounded.write_text(soundings_csv(soundings()), encoding="utf-8")
        add_depths(folder, "sounding", sounded)
        drawn = Path(scratch) / "contours.geojson"
        drawn.write_text(contours_geojson(), encoding="utf-8")
        add_depths(folder, "contour", drawn)


def files_of_ashlode() -> dict[str, Path]:
    """Return where the shipped GeoJSON files of the invented water are, by kind."""
    folder = Path(str(resources.files("sweptwater_data"))) / "ashlode"
    names = ("outline", "out-of-bounds", "jetty", "mark")
    return {name: folder / f"{name}.geojson" for name in names}


def drawn_ashlode() -> dict[str, str]:
    """Return the text of the same files, drawn anew, by kind."""
    drawn = {
        "outline": ashlode.outline_geojson(),
        "out-of-bounds": ashlode.out_of_bounds_geojson(),
        "jetty": ashlode.jetties_geojson(),
        "mark": ashlode.marks_geojson(),
    }
    return {
        name: json.dumps(collection, ensure_ascii=False, separators=(",", ":")) + "\n"
        for name, collection in drawn.items()
    }


def leave_to_try(folder: Path, days: Sequence[BoatDay]) -> None:
    """Leave the files that a captain would bring, to try the commands with.

    The outline and the rest of the venue, and the tracks of the first day.
    """
    for path in files_of_ashlode().values():
        write_whole(folder / path.name, path.read_bytes())
    for boat in days:
        if boat.day == DAYS[0]:
            write_whole(folder / boat.file_name, boat.gpx)


def _tracks(folder: Path, days: Sequence[BoatDay], watch: Watch) -> None:
    with TemporaryDirectory() as scratch:
        for pair in watch(PAIRS, "uploading tracks"):
            files = [_file(Path(scratch), boat) for boat in days if boat.pair == pair]
            upload(folder, pair, files)


def _told(folder: Path, watch: Watch) -> None:
    """Put in what the pair whose phone died remembers."""
    from_, to, at = TOLD
    day = PHONE_DIES.date().isoformat()
    say = SayDrift(
        pair="Teal", day=day, from_=from_, to=to, at=at, times=TOLD_TIMES, note="blank"
    )
    add_drift(folder, say, watch=watch)


def _noted(folder: Path) -> None:
    """Put in what the boats noted of sky, wind and water."""
    for note in demo_notes():
        add_note(
            folder,
            Say(
                kind=note.kind,
                value=note.value,
                day=note.day.isoformat(),
                at=f"{note.at:%H:%M}",
                pair=note.pair or None,
                near=note.near,
                note=note.note,
            ),
        )


def _met(folder: Path, rows: Sequence[Entry], watch: Watch) -> None:
    """Put in what the rods told in the evening."""
    with TemporaryDirectory() as scratch:
        file = Path(scratch) / "evening.csv"
        file.write_bytes(sheet_bytes(with_new(Sheet((FORM.columns,)), rows)))
        take_tally(folder, file, watch=watch)
    tally(folder, watch=watch)


def _file(scratch: Path, boat: BoatDay) -> Path:
    path = scratch / boat.file_name
    path.write_bytes(boat.gpx)
    return path


def _reports(folder: Path, watch: Watch) -> Built:
    covered, saved = coverage(folder, watch=watch)
    reports = {"the map of all days": saved.page}
    for day in DAYS:
        name = f"the map of {day.day} {day:%B}"
        reports[name] = coverage(folder, day=day.isoformat())[1].page
    met = look_at_offers(folder, watch=watch)
    reports["what the boats met"] = save_page(met).page
    waypoints = folder / "reports" / "unfished.gpx"
    pieces = unfished(folder, gpx=waypoints).pieces
    package = folder / "reports" / "practice.gpkg"
    export(folder, package)
    reports |= {"waypoints of unfished water": waypoints, "all layers": package}
    planned = plan(folder, Ask(day=TO_COME[1].isoformat(), wind=WIND_TO_COME))
    reports |= {
        f"{pair.pair}'s {what} for {planned.day.day} {planned.day:%B}": folder / file
        for pair in planned.pairs
        for file in pair.files
        for what, ending in (("sheet", ""), ("page afloat", ".afloat"))
        if file.endswith(f"/{pair.pair}{ending}.html")
    }
    ahead = look_ahead(folder, AskNext(wind=WIND_TO_COME), watch=watch)
    reports["where to go next"] = save_next(ahead).page
    ask = AskStarts(day=TO_COME[-1].isoformat(), wind=WIND_TO_COME, gust=GUST_TO_COME)
    brief = look_at_brief(folder, ask, watch=watch)
    reports["where six rods start the match"] = save_starts(brief.starts).page
    reports["the match brief and the rod cards"] = save_brief(brief).page
    reports["files to try the commands with"] = folder / TO_TRY
    faults = check(folder).faults
    return Built(
        f"{covered.practice} (invented): three pairs, three days, {covered.drifts} "
        f"drifts; {area_text(covered.fished_m2)} of {area_text(covered.water_m2)} "
        f"fished, {shares_text(covered.fished_share, covered.remembered_share)}; "
        f"{len(pieces)} pieces unfished; {met.report.offers} offers in "
        f"{met.report.rod_hours:.0f} rod-hours told; "
        f"{len(faults)} faults in the folder {folder}.",
        reports,
    )
