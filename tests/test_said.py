"""What was said of a track goes to its file and comes back."""

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.practice.said import KINDS, Correction, Said, parse_said, said_text

moments = st.integers(0, 4_000_000_000).map(float)


@st.composite
def corrections(draw: st.DrawFn) -> Correction:
    start_s, end_s = sorted([draw(moments), draw(moments)])
    kind = draw(st.sampled_from(KINDS))
    ends_s = start_s if kind == "cut" else end_s
    return Correction(kind, start_s, ends_s, draw(st.integers(0, 99)))


@given(
    st.builds(
        Said,
        name=st.text(st.characters(exclude_categories=["Cs"])),
        digest=st.text("0123456789abcdef", min_size=64, max_size=64),
        shift_s=st.integers(-10_000, 10_000).map(lambda minutes: 60.0 * minutes),
        all_fishing=st.booleans(),
        day=st.none() | st.dates(),
        corrections=st.lists(corrections()).map(tuple),
    )
)
def test_what_was_said_comes_back(said: Said) -> None:
    assert parse_said(said_text(said)) == said


def test_times_may_carry_a_zone() -> None:
    """RFC 3339, as TOML 1.0 takes it over: offset date-times."""
    said = parse_said(
        '[[corrected]]\nwhat = "strike"\n'
        "from = 2027-06-08T10:05:00+01:00\nto = 2027-06-08 09:24:10Z\n"
    )
    (correction,) = said.corrections
    start = datetime(2027, 6, 8, 9, 5, tzinfo=UTC).timestamp()
    assert (correction.start_s, correction.end_s) == (start, start + 1150)
    assert correction.shifted(60).start_s == start + 60


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('shift_min = "ten"', "shift_min must be a number of minutes, not 'ten'"),
        ("shift_min = nan", "shift_min must be a number"),
        ("all_fishing = 1", "all_fishing must be true or false, not 1"),
        ('day = "8 June"', "day must be a day like 2027-06-08, not '8 June'"),
        ("day = 2027-06-08T10:00:00Z", "day must be a day like 2027-06-08"),
        ("corrected = 3", "corrected must be sections"),
        (
            '[[corrected]]\nwhat = "move"',
            "what must be join or cut or",
        ),
        ('[[corrected]]\nwhat = "cut"', "from must be a time like"),
        ('[[corrected]]\nwhat = "cut"\nfrom = 2027-06-08', "from must be a time like"),
        (
            '[[corrected]]\nwhat = "cut"\nfrom = 2027-06-08T10:00:00Z\nturn = 1.5',
            "turn must be a whole number",
        ),
        (
            '[[corrected]]\nwhat = "join"\nfrom = 2027-06-08T10:00:00Z\n'
            "to = 2027-06-08T09:00:00Z",
            "comes before from",
        ),
        ("name = ", "Invalid value"),
    ],
)
def test_a_mistake_is_told(text: str, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        parse_said(text)


def test_a_file_that_says_little_says_that() -> None:
    assert parse_said("") == Said()
    assert parse_said("day = 2027-06-08").day == date(2027, 6, 8)
