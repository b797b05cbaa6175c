"""The match brief: from a practice folder to a report."""

from dataclasses import dataclass
from pathlib import Path

from sweptwater.jobs.brief_cards import cards
from sweptwater.jobs.brief_conditions import (
    caution_texts,
    closed_words,
    condition_texts,
    time_texts,
)
from sweptwater.jobs.brief_known import known_places, known_texts, unknown_texts
from sweptwater.jobs.brief_report import BriefReport
from sweptwater.jobs.brief_triggers import trigger_texts
from sweptwater.jobs.opened import Watch, unwatched
from sweptwater.jobs.starts import AskStarts, StartsSight, look_at_starts


@dataclass(frozen=True)
class BriefSight:
    """All that a brief shows: the starts, and what is told."""

    starts: StartsSight
    report: BriefReport


def look_at_brief(
    folder: Path, ask: AskStarts, *, watch: Watch = unwatched
) -> BriefSight:
    """Return the brief of a match.

    Raises
    ------
    SweptwaterError
        As `look_at_starts`.
    """
    sight = look_at_starts(folder, ask, watch=watch)
    starts = sight.report
    report = BriefReport(
        practice=starts.practice,
        day=starts.day,
        stay_ashore=starts.stay_ashore,
        first=starts.cautions[0],
        conditions=tuple(condition_texts(sight)),
        times=tuple(time_texts(sight)),
        rules=starts.rules,
        triggers=tuple(trigger_texts(sight)),
        known=tuple(known_texts(sight, folder)),
        places=tuple(known_places(sight)),
        unknown=tuple(unknown_texts(sight, folder)),
        closed=closed_words(sight.opened),
        cautions=tuple(caution_texts(sight)),
        cards=tuple(cards(sight)),
        starts=starts,
    )
    return BriefSight(sight, report)
