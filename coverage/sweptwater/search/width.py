"""What rods search from a boat that closes in on its flies: m2 a second, metres."""

from sweptwater.practice.search import SearchRules


def search_rate_m2_s(
    rods: int,
    *,
    cast_m: float,
    drift_m_s: float,
    rules: SearchRules,
    count_s: float = 0.0,
) -> float:
    """Return how much water rods search in a second, overlaps counted again.

    A fly is worked over L - v (c + t) of a cast's length L, since the boat closes in
    at v while it sinks for c seconds and is worked for t; it shows fish in a strip w
    wide; and a rod casts every T + c seconds. So n rods search
    n (L - v (c + t)) w / (T + c) a second.

    Parameters
    ----------
    cast_m, drift_m_s
        L and v.
    rules
        T, t and w.
    count_s
        c, for which flies are let sink.

    Examples
    --------
    >>> rules = SearchRules(cycle_s=40, working_s=20, shows_m=4)
    >>> round(search_rate_m2_s(2, cast_m=20, drift_m_s=0.4, rules=rules), 9)
    2.4
    >>> search_rate_m2_s(2, cast_m=20, drift_m_s=0.4, rules=rules, count_s=40)
    0.0
    """
    reach_m = cast_m - drift_m_s * (count_s + rules.working_s)
    return rods * max(0.0, reach_m) * rules.shows_m / (rules.cycle_s + count_s)
