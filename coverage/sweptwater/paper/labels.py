"""Labels find their places: none over another, over an obstacle, or off the sheet."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import compress

import numpy as np

from sweptwater.arrays import Bools, Floats
from sweptwater.paper.lettering import Anchor
from sweptwater.paper.plane import Box

GAP = 2.0
"""Pixels that labels keep from each other and from obstacles."""

MOST_AGAIN = 1000
"""At most so many labels are placed again to make room for ones left out."""


SKIPPED = (0, 2, 5, 9, 14, 20, 30)
"""Of the cheapest spots of a label that others are to make room for."""

AT_ONCE = 24
"""So many spots are looked at together: mostly one of the first is free."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place that a label may take.

    Parameters
    ----------
    x, y
        The centre of its box, in pixels.
    cost
        What speaks against it; the cheapest free place is taken.
    leader
        Where a line leads to from the box, if the label stands off its thing.
    anchor
        The side of the box on which the text begins.
    """

    x: float
    y: float
    cost: float = 0.0
    leader: tuple[float, float] | None = None
    anchor: Anchor = "middle"


@dataclass(frozen=True, slots=True)
class Version:
    """One way to write a label: how large its box is, and where it may stand.

    `extra` is what speaks against each spot besides its own cost, if anything does.
    """

    width: float
    height: float
    spots: tuple[Spot, ...]
    extra: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a label stands, and in which of its versions."""

    box: Box
    spot: Spot
    version: int


def place_labels(
    wanted: Sequence[Sequence[Version]],
    *,
    frame: Box,
    obstacles: Sequence[Box] = (),
) -> list[Placed | None]:
    """Return where each label stands, or None where it finds no room.

    A label takes the cheapest free spot of its first version that has one. Where none
    is free, those before it take other spots, if all of them still have one; so what
    is left out is among the last. Boxes keep `GAP` from each other and from obstacles,
    are inside the frame, and no leader crosses another, a box, or an obstacle that it
    does not lead to.

    Parameters
    ----------
    wanted
        The versions of each label, best first.
    frame
        What no box or leader may leave.
    obstacles
        What no box may cover, and no leader cross unless it ends there.

    Examples
    --------
    >>> versions = [Version(10, 10, (Spot(5, 5), Spot(20, 5, cost=1)))]
    >>> placed = place_labels([versions] * 3, frame=Box(0, 0, 30, 10))
    >>> [place and place.box.left for place in placed]
    [0.0, 15.0, None]
    """
    choices = [[_Choice(version, frame) for version in label] for label in wanted]
    placed: dict[int, Placed] = {}
    taken, again = _Taken(obstacles), MOST_AGAIN
    for index, choice in enumerate(choices):
        if place := _place(choice, taken):
            placed[index] = place
        elif again > 0 and any(len(one.spots) for one in choice):
            # In the order in which they stand: the last to be moved chose first.
            order = [index, *placed]
            anew = None
            for skipped in SKIPPED:
                again -= len(placed)
                anew = anew or _all_placed(choices, order, obstacles, skipped)
            if anew:
                placed, taken = anew
    return [placed.get(index) for index in range(len(wanted))]


def _all_placed(
    choices: Sequence[Sequence["_Choice"]],
    order: Sequence[int],
    obstacles: Sequence[Box],
    skipped: int,
) -> tuple[dict[int, Placed], "_Taken"] | None:
    """Return where labels stand that choose in an order, if all find room.

    The first does without so many of its cheapest spots.
    """
    taken = _Taken(obstacles)
    placed: dict[int, Placed] = {}
    for index in order:
        place = _place(choices[index], taken, 0 if placed else skipped)
        if place is None:
            return None
        placed[index] = place
    return placed, taken


def _place(
    choice: Sequence["_Choice"], taken: "_Taken", skipped: int = 0
) -> Placed | None:
    for number, version in enumerate(choice):
        spot = version.cheapest(taken, skipped)
        if spot is not None:
            place = Placed(version.boxes[spot], version.spots[spot], number)
            taken.add(place.box, place.spot)
            return place
    return None


class _Choice:
    """The spots of a version within the frame, cheapest first, as boxes and leaders."""

    def __init__(self, version: Version, frame: Box) -> None:
        cost = np.array([spot.cost for spot in version.spots])
        cost += np.array(version.extra or 0.0)
        spots = [version.spots[index] for index in np.argsort(cost, kind="stable")]
        middles = np.array([(spot.x, spot.y) for spot in spots]).reshape(-1, 2)
        tips = np.array([spot.leader or (np.nan, np.nan) for spot in spots])
        half = np.array([version.width, version.height]) / 2
        boxes = np.hstack([middles - half, middles + half])
        leaders = _leaders(middles, tips.reshape(-1, 2), half)
        fine = _within(boxes, frame) & (
            _within(leaders, frame) | np.isnan(leaders[:, 0])
        )
        self.spots = list(compress(spots, fine))
        self.boxes = [Box(*edges) for edges in boxes[fine].tolist()]
        self._edges, self._leaders = boxes[fine], leaders[fine]
        ends = np.vstack([boxes[fine], leaders[fine]]).reshape(-1, 2)
        low, high = (
            (np.nanmin(ends, axis=0), np.nanmax(ends, axis=0))
            if len(ends)
            else (np.zeros(2), np.zeros(2))
        )
        self._around = np.hstack([low - GAP, high + GAP])

    def cheapest(self, taken: "_Taken", skipped: int = 0) -> int | None:
        """Return the number of the first spot that is free, after some skipped ones."""
        near = taken.near(self._around)
        for start in range(skipped, len(self.spots), AT_ONCE):
            some = slice(start, start + AT_ONCE)
            free = near.free(self._edges[some], self._leaders[some])
            if free.any():
                return start + int(np.argmax(free))
        return None


class _Taken:
    """The boxes and leaders that stand already, obstacles before all."""

    def __init__(self, obstacles: Sequence[Box] = ()) -> None:
        self.boxes = np.array(obstacles, dtype=np.float64).reshape(-1, 4)
        self.leaders = np.empty((0, 4))
        self.obstacles = len(obstacles)

    def add(self, box: Box, spot: Spot) -> None:
        self.boxes = np.vstack([self.boxes, [box]])
        if spot.leader:
            self.leaders = np.vstack([self.leaders, [leader_of(box, spot)]])

    def near(self, around: Floats) -> "_Taken":
        """Return those that something within a box may meet."""
        near = _Taken()
        boxes = _overlap(around[None], self.boxes)[0]
        low = np.minimum(self.leaders[:, :2], self.leaders[:, 2:])
        high = np.maximum(self.leaders[:, :2], self.leaders[:, 2:])
        lines = (low <= around[2:]).all(axis=1) & (high >= around[:2]).all(axis=1)
        near.boxes, near.leaders = self.boxes[boxes], self.leaders[lines]
        near.obstacles = int(boxes[: self.obstacles].sum())
        return near

    def free(self, boxes: Floats, leaders: Floats) -> Bools:
        """Return for each box with its leader whether nothing is in its way."""
        wide = boxes + np.array([-GAP, -GAP, GAP, GAP])
        free: Bools = np.ones(len(boxes), dtype=np.bool_)
        free &= ~_overlap(wide, self.boxes).any(axis=1)
        free[free] = ~_cross_box(self.leaders, wide[free]).any(axis=0)
        led = free & ~np.isnan(leaders[:, 0])
        crossed = _cross_box(leaders[led], self.boxes)
        ends = _inside(leaders[led], self.boxes[: self.obstacles])
        crossed[:, : self.obstacles] &= ~ends
        free[led] = ~crossed.any(axis=1)
        free[led] &= ~_cross(leaders[led], self.leaders).any(axis=1)
        return free


def leader_of(box: Box, spot: Spot) -> tuple[float, float, float, float]:
    """Return a leader's two ends, from where it leaves its box to where it leads.

    It has no length if it leads to a place in the box.

    Examples
    --------
    >>> leader_of(Box(0, 0, 10, 10), Spot(5, 5, leader=(25, 5)))
    (10.0, 5.0, 25.0, 5.0)
    """
    tip = np.array([spot.leader or (np.nan, np.nan)])
    half = np.array([box.width, box.height]) / 2
    x0, y0, x1, y1 = _leaders(np.array([[spot.x, spot.y]]), tip, half)[0].tolist()
    return x0, y0, x1, y1


def _leaders(middles: Floats, tips: Floats, half: Floats) -> Floats:
    steps = tips - middles
    reach = np.maximum((np.abs(steps) / half).max(axis=1, keepdims=True), 1.0)
    return np.hstack([middles + steps / reach, tips])


def _within(corners: Floats, frame: Box) -> Bools:
    """Return whether two corners of boxes, or lines' two ends, are inside the frame."""
    ends = corners.reshape(-1, 2, 2)
    inside: Bools = np.logical_and.reduce(
        (ends >= frame[:2]) & (ends <= frame[2:]), axis=(1, 2)
    )
    return inside


def _overlap(boxes: Floats, others: Floats) -> Bools:
    """Return for each box and each other whether they share more than an edge."""
    one, other = boxes[:, None], others[None]
    return (
        (one[..., 0] < other[..., 2])
        & (one[..., 2] > other[..., 0])
        & (one[..., 1] < other[..., 3])
        & (one[..., 3] > other[..., 1])
    )


def _inside(lines: Floats, boxes: Floats) -> Bools:
    """Return for each line and each box whether the line ends in the box."""
    tips = lines[:, None, 2:]
    inside: Bools = np.logical_and.reduce(
        (tips >= boxes[None, :, :2]) & (tips <= boxes[None, :, 2:]), axis=-1
    )
    return inside


def _cross_box(lines: Floats, boxes: Floats) -> Bools:
    """Return for each line and each box whether the line passes through the box.

    Of a line from t = 0 to 1 the part between each pair of edges is taken; what is left
    is inside (clipping by slabs). A line without ends passes through none.
    """
    start, end = lines[:, None, :2], lines[:, None, 2:]
    step = end - start
    with np.errstate(divide="ignore", invalid="ignore"):
        low = (boxes[None, :, :2] - start) / step
        high = (boxes[None, :, 2:] - start) / step
    between = (start > boxes[None, :, :2]) & (start < boxes[None, :, 2:])
    level = step == 0
    enter = np.where(level, np.where(between, -np.inf, np.inf), np.fmin(low, high))
    leave = np.where(level, np.where(between, np.inf, -np.inf), np.fmax(low, high))
    first = np.maximum(enter.max(axis=-1), 0)
    last = np.minimum(leave.min(axis=-1), 1)
    return first < last


def _cross(lines: Floats, others: Floats) -> Bools:
    """Return for each line and each other whether they cross."""

    def turn(a: Floats, b: Floats, c: Floats) -> Floats:
        ab, ac = b - a, c - a
        return ab[..., 0] * ac[..., 1] - ab[..., 1] * ac[..., 0]

    a, b = lines[:, None, :2], lines[:, None, 2:]
    c, d = others[None, :, :2], others[None, :, 2:]
    apart = turn(a, b, c) * turn(a, b, d)
    across = turn(c, d, a) * turn(c, d, b)
    return (apart <= 0) & (across <= 0)  # never true of lines without ends
