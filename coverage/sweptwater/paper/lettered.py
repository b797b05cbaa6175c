"""The labels of a map, placed and drawn."""

from collections.abc import Callable, Sequence

from markupsafe import Markup
from shapely.geometry.base import BaseGeometry

from sweptwater.paper.labels import GAP, Placed, leader_of, place_labels
from sweptwater.paper.lettering import text_svg, text_width, wrapped
from sweptwater.paper.looks import CALL, INK
from sweptwater.paper.plane import Box
from sweptwater.paper.spots import KINDS, TURNS, Thing, framed_heavily, versions_of

NOTE_PX, NOTE_LINE_PX = 11.0, 14.0

FEW = 3
"""So many names that have no room are told one by one."""

NOTE_WIDTH = 0.4
"""Of the note of labels left out, as a share of the frame's."""


def lettered(
    things: Sequence[Thing],
    *,
    frame: Box,
    obstacles: Sequence[Box],
    edges: Sequence[BaseGeometry],
    shunned: Sequence[BaseGeometry],
    clear: Callable[[float, float], Box] | None,
    name: str = "drawing",
) -> Markup:
    """Return the labels of things, with a note of how many found no room.

    Names of areas choose first, then numbers, then places; but those before move aside
    for one that else had no room, if all of them have room still.

    Parameters
    ----------
    frame
        What no label may leave.
    obstacles
        Furniture and symbols, which no label may cover.
    edges
        Bold lines, that names keep off where they can.
    shunned
        Areas that numbers keep off where they can.
    clear
        Gives the place for a note of a width and a height; None for no note.
    name
        Begins the ids of what leads somewhere.
    """
    ordered = sorted(things, key=lambda thing: KINDS.index(thing.kind))
    versions = versions_of(ordered, edges, shunned)
    turns = sorted(range(len(ordered)), key=lambda n: TURNS.index(ordered[n].kind))

    def place(*notes: Box) -> list[Placed | None]:
        found = place_labels(
            [versions[number] for number in turns],
            frame=frame.padded(-3),
            obstacles=[*obstacles, *notes],
        )
        placed = dict(zip(turns, found, strict=True))
        return [placed[number] for number in range(len(ordered))]

    placed, note = place(), Markup()
    if clear and (lines := _note(ordered, placed, frame)):
        width = max(text_width(line, NOTE_PX, bold=False) for line in lines)
        box = clear(width, NOTE_LINE_PX * len(lines) + 2)
        if any(found and _reaches(found, box) for found in placed):
            placed = place(box)
        note = _note_svg(_note(ordered, placed, frame), box)
    labels = [
        _linked(_label(thing, found), thing, name)
        for thing, found in zip(ordered, placed, strict=True)
        if found
    ]
    return Markup("").join([*reversed(labels), note])  # numbers on top of names


def _note(
    things: Sequence[Thing], placed: Sequence[Placed | None], frame: Box
) -> list[str]:
    """Return the lines that tell of labels that found no room, if there are any."""
    pairs = zip(things, placed, strict=True)
    left = [thing for thing, found in pairs if not found]
    told = []
    if numbers := sum(thing.kind == "number" for thing in left):
        what = "1 number" if numbers == 1 else f"{numbers} numbers"
        told.append(f"{what} had no room: the table has all.")
    names = [thing.text for thing in left if thing.kind != "number"]
    if len(names) > FEW:
        told.append(f"{len(names)} names had no room.")
    elif names:
        told.append(f"Not named: {', '.join(names)}.")
    most = max(NOTE_WIDTH * frame.width, 120)
    return [line for text in told for line in wrapped(text, NOTE_PX, most=most)]


def _reaches(placed: Placed, box: Box) -> bool:
    """Return whether a label or its leader may come near a box."""
    tips = [placed.spot.leader] if placed.spot.leader else []
    left, top, right, bottom = placed.box.padded(GAP)
    return (
        min([left, *(x for x, _ in tips)]) < box.right
        and max([right, *(x for x, _ in tips)]) > box.left
        and min([top, *(y for _, y in tips)]) < box.bottom
        and max([bottom, *(y for _, y in tips)]) > box.top
    )


def _note_svg(lines: Sequence[str], box: Box) -> Markup:
    return Markup("").join(
        text_svg(
            line,
            box.left,
            box.top + NOTE_LINE_PX * number - 3,
            size=NOTE_PX,
            fill=INK,
            halo=True,
        )
        for number, line in enumerate(lines, 1)
    )


def _label(thing: Thing, place: Placed) -> Markup:
    size, box, (x, y) = thing.sizes[place.version], place.box, place.box.middle
    if thing.kind == "number":
        framed, words = _number_frame(box, size), thing.written(size)
        number = text_svg(
            words, x, y + 0.36 * size, size=size, fill=INK, bold=True, anchor="middle"
        )
        return _leader_svg(place, dot=True) + framed + number
    return _leader_svg(place) + text_svg(
        thing.written(size),
        {"start": box.left + 2, "middle": x, "end": box.right - 2}[place.spot.anchor],
        y + 0.35 * size,
        size=size,
        fill=INK,
        bold=True,
        serif=True,
        anchor=place.spot.anchor,
        halo=True,
    )


def _linked(drawn: Markup, thing: Thing, name: str) -> Markup:
    if not thing.link:
        return drawn
    return Markup('<a href="#{0}" id="{1}-{0}">{2}</a>').format(thing.link, name, drawn)


def _number_frame(box: Box, size: float) -> Markup:
    weight, corner = (2, 3) if framed_heavily(size) else (1.2, 2)
    inner = box.padded(-weight / 2)
    return Markup(
        '<rect x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}" rx="{}" '
        'fill="#fff" stroke="{}" stroke-width="{}"/>'
    ).format(*inner[:2], inner.width, inner.height, corner, CALL, weight)


def _leader_svg(place: Placed, *, dot: bool = False) -> Markup:
    if place.spot.leader is None:
        return Markup()
    x0, y0, x, y = leader_of(place.box, place.spot)
    line = Markup(
        '<path d="{0}" fill="none" stroke="#fff" stroke-width="3"/>'
        '<path d="{0}" fill="none" stroke="{1}"/>'
    ).format(f"M{x0:.1f} {y0:.1f}L{x:.1f} {y:.1f}", INK)
    end = Markup('<circle cx="{:.1f}" cy="{:.1f}" r="1.8" fill="{}"/>')
    return line + end.format(x, y, INK) if dot else line
