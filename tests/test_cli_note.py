"""`note wind` and `note drogue`, from the outside."""

from pathlib import Path

import pytest

from practices_made import done, refused, report, tree
from sweptwater.practice.notes import FORM, NOTES

WIND = ("note", "wind", "SW4", "--day", "2027-06-08", "--at", "10:00")
KEYS = {
    *("day", "time", "pair", "kind", "value", "meaning", "row", "known"),
    "instead_of",
}


def test_a_wind_is_noted(begun: Path) -> None:
    found = report(begun, *WIND, "--note", "gusts")
    assert set(found) == KEYS
    assert (found["day"], found["time"], found["pair"]) == ("2027-06-08", "10:00", None)
    assert (found["meaning"], found["row"]) == ("wind SW 4 (15 mph)", 2)
    assert (found["known"], found["instead_of"]) == (False, "")
    head, row = (begun / NOTES).read_bytes().decode().split("\r\n")[:2]
    assert head == ",".join(FORM.columns)
    assert row == "2027-06-08,10:00,,wind,SW4,,,,gusts"
    assert done(begun, "check").stdout.endswith("nothing wrong.\n")


def test_what_is_told(begun: Path) -> None:
    assert done(begun, *WIND).stdout == (
        "2027-06-08 from 10:00 on, all boats: wind SW 4 (15 mph)\n"
    )
    drogue = ("note", "drogue", "IN", "--pair", "heron", "--day", "2027-06-08")
    assert done(begun, *drogue).stdout == "2027-06-08 all day, Heron: drogue in\n"


def test_the_same_twice_changes_nothing(begun: Path) -> None:
    done(begun, *WIND)
    before = tree(begun)
    again = ("note", "wind", " sw  4 ", *WIND[3:])
    assert done(begun, *again).stdout.endswith("noted already, nothing changes\n")
    assert report(begun, *WIND)["known"]
    assert tree(begun) == before


def test_a_correction_counts_and_the_old_row_stays(begun: Path) -> None:
    done(begun, *WIND)
    other = ("note", "wind", "W3", *WIND[3:])
    assert done(begun, *other).stdout.endswith(
        "all boats: wind W 3 (10 mph) instead of wind SW 4 (15 mph)\n"
    )
    assert report(begun, *WIND)["row"] == 4  # and back again
    rows = (begun / NOTES).read_text().splitlines()
    assert [row.split(",")[4] for row in rows[1:]] == ["SW4", "W3", "SW4"]
    heron = report(begun, *WIND, "--pair", "Heron")
    assert (heron["pair"], heron["row"], heron["instead_of"]) == ("Heron", 5, "")


def test_the_day_is_the_last_with_tracks(fished: Path) -> None:
    assert report(fished, "note", "wind", "SW4")["day"] == "2027-06-09"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("wind", "breezy", *WIND[3:]), "'breezy' is no wind: write it like SW4, or"),
        (("drogue", "up", *WIND[3:]), "'up' does not say where the drogue is: write"),
        ((*WIND[1:], "--pair", "Coot"), "there is no pair 'Coot'"),
        (("wind", "SW4", "--day", "9 June"), "'9 June' is no day"),
        (("wind", "SW4", "--day", "2027-06-09", "--at", "25:00"), "is no time of day"),
        (("wind", "SW4"), "there are no tracks yet"),
    ],
)
def test_what_cannot_be_understood(
    begun: Path, words: tuple[str, ...], told: str
) -> None:
    assert told in refused(begun, "note", *words)
    assert not (begun / NOTES).exists()


def test_check_finds_bad_rows_and_a_note_keeps_them(begun: Path) -> None:
    rows = (
        "day,time,pair,kind,value,weather",
        "2027-06-08,10:00,,wind,breezy,wet",
        "2027-06-08,10:00,Coot,wind,SW4,",
        "8 June,10:00,,wind,SW4,",
        "2027-06-08,10:00,Heron,drogue,up,",
        "2027-06-08,10:00,,sky,dull,",
    )
    (begun / NOTES).write_text("\n".join(rows))
    faults = report(begun, "check", code=1)["faults"]
    assert [fault["file"] for fault in faults] == [NOTES] * 4
    assert [fault["what"].split(":")[0] for fault in faults] == [
        *("row 2", "row 3", "row 4", "row 5")
    ]
    assert report(begun, *WIND)["instead_of"] == "wind breezy"
    now = (begun / NOTES).read_text().splitlines()
    assert [row[: len(old)] for row, old in zip(now, rows, strict=False)] == list(rows)
    assert now[6].startswith("2027-06-08,10:00,,wind,SW4,")


def test_a_file_that_is_none(begun: Path) -> None:
    (begun / NOTES).write_bytes("day,kind\n".encode("utf-16"))
    (fault,) = report(begun, "check", code=1)["faults"]
    assert fault["file"] == NOTES
    assert "is not UTF-8 text" in fault["what"]
    assert "is not UTF-8 text" in refused(begun, *WIND)
