"""What a coverage report tells, and the shapes behind it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from sweptwater.arrays import Area
from sweptwater.jobs.done import PlanDone
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.searched import SoFished, Which
from sweptwater.jobs.searched_parts import swept_by_layer, swept_by_light
from sweptwater.offers.flies import layer_names
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import Stack
from sweptwater.swept.ledger import BoatLine, SectorLine
from sweptwater.swept.memory import MemoryDay, MemoryLine, with_memory
from sweptwater.swept.shore import BankLine
from sweptwater.swept.totals import DayLine, PairLine


@dataclass(frozen=True, slots=True)
class Covered:
    """How much of the water has been fished; areas in m2, durations in s."""

    practice: str
    day: date | None
    pair: str | None
    layer: str | None
    light: str | None
    """The layer and the light that the report is confined to, if any; in words."""
    pairs_day: date | None
    """The day for which the sectors' pairs are told; none if they do not change."""
    water_m2: float
    fished_m2: float
    fished_share: float
    share_if_cast: dict[str, float]
    drifts: int
    drifts_over: dict[str, float]
    sectors: tuple[SectorLine, ...]
    banks: tuple[BankLine, ...]
    days: tuple[DayLine, ...]
    pairs: tuple[PairLine, ...]
    boats: tuple[BoatLine, ...]
    """What is new there is so among all boats, chosen or not."""
    remembered_m2: float
    remembered_share: float
    """Water that only drifts from memory swept: no part of what is fished."""
    remembered: tuple[MemoryLine, ...]
    planned: tuple[PlanDone, ...]
    """What became of the drifts that were planned for those boats."""
    remarks: tuple[str, ...]
    """What is odd about drifts from memory."""
    missing: tuple[str, ...]
    """Boats that have no track on a day when others have, or of the practice."""
    faults: tuple[str, ...]
    """What is not counted, and why: tracks, or sectors that the water has left."""


@dataclass(frozen=True)
class Parts:
    """The swept water once more, part by part, in metres.

    Parameters
    ----------
    by_day, by_pair
        What the boats of each day swept, and what each pair did.
    alone, shared
        What of each pair's no other pair swept, and what several did.
    """

    by_day: Mapping[date, Area]
    by_pair: Mapping[str, Area]
    alone: Mapping[str, Area]
    shared: Area


@dataclass(frozen=True)
class Sight:
    """All that a coverage map shows, in metres.

    Parameters
    ----------
    boats, stack, parts
        What was recorded.
    how
        The layers and the light that each drift was fished in, as far as it was told.
    memory, remembered
        What was told from memory, and the water that only so is known to be swept.
    report
        The figures of both, kept apart.
    """

    opened: Opened
    boats: tuple[BoatDay, ...]
    stack: Stack
    parts: Parts
    how: Mapping[Which, SoFished]
    memory: tuple[MemoryDay, ...]
    remembered: Area
    report: Covered

    @cached_property
    def by_layer(self) -> Mapping[str, Area]:
        """What was swept with flies in each layer (see `swept_by_layer`)."""
        settings = self.opened.settings
        layers = layer_names(settings.tackle, settings.units)
        return swept_by_layer(self.boats, self.how, layers)

    @cached_property
    def by_light(self) -> Mapping[str, Area]:
        """What was swept in each light (see `swept_by_light`)."""
        return swept_by_light(self.boats, self.how)

    @property
    def visited(self) -> Area:
        """All swept water, recorded or remembered."""
        return with_memory(self.stack.once, self.remembered)
