"""Shortest ways in a room, as a taut line lies: straight, or round corners of land.

Such a line bends only where land sticks out. So a graph of those corners that see
each other holds every shortest way, and is searched from each start (Dijkstra).

References
----------
M. de Berg, O. Cheong, M. van Kreveld, M. Overmars, Computational Geometry, 3rd ed.,
2008, chapter 15 (visibility graphs; from memory).
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from sweptwater.arrays import Floats, Ints
from sweptwater.water.channels import Corners, Room


@dataclass(frozen=True, slots=True)
class Met:
    """Some places, and where they meet a room.

    Parameters
    ----------
    at, entry
        The places, and the nearest ones within the room, shape (n, 2).
    off_m
        How far apart those are.
    """

    at: Floats
    entry: Floats
    off_m: Floats


@dataclass(frozen=True, slots=True)
class _Links:
    """Which corners some places see, place by place, and how far off those are."""

    place: Ints
    corner: Ints
    length_m: Floats


class Net:
    """The graph of a room's corners, laid when it is first needed."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self._laid: csr_array | None = None

    def meet(self, places: Floats) -> Met:
        """Return where places, shape (n, 2), meet the room."""
        entry = self.room.entries(places)
        return Met(places, entry, _apart(places, entry))

    def lengths_m(self, starts: Met, ends: Met) -> Floats:
        """Return the lengths of the shortest ways, shape (n, m), infinite if none."""
        length_m = self._straight_m(starts, ends)
        around_m, _ = self._search(starts)
        links = self._links(ends)
        bounds = np.searchsorted(links.place, np.arange(len(ends.at) + 1))
        for end, (a, b) in enumerate(pairwise(bounds)):
            if a < b:
                by_m = around_m[:, links.corner[a:b]] + links.length_m[a:b]
                length_m[:, end] = np.minimum(length_m[:, end], by_m.min(axis=1))
        return length_m

    def shortest(self, start: Met, end: Met) -> Floats | None:
        """Return the bends of the shortest way, shape (k, 2), its ends included.

        None if there is no way. Of starts and ends only the first counts.
        """
        straight_m = self._straight_m(start, end)[0, 0]
        around_m, before = self._search(start)
        links = self._links(end)
        by_m = around_m[0, links.corner] + links.length_m
        if min(straight_m, by_m.min(initial=np.inf)) == np.inf:
            return None
        steps: list[int] = []
        if by_m.min(initial=np.inf) < straight_m:
            corner = int(links.corner[by_m.argmin()])
            while 0 <= corner < before.shape[1]:
                steps.append(corner)
                corner = int(before[0, corner])
        return self._by_entries(start, self.room.corners.at[steps[::-1]], end)

    def _straight_m(self, starts: Met, ends: Met) -> Floats:
        """Return the lengths of straight ways, infinite where there is none."""
        i, j = (k.ravel() for k in np.indices((len(starts.at), len(ends.at))))
        length_m = np.full(len(i), np.inf)
        seen = np.flatnonzero(self.room.sees(starts.entry[i], ends.entry[j]))
        a, b = i[seen], j[seen]
        length_m[seen] = starts.off_m[a] + ends.off_m[b]
        length_m[seen] += _apart(starts.entry[a], ends.entry[b])
        off = np.flatnonzero((starts.off_m[i] > 0) | (ends.off_m[j] > 0))
        clear = off[self.room.on_water(starts.at[i[off]], ends.at[j[off]])]
        length_m[clear] = _apart(starts.at[i[clear]], ends.at[j[clear]])
        return length_m.reshape(len(starts.at), len(ends.at))

    def _links(self, met: Met) -> _Links:
        corners = self.room.corners
        place, corner = np.nonzero(corners.tangent(met.entry[:, None]))
        seen = self.room.sees(met.entry[place], corners.at[corner])
        place, corner = place[seen], corner[seen]
        length_m = met.off_m[place] + _apart(met.entry[place], corners.at[corner])
        off = np.flatnonzero(met.off_m[place] > 0)
        clear = off[self.room.on_water(met.at[place[off]], corners.at[corner[off]])]
        length_m[clear] = _apart(met.at[place[clear]], corners.at[corner[clear]])
        return _Links(place, corner, length_m)

    def _search(self, starts: Met) -> tuple[Floats, Ints]:
        """Return how far each corner is from each start, and the corner before it.

        Numbers beyond the corners' are starts.
        """
        size, count = len(self.room.corners), len(starts.at)
        if not size or not count:
            return np.full((count, size), np.inf), np.full((count, size), -1)
        links, edges = self._links(starts), self._lay().tocoo()
        row = np.concatenate([edges.row, size + links.place])
        column = np.concatenate([edges.col, links.corner])
        length_m = np.concatenate([edges.data, np.maximum(links.length_m, 1e-9)])
        whole = csr_array((length_m, (row, column)), shape=(size + count, size + count))
        far_m, before = dijkstra(
            whole, indices=size + np.arange(count), return_predecessors=True
        )
        return far_m[:, :size], before[:, :size].astype(np.int64)

    def _lay(self) -> csr_array:
        """Return how far those corners are apart between which a taut line may lie."""
        if self._laid is None:
            corners = self.room.corners
            one, other = _taut_pairs(corners)
            seen = self.room.sees(corners.at[one], corners.at[other])
            one, other = one[seen], other[seen]
            # A length of nought would be no edge.
            apart_m = np.maximum(_apart(corners.at[one], corners.at[other]), 1e-9)
            row, column = np.concatenate([one, other]), np.concatenate([other, one])
            self._laid = csr_array(
                (np.concatenate([apart_m, apart_m]), (row, column)),
                shape=(len(corners), len(corners)),
            )
        return self._laid

    def _by_entries(self, start: Met, bends: Floats, end: Met) -> Floats:
        """Return a whole way, by the entries only where it cannot do without them."""
        first = bends[0] if len(bends) else end.at[0]
        last = bends[-1] if len(bends) else start.at[0]
        head, tail = [start.at[0]], [end.at[0]]
        if start.off_m[0] > 0 and not self._clear(start.at[0], first):
            head.append(start.entry[0])
        if end.off_m[0] > 0 and not self._clear(last, end.at[0]):
            tail.insert(0, end.entry[0])
        if not len(bends) and len(head) + len(tail) == 3:
            head, tail = [start.at[0], start.entry[0]], [end.entry[0], end.at[0]]
        return np.array([*head, *bends, *tail])

    def _clear(self, one: Floats, other: Floats) -> bool:
        return bool(self.room.on_water(one[None], other[None])[0])


def _taut_pairs(corners: Corners) -> tuple[Ints, Ints]:
    """Return the pairs of corners between which a part of a taut line may lie."""
    found = [(np.zeros(0, np.int64), np.zeros(0, np.int64))]
    every = np.arange(len(corners))
    for rows in np.split(every, range(512, len(corners), 512)):  # for small tables
        mine = corners[rows]
        leaves = corners.tangent(mine.at[:, None])
        meets = mine.tangent(corners.at[:, None]).T
        row, column = np.nonzero(leaves & meets & (rows[:, None] < every))
        found.append((rows[row], column))
    one, other = (np.concatenate(side) for side in zip(*found, strict=True))
    return one, other


def _apart(one: Floats, other: Floats) -> Floats:
    return np.asarray(np.hypot(*(one - other).T))
