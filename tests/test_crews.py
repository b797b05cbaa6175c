"""Who is in which boat: `[rods]` of practice.toml, and every wrong line told."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.errors import PracticeError
from sweptwater.practice.crews import ENDS, Crews
from sweptwater.practice.settings import Settings, parse_settings
from sweptwater.practice.template import settings_text

PAIRS = ("Heron", "Grebe", "Teal")
START = 'name = "Ashlode Water"\npairs = ["Heron", "Grebe", "Teal"]\n'
USUAL = '[rods]\nHeron = ["1", "2"]\nGrebe = ["3", "4"]\nTeal = ["5", "6"]\n'
TUESDAY, WEDNESDAY = date(2027, 6, 8), date(2027, 6, 9)


def test_without_a_word_two_rods_are_in_each_boat() -> None:
    settings = parse_settings(START)
    assert settings.crews == Crews()
    for pair in PAIRS:
        assert settings.rods_on(pair, TUESDAY) == ENDS
    assert settings.afloat_on(TUESDAY) == PAIRS


def test_a_rod_changes_boats_for_a_day() -> None:
    """One rod is ill: Teal stays ashore, and the other fishes in Heron's boat."""
    day = '[rods.2027-06-09]\nHeron = ["1", "5"]\nTeal = []\n'
    settings = parse_settings(START + USUAL + day)
    assert settings.rods_on("Heron", TUESDAY) == ("1", "2")
    assert settings.rods_on("Heron", WEDNESDAY) == ("1", "5")
    assert settings.rods_on("Grebe", WEDNESDAY) == ("3", "4")
    assert settings.rods_on("Teal", WEDNESDAY) == ()
    assert settings.afloat_on(TUESDAY) == PAIRS
    assert settings.afloat_on(WEDNESDAY) == ("Heron", "Grebe")


def test_a_boat_that_goes_out_on_single_days() -> None:
    settings = parse_settings(
        f"{START}[rods]\nTeal = []\n[rods.2027-06-09]\nTeal = [5]\n"
    )
    assert settings.afloat_on(TUESDAY) == ("Heron", "Grebe")
    assert settings.rods_on("Teal", WEDNESDAY) == ("5",)


def test_capitals_and_numbers_do_not_matter() -> None:
    settings = parse_settings(f"{START}[rods]\nheron = [1, 2]\nTEAL = ['bow']\n")
    assert settings.rods_on("Heron", TUESDAY) == ("1", "2")
    assert settings.rods_on("Teal", TUESDAY) == ("bow",)


def test_two_boats_have_each_a_bow() -> None:
    settings = parse_settings(
        f'{START}[rods]\nHeron = ["bow", "stern"]\nTeal = ["bow", "7"]\n'
    )
    assert settings.rods_on("Teal", TUESDAY) == ("bow", "7")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            '[rods]\nHeorn = ["1"]\n',
            r"\[rods\] .*pair 'Heorn', and .* Heron, Grebe, Teal: did you mean Heron\?",
        ),
        (
            '[rods]\nCoot = ["1"]\n',
            "pair 'Coot', and the pairs are Heron, .*also if it was renamed",
        ),
        (
            '[rods.2027-06-09]\nCoot = ["1"]\n',
            r"\[rods.2027-06-09\] of practice.toml names a pair 'Coot'",
        ),
        (
            '[rods]\nHeron = ["1"]\nheron = ["2"]\n',
            "names Heron twice: delete one of the lines",
        ),
        (
            '[rods]\nHeron = ["1", "2"]\nGrebe = ["2", "3"]\n',
            r"rod 2 is in two boats, Heron and Grebe: take it out of one",
        ),
        (
            f'{USUAL}[rods.2027-06-09]\nHeron = ["1", "5"]\n',
            r"\[rods.2027-06-09\] .*rod 5 is in two boats, Heron and Teal.*= \[\] for",
        ),
        ('[rods]\nHeron = ["a1", "A1"]\n', "rod A1 is twice in Heron's boat"),
        ('[rods]\nHeron = ["bow", "bow"]\n', "rod bow is twice in Heron's boat"),
        (
            "[rods]\nHeron = [1, 2, 3]\n",
            "Heron has 3 rods, 1, 2, 3: two fish from a boat, so put the others",
        ),
        ('[rods]\nHeron = "1"\n', "Heron must be a list of its rods, .*not '1'"),
        ("[rods]\nHeron = [true]\n", "must be a list of its rods"),
        ("[rods]\nHeron = [1.5]\n", "must be a list of its rods"),
        (
            '[rods]\nHeron = ["Tom Ash"]\n',
            "cannot be called 'Tom Ash': use a number or a call sign",
        ),
        ('[rods]\nHeron = [""]\n', "cannot be called ''"),
        ("[rods.2027-06-31]\nTeal = []\n", "2027-06-31 is no day: write it like"),
        ("[rods.09-06-2027]\nTeal = []\n", r"\[rods.09-06-2027\], and .* is no day"),
        ("[rods.Tuesday]\nTeal = []\n", "Tuesday is no day"),
        ("[rods.20270609]\nTeal = []\n", "20270609 is no day"),
        (
            "[rods]\n2027-06-09 = []\n",
            r"2027-06-09 as a line: make it a heading, \[rod",
        ),
        ("rods = 3\n", r"must have rods as a section, \[rods\]"),
        (
            "[rods]\ndays = [2027-06-09]\n",
            r"has days below \[rods\].*write it above",
        ),
    ],
)
def test_what_is_wrong_is_told(text: str, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        parse_settings(START + text)


rods = st.lists(st.sampled_from("123456"), min_size=6, max_size=6, unique=True)


@st.composite
def crews(draw: st.DrawFn) -> Crews:
    """Return boats of six rods, each somewhere else on some days."""

    def boats() -> dict[str, tuple[str, ...]]:
        six = draw(rods)
        return {
            pair: tuple(six[2 * i : 2 * i + draw(st.integers(0, 2))])
            for i, pair in enumerate(PAIRS)
        }

    days = draw(st.lists(st.integers(0, 9), max_size=4, unique=True))
    return Crews(boats(), {TUESDAY + timedelta(n): boats() for n in sorted(days)})


@given(crews())
def test_any_crews_come_back(crews: Crews) -> None:
    text = settings_text(Settings("Ashlode Water", PAIRS, crews=crews))
    again = parse_settings(text)
    assert again.crews == crews
    assert settings_text(again) == text


def test_the_template_s_remarks_can_be_made_lines() -> None:
    text = settings_text(Settings("Ashlode Water", PAIRS))
    lines = [
        line.removeprefix("# ")
        if " = [" in line or line == "# [rods.2027-06-09]"
        else line
        for line in text.splitlines()
    ]
    settings = parse_settings("\n".join(lines))
    assert settings.rods_on("Grebe", WEDNESDAY) == ("3", "4")
    assert settings.afloat_on(WEDNESDAY) == ("Heron", "Grebe")
    alone = settings_text(replace(Settings("Ashlode Water", ("Heron",))))
    assert parse_settings(alone).pairs == ("Heron",)
