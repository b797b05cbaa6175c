"""How a boat under engine gets along a way: round its bends, up to speed, to a stop."""

import numpy as np

from sweptwater.arrays import Floats
from sweptwater_demo.routes import length_m

_ALONG_M_S2 = 0.2
_ACROSS_M_S2 = 0.15
_SMOOTH_M = 7.0
_DRIFT_FADES_S = 4.0


def run(way: Floats, *, cruise_m_s: float, drift_m_s: Floats) -> Floats:
    """Return a boat's places each second from the start of its engine to its stop.

    Parameters
    ----------
    way
        Corners of the way, shape (n, 2), in metres.
    cruise_m_s
        Speed that it works up to; less in bends.
    drift_m_s
        How the boat was drifting when the engine was started, shape (2,): this fades
        away within seconds, so neither place nor velocity jumps.

    Returns
    -------
    places
        Shape (seconds, 2), the start itself left out and the end the last.
    """
    carried = drift_m_s * _DRIFT_FADES_S
    way = way.copy()
    way[0] += carried
    line = _rounded(way)
    ds = np.maximum(np.hypot(*np.diff(line, axis=0).T), 1e-6)
    clock, gone = _gone(ds, _speeds(line, ds, cruise_m_s))
    along = np.r_[0, np.cumsum(ds)]
    places = np.column_stack([np.interp(gone, along, axis) for axis in line.T])
    return places - np.exp(-clock / _DRIFT_FADES_S)[:, None] * carried


def duration_s(way: Floats, cruise_m_s: float) -> float:
    """Return about how long a run takes, bends left out."""
    return length_m(way) / cruise_m_s + cruise_m_s / _ALONG_M_S2


def _rounded(way: Floats) -> Floats:
    """Return the way every metre or so with its corners rounded, ends kept."""
    far_m = length_m(way)
    steps = max(int(np.ceil(far_m)), 2)
    along = np.r_[0, np.cumsum(np.hypot(*np.diff(way, axis=0).T))]
    places = np.linspace(0, far_m, steps + 1)
    line = np.column_stack([np.interp(places, along, axis) for axis in way.T])
    width = min(_SMOOTH_M, far_m / 8) * steps / max(far_m, 1e-9)
    reach = int(np.ceil(3 * width))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / width) ** 2)
    # A half turn about each end keeps the ends where they are.
    head = 2 * line[0] - line[reach:0:-1]
    tail = 2 * line[-1] - line[-2 : -reach - 2 : -1]
    padded = np.vstack([head, line, tail])
    kernel /= kernel.sum()
    return np.column_stack([np.convolve(axis, kernel, "valid") for axis in padded.T])


def _speeds(line: Floats, ds: Floats, cruise_m_s: float) -> Floats:
    """Return the speed at each point of a line, from rest to rest.

    It is the highest that keeps to the cruise, to the sideways acceleration in bends
    and to the lengthwise one before and after them.
    """
    step = np.diff(line, axis=0)
    turn = np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0])))
    bend = np.abs(turn) / ((ds[1:] + ds[:-1]) / 2)
    limit = np.full(len(line), cruise_m_s**2)
    limit[1:-1] = np.minimum(limit[1:-1], _ACROSS_M_S2 / np.maximum(bend, 1e-9))
    limit[[0, -1]] = 0.0
    gain = (2 * _ALONG_M_S2 * ds).tolist()
    squares = limit.tolist()
    for k in range(1, len(squares)):
        squares[k] = min(squares[k], squares[k - 1] + gain[k - 1])
    for k in range(len(squares) - 2, -1, -1):
        squares[k] = min(squares[k], squares[k + 1] + gain[k])
    return np.sqrt(np.array(squares, dtype=np.float64))


def _gone(ds: Floats, speed: Floats) -> tuple[Floats, Floats]:
    """Return whole seconds from 1 to the stop, and the metres gone by each of them.

    Between two points the acceleration is constant.
    """
    mean = np.maximum((speed[1:] + speed[:-1]) / 2, 0.02)
    time_s = np.r_[0, np.cumsum(ds / mean)]
    clock = np.arange(1.0, np.ceil(time_s[-1]) + 1)
    cell = np.clip(np.searchsorted(time_s, clock, "right") - 1, 0, len(ds) - 1)
    share = np.minimum((clock - time_s[cell]) / np.diff(time_s)[cell], 1.0)
    first, last = speed[cell] / mean[cell], speed[cell + 1] / mean[cell]
    gone_in_cell = first * share + (last - first) / 2 * share**2
    return clock, np.r_[0, np.cumsum(ds)][cell] + ds[cell] * gone_in_cell
