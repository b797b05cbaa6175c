"""Made-up rates, offers and hours on the rectangular lake, for the tests of paper."""

from collections.abc import Sequence
from datetime import date
from typing import TypeAlias

import shapely
from scipy.stats import gamma
from shapely import box

from practices_made import CLOSED, LAKE
from sweptwater.arrays import Area
from sweptwater.jobs.met_sight import LedgerRow, LooseOffers, Met, PlacedOffers, Untold
from sweptwater.offers.compare import Direction, Verdict
from sweptwater.offers.table import RateRow
from sweptwater.paper.looks import RateClass
from sweptwater.practice.tally import Counts

MEAN = 47 / 112.4
DAYS = (date(2027, 6, 8), date(2027, 6, 9), date(2027, 6, 10))

Told: TypeAlias = tuple[str, int, float, float]
"""A value, offers, rod-hours told and not told."""

SURE: dict[str, tuple[Verdict, Direction]] = {
    "dull": ("clear", "more"),
    "bright": ("clear", "fewer"),
    "3-8 ft": ("leaning", "more"),
    "A": ("leaning", "fewer"),
    "intermediate": ("leaning", "more"),
}


def rate_row(by: str, told: Told, others: Sequence[Told] = ()) -> RateRow:
    """Return a row whose range leans on the mean as if by one offer more.

    It is held against others that are known.
    """
    known_others = [one for one in others if one != told and one[0] != "not told"]
    value, offers, hours, untold = told
    verdict, direction = SURE.get(value, ("too little to tell", ""))
    known = gamma(offers + 1, scale=1 / (hours + 1 / MEAN))
    exact = gamma(max(offers, 0.5), scale=1 / max(hours, 0.1))
    return RateRow(
        by=dict(zip(by.split(","), value.split("|"), strict=True)),
        offers=offers,
        rod_hours=hours,
        drifts=round(hours * 1.6),
        rate=offers / hours if hours else None,
        low=float(known.ppf(0.025)) if hours else None,
        high=float(known.ppf(0.975)) if hours else None,
        exact_low=float(exact.ppf(0.025)) if hours else None,
        exact_high=float(exact.ppf(0.975)) if hours else None,
        verdict=verdict,
        direction=direction,
        untold_rod_hours=untold,
        fished_rod_hours=hours + untold,
        against_offers=sum(one[1] for one in known_others),
        against_rod_hours=sum(one[2] for one in known_others),
    )


TABLES: dict[str, Sequence[Told]] = {
    "sector": [("A", 8, 41.0, 6.3), ("B", 22, 38.2, 2.0), ("C", 17, 33.2, 10.2)],
    "sky": [
        ("bright", 7, 48.0, 3.1),
        ("broken", 13, 40.5, 4.0),
        ("dull", 26, 20.3, 1.4),
        ("not told", 1, 3.6, 10.0),
    ],
    "layer": [
        ("0-3 ft", 11, 38.9, 2.0),
        ("3-8 ft", 27, 44.1, 3.5),
        ("8-15 ft", 6, 20.2, 1.0),
        ("15+ ft", 0, 1.1, 0.0),
        ("not told", 3, 8.1, 12.0),
    ],
    "line": [
        ("floating", 9, 35.0, 0.0),
        ("slow intermediate", 12, 21.0, 2.1),
        ("intermediate", 19, 28.0, 0.0),
        ("3 in/s", 4, 16.2, 1.0),
        ("7 in/s", 0, 0.0, 1.5),
        ("not told", 3, 12.2, 13.9),
    ],
    "hour": [
        (f"{9 + number}:00", offers, 15.2 + number % 3, 2.3)
        for number, offers in enumerate([2, 9, 8, 5, 2, 4, 6, 11])
    ],
    "layer,sky": [
        (f"{layer}|{sky}", offers, hours, 0.6)
        for layer, sky, offers, hours in [
            ("0-3 ft", "bright", 0, 15.2),
            ("0-3 ft", "broken", 3, 14.0),
            ("0-3 ft", "dull", 8, 9.7),
            ("3-8 ft", "bright", 6, 18.0),
            ("3-8 ft", "broken", 7, 17.1),
            ("3-8 ft", "dull", 14, 9.0),
            ("8-15 ft", "bright", 1, 12.1),
            ("8-15 ft", "broken", 4, 7.1),
        ]
    ],
    "bank": [
        (f"bank {number}", (number * 7) % 5, 2.0 + number % 4, 0.5 * (number % 3))
        for number in range(1, 20)
    ],
}

WATER: Area = shapely.difference(LAKE, CLOSED)  # type: ignore[assignment]


def water_of(west: float, south: float, east: float, north: float) -> Area:
    """Return the water in a box."""
    return shapely.intersection(WATER, box(west, south, east, north))  # type: ignore


def areas() -> dict[RateClass, Area]:
    """Return a band of each class, from the west to the east."""
    names: list[RateClass] = ["surely more", "more", "about", "fewer", "surely fewer"]
    return {
        name: water_of(-1200 + 480 * number, -600, -720 + 480 * number, 600)
        for number, name in enumerate(names)
    }


def sample_met() -> Met:
    """Return three days of three pairs, with some drifts that nobody told."""
    return Met(
        practice="Ashlode Water",
        days=DAYS,
        mean=MEAN,
        offers=47,
        rod_hours=112.4,
        drifts=178,
        untold_rod_hours=18.5,
        tables={
            by: tuple(rate_row(by, told, rows) for told in rows)
            for by, rows in TABLES.items()
        },
        comparisons=46,
        widen=1.3,
        untold=(
            Untold(DAYS[1], "Heron", "bow", (2,), 0.7),
            Untold(DAYS[2], "Teal", "stern", (3, 4, 7), 2.1),
            Untold(DAYS[2], "Grebe", "", (5, 6), 3.9),
        ),
        ledger=tuple(
            LedgerRow(bank, name, sector, layer, light, 1.3 * bank, bank, 0.07 * bank)
            for bank, name, sector in [
                (1, "", "A"),
                (2, "Gorse Bank", "A"),
                (3, "", "B"),
            ]
            for layer, light in [
                ("0-3 ft", "bright"),
                ("0-3 ft", "dull"),
                ("3-8 ft", "broken"),
                ("not told", "not told"),
            ]
            if (bank + len(light)) % 3
        ),
        loose=(
            LooseOffers(
                Counts(pull=2),
                "Teal, 9 June: before lunch, off the tower",
                water_of(-200, -400, 200, -150),
            ),
            LooseOffers(Counts(follow=1), "Heron, 8 June: some time in the afternoon"),
        ),
        questions=("Grebe, 10 June: drift 3 is tallied twice; which row counts?",),
        areas=areas(),
        placed=tuple(
            PlacedOffers(counts, easting, northing, text, sure="Grebe" not in text)
            for counts, easting, northing, text in [
                (Counts(pull=1, boated=1), -900.0, 100.0, "Teal bow, 8 June"),
                (Counts(follow=6, pull=3), -640.0, -240.0, "Heron stern, 9 June"),
                (Counts(boated=1), -640.0, -240.0, "Heron bow, 9 June"),
                (Counts(follow=1), 120.0, 420.0, "Grebe bow, 10 June"),
                (Counts(lost=1), 9000.0, 0.0, "far away"),
            ]
        ),
    )
