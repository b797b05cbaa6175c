"""A boat's day and its swept water as plain arrays: the same to the last bit."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from datetime import date
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import Stack
from sweptwater.tracks.drifts import DayAfloat, Drift

Arrays = Mapping[str, npt.NDArray[Any]]

_PLACES = ("time_s", "easting", "northing")
_APART = (*_PLACES, "anchored", "timed")
_DRIFT = [field.name for field in fields(Drift) if field.name not in _APART]
_DAY = [
    field.name
    for field in fields(DayAfloat)
    if field.name not in ("drifts", "motoring")
]


def pack_day(afloat: DayAfloat) -> dict[str, npt.NDArray[Any]]:
    """Return what a boat did as arrays."""
    drifts = afloat.drifts
    return {
        # A number that is not known becomes NaN.
        "day": np.array([getattr(afloat, name) for name in _DAY], dtype=np.float64),
        "drift": np.array(
            [[getattr(drift, name) for name in _DRIFT] for drift in drifts],
            dtype=np.float64,
        ).reshape(len(drifts), len(_DRIFT)),
        "timed": np.array([drift.timed for drift in drifts], dtype=np.bool_),
        "place": _stacked(
            [np.column_stack([getattr(d, name) for name in _PLACES]) for d in drifts], 3
        ),
        "place_ends": _ends(len(drift.time_s) for drift in drifts),
        "anchored": _stacked([np.array(d.anchored).reshape(-1, 2) for d in drifts], 2),
        "anchored_ends": _ends(len(drift.anchored) for drift in drifts),
        "way": _stacked(afloat.motoring, 2),
        "way_ends": _ends(map(len, afloat.motoring)),
    }


def pack_swept(boat: BoatDay) -> dict[str, npt.NDArray[Any]]:
    """Return the water that a boat swept as arrays."""
    stack = boat.stack
    return {
        **pack_shapes("swept", boat.swept),
        **pack_shapes("stack", (stack.once, stack.twice, stack.thrice)),
    }


def unpack_day(arrays: Arrays) -> DayAfloat:
    """Return what a boat did, from the arrays that were made of it.

    Raises
    ------
    KeyError, ValueError, IndexError, TypeError
        If they are none of a day.
    """
    places = _parted(arrays["place"], arrays["place_ends"])
    anchored = _parted(arrays["anchored"], arrays["anchored_ends"])
    told = arrays["drift"]
    drifts = tuple(
        Drift(
            place[:, 0].copy(),
            place[:, 1].copy(),
            place[:, 2].copy(),
            anchored=tuple((start_s, end_s) for start_s, end_s in spells.tolist()),
            timed=timed,
            **dict(zip(_DRIFT, line.tolist(), strict=True)),
        )
        for place, spells, timed, line in zip(
            places, anchored, arrays["timed"].tolist(), told, strict=True
        )
    )
    return DayAfloat(
        drifts=drifts,
        motoring=tuple(_parted(arrays["way"], arrays["way_ends"])),
        **_known(arrays["day"]),
    )


def unpack_swept(arrays: Arrays, pair: str, day: date, afloat: DayAfloat) -> BoatDay:
    """Return a boat-day with the water that arrays were made of.

    Raises
    ------
    KeyError, ValueError, IndexError, shapely.GEOSException
        If they are none of as many drifts.
    """
    swept = unpack_shapes("swept", arrays)
    if len(swept) != len(afloat.drifts):
        raise ValueError("another number of drifts")
    boat = BoatDay(pair, day, afloat, swept)
    once, twice, thrice = unpack_shapes("stack", arrays)
    boat.__dict__["stack"] = Stack(once, twice, thrice)  # as if it had been asked for
    return boat


def pack_shapes(name: str, shapes: Sequence[Area]) -> dict[str, npt.NDArray[Any]]:
    """Return shapes as bytes (well-known binary), end to end, and where each ends."""
    blobs = [shapely.to_wkb(shape) for shape in shapes]
    return {
        name: np.frombuffer(b"".join(blobs), dtype=np.uint8),
        f"{name}_ends": _ends(map(len, blobs)),
    }


def unpack_shapes(name: str, arrays: Arrays) -> tuple[Area, ...]:
    """Return the shapes that were packed under a name."""
    blobs = _parted(arrays[name], arrays[f"{name}_ends"])
    return tuple(shapely.from_wkb([blob.tobytes() for blob in blobs]))


def _known(told: npt.NDArray[Any]) -> dict[str, Any]:
    """Return the numbers of a day by name, None for those that are not known."""
    return {
        name: None if np.isnan(value) else value
        for name, value in zip(_DAY, told.tolist(), strict=True)
    }


def _ends(lengths: Iterable[int]) -> Ints:
    return np.cumsum(np.fromiter(lengths, dtype=np.int64))


def _stacked(parts: Sequence[Floats], width: int) -> Floats:
    return np.concatenate([np.zeros((0, width)), *parts])


def _parted(rows: npt.NDArray[Any], ends: npt.NDArray[Any]) -> list[npt.NDArray[Any]]:
    return np.split(rows, ends[:-1].astype(np.int64)) if len(ends) else []
