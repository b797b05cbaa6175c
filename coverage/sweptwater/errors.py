"""The errors that a captain can act on.

SweptwaterError (a ValueError)
├── PracticeError   the practice folder: its settings, its lock, its files
├── VenueError      an outline, a zone, a jetty
├── SectorError     a division of the water
├── TrackError      a file of fixes
└── PageError       a page that could not stand alone

Every message is one sentence or two: what is wrong, with the value and the file
or row, and what to do about it.
"""


class SweptwaterError(ValueError):
    """Something that the user can put right."""


class PracticeError(SweptwaterError):
    """The practice folder cannot be read or written as it is."""


class VenueError(SweptwaterError):
    """An outline or another part of the venue is unusable."""


class SectorError(SweptwaterError):
    """The water cannot be divided as asked."""


class TrackError(SweptwaterError):
    """A file of fixes is unusable, or is not from this water."""


class PageError(SweptwaterError):
    """A page would need the network to show itself."""
