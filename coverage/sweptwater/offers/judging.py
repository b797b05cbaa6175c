"""Which rows of some tables differ from those beside them."""

from collections.abc import Sequence
from dataclasses import dataclass

from sweptwater.offers.compare import Held, verdicts
from sweptwater.offers.grouping import UNKNOWN, Group


@dataclass(frozen=True, slots=True)
class Against:
    """What a row was held against, and what came of it; None if it was not."""

    offers: int = 0
    hours: float = 0.0
    held: Held | None = None


def judge(
    tables: Sequence[Sequence[Group]], factor: float
) -> tuple[list[list[Against]], int]:
    """Return what each row of some tables can bear, and how many were compared.

    All comparisons count as one family. A row is held against all others of its table;
    where a table tells two things apart, against those that share the second: which
    layer is best is one question under a bright sky and another under a dull one. Rows
    whose circumstances are not known are left out.
    """
    alike: dict[tuple[int, str], list[tuple[int, Group]]] = {}
    for number, table in enumerate(tables):
        for row, group in enumerate(table):
            known = list(group.by.values())
            if group.hours > 0 and not set(known) & set(UNKNOWN):
                shared = known[1] if len(known) > 1 else ""
                alike.setdefault((number, shared), []).append((row, group))
    family = verdicts(
        *(
            [(group.offers, group.hours) for _, group in rows]
            for rows in alike.values()
        ),
        factor=factor,
    )
    judged = [[Against() for _ in table] for table in tables]
    for ((number, _), rows), holds in zip(alike.items(), family.tables, strict=True):
        offers = sum(group.offers for _, group in rows)
        hours = sum(group.hours for _, group in rows)
        for (row, group), held in zip(rows, holds, strict=True):
            judged[number][row] = Against(
                offers - group.offers, hours - group.hours, held
            )
    return judged, family.comparisons
