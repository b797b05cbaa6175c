"""How much of each sector and bank has been fished, and the map of it."""

from pathlib import Path

from sweptwater.jobs.coverage_page import page_of
from sweptwater.jobs.covered import Covered, Sight
from sweptwater.jobs.opened import Watch, unwatched
from sweptwater.jobs.saved import Saved, save
from sweptwater.jobs.sight import look


def coverage(
    folder: Path,
    *,
    day: str | None = None,
    pair: str | None = None,
    watch: Watch = unwatched,
) -> tuple[Covered, Saved]:
    """Return how much has been fished, and where the map of it was written.

    Raises
    ------
    SweptwaterError
        If the folder, a track, the day or the pair is unusable.
    """
    sight = look(folder, day=day, pair=pair, watch=watch)
    return sight.report, save_page(sight)


def save_page(sight: Sight) -> Saved:
    """Write the map of what a report tells, and return where it is.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    report, folder = sight.report, sight.opened.practice.folder
    layer = (report.layer or "").replace(" ", "-")
    only = (
        report.day.isoformat() if report.day else "",
        report.pair or "",
        layer.replace("+", "-and-below"),
        report.light or "",
    )
    name = "-".join(["coverage", *filter(None, only)])
    return save(folder, name, page_of(sight))
