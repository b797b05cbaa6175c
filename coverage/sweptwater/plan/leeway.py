"""How a boat drifts in a wind: what is known before, and what its own drifts say."""

from dataclasses import dataclass

from sweptwater.plan.wind import Wind


@dataclass(frozen=True, slots=True)
class Leeway:
    """How boats drift in a wind, as far as it is known.

    Parameters
    ----------
    share
        The speed of a drift as a share of the wind's at 10 m.
    share_sd
        The scatter of that share from drift to drift.
    off_deg
        The course's mean angle off straight downwind, clockwise positive.
    off_sd_deg
        Its scatter from drift to drift.
    drifts
        From how many drifts it was learned; 0 if it is the published range.
    """

    share: float
    share_sd: float
    off_deg: float
    off_sd_deg: float
    drifts: int = 0

    def speed_m_s(self, wind: Wind) -> float:
        """Return the expected speed of a drift in a wind."""
        return self.share * wind.speed_m_s

    def course_deg(self, wind: Wind) -> float:
        """Return the expected course of a drift in a wind, clockwise from north."""
        return float((wind.downwind_deg + self.off_deg) % 360)
