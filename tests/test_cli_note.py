"""`note`, from the outside."""

from pathlib import Path

import pytest

from practices_made import FRAME, done, refused, report, run, tree
from sweptwater.errors import PracticeError
from sweptwater.jobs.note_words import clarity_m, warmth_c
from sweptwater.practice.notes import FORM, KINDS, NOTES
from sweptwater_cli import note as commands

WIND = ("note", "wind", "SW4", "--day", "2027-06-08", "--at", "10:00")
KEYS = {
    *("day", "time", "pair", "kind", "value", "meaning", "row", "known"),
    *("near", "lat", "lon", "instead_of", "remarks"),
}
ON_THE_8TH = ("--day", "2027-06-08")


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
        (("sky", "fair", *WIND[3:]), "'fair' does not say how the sky was: write brig"),
        (("clarity", "murky", *WIND[3:]), "'murky' is no clarity of water: write it"),
        (("clarity", "400", *WIND[3:]), "'400' is clearer than water is: write it"),
        (("temp-top", "cold", *WIND[3:]), "'cold' is no temperature: write it like 14"),
        (("temp-top", "35", *WIND[3:]), "'35' may be in C or in F: write it like"),
        (("temp-deep", "300F", *WIND[3:]), "'300F' is no temperature of water"),
        (("hatch", " ", *WIND[3:]), "there is no value of hatch: say what it was"),
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


def test_every_kind_has_a_command() -> None:
    assert sorted(kind.kind for kind in commands.KINDS) == sorted(KINDS)


@pytest.mark.parametrize(
    ("words", "row", "told"),
    [
        (("sky", "sunny"), "sky,sunny", "sky bright (sunny)"),
        (("sky", "dull"), "sky,dull", "sky dull"),
        (("wave", "good  ripple"), "wave,good ripple", "wave good ripple"),
        (("clarity", "6"), "clarity_ft,6", "clarity 6 ft"),
        (("clarity", "2 m"), "clarity_ft,2 m", "clarity 7 ft"),
        (("temp-top", "14.5"), "temp_top,14.5", "water at the top 14.5 C (58 F)"),
        (("temp-deep", "50F"), "temp_deep,50F", "water deep down 10 C (50 F)"),
        (("level", "3 ft down"), "level,3 ft down", "level 3 ft down"),
        (("hatch", "buzzers"), "hatch,buzzers", "hatch buzzers"),
        (("birds", "swifts low"), "birds,swifts low", "birds swifts low"),
        (("weed", "to the top"), "weed,to the top", "weed to the top"),
        (("spooned", "daphnia"), "spooned,daphnia", "spooned daphnia"),
        (("stocked",), "stocked,", "stocked"),
        (("stocked", "400"), "stocked,400", "stocked 400"),
        (("boats", "4"), "boats,4", "boats 4"),
        (("other", "all quiet"), "other,all quiet", "noted all quiet"),
    ],
)
def test_any_kind(begun: Path, words: tuple[str, ...], row: str, told: str) -> None:
    """What is noted stands in the file as it was said, and its meaning is told."""
    result = done(begun, "note", *words, *ON_THE_8TH, "--at", "10:00")
    assert result.stdout == f"2027-06-08 from 10:00 on, all boats: {told}\n"
    assert (
        (begun / NOTES)
        .read_text()
        .splitlines()[1]
        .startswith(f"2027-06-08,10:00,,{row},")
    )
    assert done(begun, "check").stdout.endswith("nothing wrong.\n")
    again = done(begun, "note", *words, *ON_THE_8TH, "--at", "10:00").stdout
    assert again.endswith("noted already, nothing changes\n")


def test_a_place_that_is_known(begun: Path) -> None:
    """The oak stands at 0, 599 of the frame (see practices_made)."""
    words = ("note", "boats", "4", "--near", "off the oak", *ON_THE_8TH)
    found = report(begun, *words)
    lon, lat = FRAME.to_degrees(0, 599)
    assert (found["near"], found["remarks"]) == ("off the oak", [])
    assert (found["lat"], found["lon"]) == pytest.approx((lat, lon), abs=1e-6)
    row = (begun / NOTES).read_text().splitlines()[1]
    assert row == f"2027-06-08,,,boats,4,{lat:.6f},{lon:.6f},off the oak,"
    told = done(begun, *words).stdout
    assert "boats 4, near off the oak: noted already" in told


def test_a_place_that_nobody_knows_is_kept_as_it_was_said(begun: Path) -> None:
    words = ("note", "birds", "terns", "--near", "the jetti", *ON_THE_8TH)
    result = run(begun, *words)
    assert result.exit_code == 0
    assert result.stderr == (
        'The place is kept as it was said: there is no mark "the jetti": did you mean '
        "Jetty?\n"
    )
    row = (begun / NOTES).read_text().splitlines()[1]
    assert row == "2027-06-08,,,birds,terns,,,the jetti,"


def test_signs_stand_beside_each_other(begun: Path) -> None:
    """Of what holds only one counts at a time; of what was seen all of it does."""
    at = (*ON_THE_8TH, "--at", "10:00")
    for words in (("hatch", "buzzers"), ("hatch", "olives"), ("birds", "terns")):
        assert report(begun, "note", *words, *at)["instead_of"] == ""
    for near in ("oak", "buoy"):
        found = report(begun, "note", "temp-top", "14", "--near", near, *at)
        assert found["instead_of"] == ""
    again = report(begun, "note", "temp-top", "15", "--near", "Oak", *at)
    assert again["instead_of"] == "water at the top 14 C (57 F)"
    assert report(begun, "note", "sky", "sunny", *at)["row"] == 8
    assert report(begun, "note", "sky", "bright", *at)["known"]
    assert report(begun, "note", "sky", "dull", *at)["instead_of"] == (
        "sky bright (sunny)"
    )


def test_what_else_was_said_is_not_lost(begun: Path) -> None:
    done(begun, *WIND)
    found = report(begun, *WIND, "--note", "gusting 6")
    assert (found["known"], found["row"], found["instead_of"]) == (False, 3, "")
    assert report(begun, *WIND)["known"]


@pytest.mark.parametrize(
    ("text", "warm_c"),
    [
        *(("14.5", 14.5), ("14,5 C", 14.5), ("58F", 14.444), ("50 degrees f", 10)),
        *(("32 F", 0), ("58", 14.444), ("4\u00b0C", 4), ("30", 30), ("40", 4.444)),
    ],
)
def test_temperatures(text: str, warm_c: float) -> None:
    """F is 9/5 C + 32; water that is fished is neither at 40 C nor at 30 F."""
    assert warmth_c(text) == pytest.approx(warm_c, abs=1e-3)


def test_clarity_in_any_unit() -> None:
    """The foot is 0.3048 m (agreement of 1959)."""
    assert [clarity_m(text) for text in ("10", "10ft", "2m", "2 yd")] == pytest.approx(
        [3.048, 3.048, 2.0, 1.8288]
    )
    with pytest.raises(PracticeError, match="is no clarity of water"):
        clarity_m("gin")
