"""The wind that a plan is made for."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Wind:
    """A wind: where it comes from, and how hard it blows at 10 m above the water.

    Parameters
    ----------
    from_deg
        The bearing that it comes from, degrees clockwise from north.
    speed_m_s
        Its mean speed.

    Examples
    --------
    >>> Wind(from_deg=225, speed_m_s=6.7).downwind_deg
    45.0
    """

    from_deg: float
    speed_m_s: float

    @property
    def downwind_deg(self) -> float:
        """The bearing that it blows to."""
        return float((self.from_deg + 180) % 360)
