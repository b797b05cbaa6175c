"""Add zones and places to the venue."""

from dataclasses import dataclass
from pathlib import Path

from sweptwater.errors import VenueError
from sweptwater.jobs.bank_words import lost_sentences
from sweptwater.jobs.opened import open_folder
from sweptwater.practice.files import writing
from sweptwater.practice.folder import check_practice, save_venue
from sweptwater.practice.geojson import DRAWN, POINTS, SHAPES, Feature, Kind
from sweptwater.units import System
from sweptwater.water.outline import NamedShape, read_features
from sweptwater.water.venue import build_venue, check_feature


@dataclass(frozen=True, slots=True)
class Extended:
    """What was added, and the water that is left to fish, in m2."""

    kind: Kind
    added: tuple[str, ...]
    known: tuple[str, ...]
    fishable_m2: float
    out_of_bounds_m2: float
    units: System
    outdated: bool
    """Whether the sectors do not fit the water any more."""
    remarks: tuple[str, ...] = ()
    """Names of banks that no bank took."""


def extend_venue(
    folder: Path, kind: Kind, file: Path, *, crs: str | None = None
) -> Extended:
    """Add the features of a file to the venue; those it has already change nothing.

    Raises
    ------
    SweptwaterError
        If one of them cannot belong to the venue; then none is added.
    """
    check_practice(folder)  # no lock is left in a folder that is none
    found = [
        Feature(kind, item.name, item.shape)
        for item in read_features(file, crs=crs)
        if _is_of_kind(item, kind)
    ]
    if not found:
        raise VenueError(
            f"{file.name} holds no {DRAWN[kind].replace(' or ', 's or ')}s, "
            f"and {kind} needs them: draw them and save again"
        )
    with writing(folder):
        opened = open_folder(folder)
        for feature in found:
            check_feature(feature, opened.venue)
        there = opened.practice.features
        new: list[Feature] = []
        for feature in found:
            if not any(_same(feature, other) for other in (*there, *new)):
                new.append(feature)
        venue = build_venue([*there, *new])
        if new:
            save_venue(folder, [*there, *new])
    return Extended(
        kind=kind,
        added=tuple(feature.name for feature in new),
        known=tuple(
            feature.name for feature in found if not any(feature is f for f in new)
        ),
        fishable_m2=venue.fishable.area,
        out_of_bounds_m2=venue.out_of_bounds.area,
        units=opened.settings.units,
        outdated=kind == "out-of-bounds" and bool(new and opened.drawn),
        remarks=lost_sentences(venue, opened.settings.banks) if kind == "bank" else (),
    )


def _is_of_kind(item: NamedShape, kind: Kind) -> bool:
    """Tell whether a shape can be of a kind: a file may hold others beside it."""
    drawn = item.shape.geom_type
    # A line where an area is asked for is refused by name, not passed over.
    return drawn in SHAPES[kind] or (kind == "out-of-bounds" and drawn not in POINTS)


def _same(one: Feature, other: Feature) -> bool:
    return (one.kind, one.name) == (other.kind, other.name) and bool(
        one.shape.equals_exact(other.shape, 1e-8)
        or one.shape.normalize().equals_exact(other.shape.normalize(), 1e-8)
    )
