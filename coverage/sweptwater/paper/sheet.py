"""The boat sheet: one pair's day on both sides of a sheet of A4."""

from dataclasses import dataclass

from sweptwater.paper.layers import Page


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftRow:
    """One planned drift as the sheet's table tells it; all texts are ready to print.

    Parameters
    ----------
    number
        As it stands in its box on the map: "1".
    start, finish
        The marks that it begins and ends at, as words: "off the tower".
    bearing
        Of its course, in degrees and as a compass point: "045 NE".
    length
        In the units of the sheet's map, without their name: "420".
    drogue_in, drogue_out
        Its minutes with the drogue in the water and without, without their name.
    begins
        The clock time at which it should start: "09:20".
    """

    number: str
    start: str
    finish: str
    bearing: str
    length: str
    drogue_in: str
    drogue_out: str
    begins: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnRow:
    """What a pair can do once the wind blows from somewhere else; texts as printed.

    Parameters
    ----------
    wind
        Where it comes from: "NE".
    banks
        Those that can be drifted in it: "3, 4 (the dam), 7", or "none".
    longest, minutes
        The longest drift in the units of the sheet's map, and its minutes, both
        without their name.
    home
        What the way home takes from the far end: "14 min".
    """

    wind: str
    banks: str
    longest: str
    minutes: str
    home: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What one pair takes afloat. All texts are ready to print, none is markup.

    Parameters
    ----------
    pair, day_text, water, sector
        The head: "Heron", "Wednesday 9 June 2027", "Ashlode Water", "the west end".
    wind
        In words, with what came of it: "SW 4 (15 mph), gusts 24".
    wind_to_deg
        Where it blows to, clockwise from north, for the arrow on the map; None if
        there is no wind to speak of.
    hours
        "Leave 09:00, home by 17:00".
    possible
        One line of what the day holds: "31 drifts, 38 acres, 9 % of the sector".
    map
        Its layers in degrees; drifts in `looks.PLANNED` with labels "numbers".
        Its title and lead are read aloud instead of the drawing, its units are those
        of the tables.
    drifts
        In the order in which they are to be fished.
    closed
        What is out of bounds, a place each.
    sun
        Bearing and height in the morning, at noon, in the afternoon; sunset.
    home
        "Turn for home by 16:31: 19 min from the far end, 10 spare".
    ring
        The venue's number to ring in need; may be empty.
    cautions
        Of this day's wind and water, before the general ones, which need not be given.
    turns
        For each of eight winds, for the back.
    left_out
        What does not fit the day, in the order in which it would come next.
    stay_ashore
        A sentence if nobody should go afloat: it stands first, and large.
    pencil_rows
        How many rows to fill in by pencil; drifts after the last of them need more
        paper.
    """

    pair: str
    day_text: str
    water: str
    sector: str
    wind: str
    wind_to_deg: float | None
    hours: str
    possible: str
    map: Page
    drifts: tuple[DriftRow, ...] = ()
    closed: tuple[str, ...] = ()
    sun: tuple[str, ...] = ()
    home: str = ""
    ring: str = ""
    cautions: tuple[str, ...] = ()
    turns: tuple[TurnRow, ...] = ()
    left_out: tuple[str, ...] = ()
    stay_ashore: str = ""
    pencil_rows: int = 14
