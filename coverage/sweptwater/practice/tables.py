"""Tables of a TOML file: read key by key, and every mistake told with its way out."""

import re
import tomllib
from collections.abc import Collection, Iterable, Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from sweptwater.errors import PracticeError
from sweptwater.units import (
    ACRE_M2,
    FOOT_M,
    HECTARE_M2,
    KMH_M_S,
    KNOT_M_S,
    MPH_M_S,
    YARD_M,
)

ENDINGS: Mapping[str, Mapping[str, float]] = {
    "_m_s": {"_m_s": 1.0, "_mph": MPH_M_S, "_kmh": KMH_M_S, "_kn": KNOT_M_S},
    "_m2": {"_acres": ACRE_M2, "_ha": HECTARE_M2},
    "_deg": {"_deg": 1.0},
    "_m": {"_yd": YARD_M, "_ft": FOOT_M, "_m": 1.0},
    "_s": {"_s": 1.0, "_min": 60.0, "_h": 3600.0},
}
"""How a setting's name may end, with the unit's size in SI, by its field's ending."""

TIPS: Mapping[str, str] = {
    r"[\u201c\u201d\u2018\u2019]": 'write straight quotes, like "this"',
    r"[^=]*=\s*[+-]?\d+,\d": "write decimals with a point, like 22.5",
    r"[^=]*=\s*[+-]?[\d.]+ *[A-Za-z]": "write the number alone, without its unit",
    r"[^=\[]*=\s*(?!true|false)[A-Za-z]": 'put text in quotes, like "this"',
    r"\s*\w+\s*:": "write = instead of the colon",
    r"\s*[^\[#=]*$": "a line is a setting, = and its value; a remark begins with #",
}
"""What people write by hand that TOML does not take, and what it takes."""


def load_table(text: str, file: str) -> dict[str, Any]:
    """Return what the text of a TOML file says.

    Raises
    ------
    PracticeError
        Naming the line that cannot be read, with its words and what they may be.
    """
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise PracticeError(
            f"{file} cannot be read: it has too many brackets in each other; delete "
            "them, or put a saved copy back"
        ) from error
    except tomllib.TOMLDecodeError as error:
        raise PracticeError(
            f"{file} cannot be read: {error}{_line_told(text, str(error))}"
        ) from error


def _line_told(text: str, error: str) -> str:
    """Return the words of the line that an error names, and what to do with it."""
    at = re.search(r"at line (\d+)", error)
    lines = text.replace("\r\n", "\n").split("\n")
    line = lines[int(at[1]) - 1].strip() if at else ""
    if "twice" in error or "overwrite" in error:
        return "; mend that line: what it says is there already"
    if not line:
        return "; mend that line, or the one before it"
    said = f", where it says: {line.partition('  #')[0][:60]}"
    tips = (tip for pattern, tip in TIPS.items() if re.match(pattern, line))
    quotes = (TIPS[q] for q in list(TIPS)[:1] if re.search(q, line))
    tip = next(iter((*quotes, *tips)), "")
    return f"{said}; mend that line{f': {tip}' if tip else ''}"


def near_words(word: str, known: Iterable[str]) -> str:
    """Return a question for the known word that another may be meant as, or nothing.

    Examples
    --------
    >>> near_words("kast_yd", ["boat_yd", "cast_yd"]), near_words("x", ["cast_yd"])
    (' did you mean cast_yd?', '')
    """
    by_case = {name.casefold(): name for name in known}
    near = get_close_matches(word.casefold(), by_case, n=1, cutoff=0.7)
    return f" did you mean {by_case[near[0]]}?" if near else ""


def lengths(
    table: Mapping[str, Any],
    known: Mapping[str, str],
    section: str,
    apart: Collection[str] = (),
) -> dict[str, Any]:
    """Return SI values by field, of settings whose names end in their unit.

    Parameters
    ----------
    table
        A section of the file, by the names of its settings.
    known
        The fields by the names of their settings, without a unit.
    section
        What the section is called.
    apart
        Its settings without a unit, which the caller reads.

    Raises
    ------
    PracticeError
        If a setting is none, is there in two units, or is no number above 0.
    """
    keys = {
        f"{name}{ending}": (field_name, factor)
        for name, field_name in known.items()
        for ending, factor in _endings(field_name).items()
    }
    where = f"[{section}] of practice.toml"
    given: dict[str, str] = {}
    values = {}
    for key, value in table.items():
        if key in apart:
            continue
        if key not in keys:
            raise PracticeError(_no_such_setting(key, known, where, apart))
        field_name, factor = keys[key]
        if field_name in given:
            raise PracticeError(
                f"{where} has both {given[field_name]} and {key}: delete one of them"
            )
        given[field_name] = key
        values[field_name] = factor * _positive(value, key, section)
    return values


def _endings(field_name: str) -> Mapping[str, float]:
    return next(ENDINGS[end] for end in ENDINGS if field_name.endswith(end))


def _no_such_setting(
    key: str, known: Mapping[str, str], where: str, apart: Iterable[str]
) -> str:
    for name, field_name in known.items():
        if key == name or re.fullmatch(rf"{name}_[a-z0-9_]+", key):
            ways = " or ".join(f"{name}{end}" for end in _endings(field_name))
            return f"{where} has {key!r}, which has no unit that fits: write {ways}"
    names = [f"{n}{next(iter(_endings(f)))}" for n, f in known.items()]
    spelled = [f"{n}{end}" for n, f in known.items() for end in _endings(f)]
    return no_such_setting(key, [*names, *apart], where, spelled)


def _positive(value: object, key: str, section: str) -> float:
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or not 0 < value < 1e6
    ):
        raise PracticeError(
            f"[{section}] {key} must be a number above 0 and below a million in "
            f"practice.toml, not {value!r}"
        )
    return float(value)


def no_such_setting(
    key: str, names: Iterable[str], where: str, spelled: Iterable[str] = ()
) -> str:
    """Return what to say of a setting that there is not.

    Parameters
    ----------
    names
        The settings that there are.
    spelled
        The same, in every way that they may be written.
    """
    names = sorted(names)
    near = near_words(key, [*names, *spelled])
    return (
        f"{where} has a setting {key!r} that means nothing:{near} "
        f"{'The' if near else 'the'} settings there are {', '.join(names)}"
    )


def check_known(table: Mapping[str, Any], known: set[str], where: str) -> None:
    """Refuse a setting that there is not.

    Raises
    ------
    PracticeError
        Naming it, the one that it may be meant as, and those that there are.
    """
    for key in table:
        if key not in known:
            raise PracticeError(no_such_setting(key, known, where))


def section_of(table: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    """Return a section; an empty one if it is not there.

    Raises
    ------
    PracticeError
        If it is no section.
    """
    section = table.get(name, {})
    if not isinstance(section, dict):
        raise PracticeError(f"practice.toml must have {name} as a section, [{name}]")
    return section


def text_of(table: Mapping[str, Any], key: str, default: str | None = None) -> str:
    """Return a setting that is a text, without blanks around it.

    Raises
    ------
    PracticeError
        If it is none, or empty.
    """
    value = table.get(key, default)
    if not isinstance(value, str) or not value.strip():
        raise PracticeError(
            f'practice.toml must have {key} as text, like {key} = "..."'
        )
    return value.strip()


def choice_of(
    table: Mapping[str, Any], key: str, choices: Sequence[Any], default: Any
) -> Any:
    """Return a setting that is one of several.

    Raises
    ------
    PracticeError
        If it is another.
    """
    value = table.get(key, default)
    if value not in choices:
        raise PracticeError(
            f"{key} must be {' or '.join(map(repr, choices))} in practice.toml, "
            f"not {value!r}"
        )
    return value
