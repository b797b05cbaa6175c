"""`divide`, from the outside: changing the sectors that there are."""

from pathlib import Path

import pytest
from shapely import LineString, Point, box

from practices_made import (
    CLOSED,
    FRAME,
    LAKE,
    done,
    geojson,
    refused,
    report,
    rough,
    run,
    write,
)

FISHABLE_M2 = LAKE.area - CLOSED.area


def _cut(x: float) -> LineString:
    return LineString([(x, -650), (x, 650)])


def test_a_cut_has_the_same_number_when_it_is_read_again(begun: Path) -> None:
    first = report(begun, "divide", "--shares", "1,2")
    again = report(begun, "divide", "--name", "A", "A")
    assert again["kept"] is None
    assert again["cuts"] == first["cuts"]
    assert again["sectors"] == first["sectors"]


def test_cuts_that_meet_in_open_water_say_so(begun: Path, tmp_path: Path) -> None:
    """Three sectors about one point, as a captain may draw them."""
    south = box(0, -700, 1300, -300)
    sides = (box(-1300, -700, 0, 700), box(0, -300, 1300, 700), south)
    file = geojson(tmp_path / "s.geojson", *sides, names=["W", "NE", "SE"])
    cuts = report(begun, "divide", "--sectors", file)["cuts"]
    assert [cut["between"] for cut in cuts] == [["W", "NE"], ["W", "SE"], ["NE", "SE"]]
    meet = "open water where cuts 1, 2 and 3 meet"
    for cut in cuts:
        assert [cut["from"]["shore"], cut["to"]["shore"]].count(meet) == 1
    told = done(begun, "divide", "--sectors", file).stdout
    assert told.count(meet) == 3


def test_cuts_may_be_kept_from_meeting(tmp_path: Path) -> None:
    """Chords that cut a third off a circle of radius r are 1.93 r long.

    Circular segment: the angle a with a - sin a = 2 pi / 3 is 2.6053; the chord is
    2 r sin(a / 2), and r cos(a / 2) from the middle. One and a straight cut from its
    middle to the far bank are 1.93 r + 1.26 r, two of them 3.86 r.
    """
    outline = geojson(tmp_path / "outline.geojson", Point(0, 0).buffer(1000, 64))
    folder = tmp_path / "pool"
    done(None, "start", folder, "--venue", outline)
    meeting = report(folder, "divide")["cuts"]
    assert sum(cut["length_m"] for cut in meeting) == pytest.approx(
        1930 + 1265, rel=2e-3
    )
    apart = report(folder, "divide", "--bank-to-bank")["cuts"]
    assert [round(cut["length_m"], -1) for cut in apart] == [1930, 1930]
    for option in ("--lines", "--sectors"):
        assert run(folder, "divide", "--bank-to-bank", option, outline).exit_code == 2


def test_moving_an_end(begun: Path) -> None:
    """The cut of the rectangle is turned about its southern end: a triangle moves."""
    before = report(begun, "divide")
    (cut,) = before["cuts"]
    x, _ = FRAME.to_metres(cut["from"]["lon"], cut["from"]["lat"])
    lon, lat = FRAME.to_degrees(float(x) - 100, 640)
    after = report(begun, "divide", "--move", "1a", f"{lat:.7f},{lon:.7f}")
    (moved,) = after["cuts"]
    assert moved["to"] == cut["to"]
    assert moved["length_m"] == pytest.approx((1200**2 + 100**2) ** 0.5, abs=0.1)
    west, east = (s["water_m2"] for s in after["sectors"])
    assert before["sectors"][0]["water_m2"] - west == pytest.approx(60_000, abs=20)
    assert rough(west + east, FISHABLE_M2)
    assert report(begun, "check")["faults"] == []


@pytest.mark.parametrize("mark", ["Oak", "oak ", "OA"])
def test_moving_an_end_to_a_mark(begun: Path, mark: str) -> None:
    done(begun, "divide", "--shares", "1,2")
    # An island lies in the way: cut 1 goes on from it to the southern shore.
    cuts = report(begun, "divide", "--move", "2A", mark)["cuts"]
    moved = min((cut["from"] for cut in cuts), key=lambda end: float(end["near_m"]))
    assert moved["near"] == "Oak"
    assert moved["near_m"] < 2  # it stands 1 m off the shore


@pytest.mark.parametrize(
    ("end", "place", "told"),
    [
        ("1c", "Oak", "'1c' is no end of a cut"),
        ("first", "Oak", "is no end of a cut"),
        ("2a", "Oak", "there is no cut 2: the division has cut 1 only"),
        ("1a", "Elm", "there is no place 'Elm'"),
        ("1a", "", "there is no place ''"),
        ("1a", "2.3,54.95", "2.3,54.95 is far from the water"),
        ("1a", "91,0", "91,0 is far from the water"),
    ],
)
def test_moves_that_mean_nothing(begun: Path, end: str, place: str, told: str) -> None:
    before = (begun / "sectors.geojson").read_bytes()
    assert told in refused(begun, "divide", "--move", end, place)
    assert (begun / "sectors.geojson").read_bytes() == before


def test_holding_a_cut_and_redoing_the_rest(tmp_path: Path) -> None:
    folder = tmp_path / "pool"
    outline = geojson(tmp_path / "outline.geojson", LAKE)
    done(None, "start", folder, "--venue", outline, "--pairs", "Heron,Grebe,Teal")
    lines = geojson(tmp_path / "lines.geojson", _cut(-900), _cut(1000))
    done(folder, "divide", "--lines", lines)
    found = report(folder, "divide", "--hold", "1")
    rest_m2 = LAKE.area - 300 * 1200
    assert [s["water_m2"] for s in found["sectors"]] == pytest.approx(
        [300 * 1200, rest_m2 / 2, rest_m2 / 2], rel=1e-4
    )
    found = report(folder, "divide", "--hold", "1", "--shares", "9,1,2")
    assert [s["water_m2"] for s in found["sectors"]] == pytest.approx(
        [300 * 1200, rest_m2 / 3, rest_m2 * 2 / 3], rel=1e-4
    )
    assert "there is no cut 9" in refused(folder, "divide", "--hold", "9")
    assert "there are 2 shares for 3" in refused(
        folder, "divide", "--hold", "1", "--shares", "1,1"
    )


def test_sectors_have_the_names_that_the_captain_gives(begun: Path) -> None:
    before = report(begun, "divide")
    found = report(begun, "divide", "--name", "a", " Dam  end", "--name", "B", "A")
    assert [s["sector"] for s in found["sectors"]] == ["Dam end", "A"]
    assert [s["pair"] for s in found["sectors"]] == ["Heron", "Grebe"]
    assert found["cuts"][0]["between"] == ["Dam end", "A"]
    assert found["kept"] == "sectors-before-1.geojson"
    del before["sectors"][0]["sector"], found["sectors"][0]["sector"]
    assert found["sectors"][0] == before["sectors"][0]
    assert "Dam end Heron" in done(begun, "coverage").stdout.replace("  ", " ")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("C", "Dam end", "there is no sector 'C': the sectors are A, B"),
        ("A", "b", "two sectors are called 'b'"),
        ("A", " ", "a sector cannot be called ''"),
        ("A", "x" * 41, "a sector cannot be called 'xxx"),
        ("A", "Dam\x07", "cannot be called 'Dam"),
    ],
)
def test_names_that_cannot_be(begun: Path, old: str, new: str, told: str) -> None:
    assert told in refused(begun, "divide", "--name", old, new)


DAYS = ["2027-06-08", "2027-06-09", "2027-06-10"]


def test_the_pairs_change_round(begun: Path) -> None:
    found = report(begun, "divide", "--rotate", ",".join(DAYS))
    assert [told["day"] for told in found["days"]] == DAYS
    assert [list(told["pairs"].values()) for told in found["days"]] == [
        ["Heron", "Grebe"],
        ["Grebe", "Heron"],
        ["Heron", "Grebe"],
    ]
    assert found["cuts"] == report(begun, "divide", "--name", "A", "A")["cuts"]
    # Days that are known already need not be told again, nor when dividing anew.
    assert report(begun, "divide", "--rotate")["days"] == found["days"]
    anew = report(begun, "divide", "--shares", "2,1")
    assert anew["days"] == found["days"]
    table = done(begun, "divide", "--rotate").stdout.splitlines()[-4:]
    assert table[0].split() == ["day", "A", "B"]
    assert table[1].split() == ["Tue", "8", "Jun", "Heron", "Grebe"]


def test_the_days_may_stand_in_the_settings(tmp_path: Path) -> None:
    outline = geojson(tmp_path / "outline.geojson", LAKE)
    folder = tmp_path / "pool"
    done(None, "start", folder, "--venue", outline, "--days", "2027-06-09,2027-06-08")
    assert [d["day"] for d in report(folder, "divide", "--rotate")["days"]] == DAYS[:2]


def test_days_that_nobody_knows(begun: Path) -> None:
    assert "the practice days are not known" in refused(begun, "divide", "--rotate")
    for days in ("Tuesday", "2027-13-01"):
        assert run(begun, "divide", "--rotate", days).exit_code == 2


def test_reports_tell_whose_a_sector_is_on_the_day(fished: Path) -> None:
    """The boats were out on 8 and 9 June; on the 10th the pairs are round again."""
    done(fished, "divide", "--rotate", "2027-06-08,2027-06-09")
    found = report(fished, "coverage", "--day", "2027-06-08")
    days = {"A": found["sectors"][0]["pair"]}
    found = report(fished, "coverage")
    assert found["pairs_day"] == "2027-06-09"
    assert found["sectors"][0]["pair"] != days["A"]
    by_sector = {s["sector"]: s["pair"] for s in found["sectors"]}
    for piece in report(fished, "unfished")["pieces"]:
        assert piece["pair"] == by_sector[piece["sector"]]


def _three(tmp_path: Path) -> Path:
    """Return the rectangle divided among three pairs by two straight cuts."""
    folder = tmp_path / "three"
    outline = geojson(tmp_path / "outline.geojson", LAKE.envelope)
    done(None, "start", folder, "--venue", outline, "--pairs", "Heron,Grebe,Teal")
    done(folder, "divide")
    return folder


def test_two_cuts_may_end_at_one_place(tmp_path: Path) -> None:
    """They stay two, and each can be moved again."""
    folder = _three(tmp_path)
    lon, lat = FRAME.to_degrees(0, 640)
    for end in ("1a", "2a"):
        cuts = report(folder, "divide", "--move", end, f"{lat},{lon}")["cuts"]
        assert [cut["between"] for cut in cuts] == [["A", "B"], ["B", "C"]]
    first, second = cuts
    assert first["from"] == second["from"]
    assert first["to"] != second["to"]
    lon, lat = FRAME.to_degrees(-300, 640)
    cuts = report(folder, "divide", "--move", "1a", f"{lat},{lon}")["cuts"]
    assert len(cuts) == 2


def test_an_end_in_open_water_is_not_moved(begun: Path, tmp_path: Path) -> None:
    south = box(0, -700, 1300, -300)
    sides = (box(-1300, -700, 0, 700), box(0, -300, 1300, 700), south)
    file = geojson(tmp_path / "s.geojson", *sides)
    done(begun, "divide", "--sectors", file)
    assert "in open water" in refused(begun, "divide", "--move", "1b", "Oak")


def test_no_sector_is_moved_to_nothing(tmp_path: Path) -> None:
    folder = _three(tmp_path)
    places = []
    for northing in (640, -640):
        lon, lat = FRAME.to_degrees(-1190, northing)
        places.append(f"{lat},{lon}")
    done(folder, "divide", "--move", "1a", places[0])
    told = refused(folder, "divide", "--move", "1b", places[1])
    assert "with end 1b there, sector A would be" in told


@pytest.mark.parametrize("shares", ["1e9,1", "1,1e-9"])
def test_a_share_that_is_next_to_nothing(begun: Path, shares: str) -> None:
    assert "is next to nothing" in refused(begun, "divide", "--shares", shares)


def test_the_shares_asked_for_are_kept_in_mind(tmp_path: Path) -> None:
    folder = _three(tmp_path)
    done(folder, "divide", "--shares", "1,1,2")
    found = report(folder, "divide", "--hold", "1")
    assert [s["share"] for s in found["sectors"]] == pytest.approx([0.25, 0.25, 0.5])
    result = done(folder, "divide", "--hold", "1", "--shares", "2,1,1")
    assert "The held cuts leave sector A 25 % of the water, not 50 %." in result.stderr
    assert "not divided yet" in refused(_undivided(tmp_path), "divide", "--hold", "1")


def _undivided(tmp_path: Path) -> Path:
    folder = tmp_path / "undivided"
    done(None, "start", folder, "--venue", tmp_path / "outline.geojson")
    return folder


def test_kept_sectors_come_back_as_they_were(begun: Path, tmp_path: Path) -> None:
    done(begun, "divide", "--shares", "2,1", "--name", "A", "Dam end")
    done(begun, "divide", "--rotate", ",".join(DAYS))
    before = (begun / "sectors.geojson").read_bytes()
    saved = write(tmp_path / "saved.geojson", before)
    done(begun, "divide")
    assert (begun / "sectors.geojson").read_bytes() != before
    done(begun, "divide", "--sectors", saved)
    assert (begun / "sectors.geojson").read_bytes() == before


def test_a_rota_goes_on(begun: Path) -> None:
    """Days that were told stay as they were; the pairs go on from there."""
    first = report(begun, "divide", "--rotate", ",".join(DAYS))["days"]
    more = report(begun, "divide", "--rotate", "2027-06-11")["days"]
    assert more[:3] == first
    assert list(more[3]["pairs"].values()) == ["Grebe", "Heron"]


def test_sectors_of_one_name_are_told_and_do_no_harm(fished: Path) -> None:
    done(fished, "divide", "--rotate", ",".join(DAYS))
    file = fished / "sectors.geojson"
    file.write_text(file.read_text().replace('"sector": "B"', '"sector": "A"'))
    for command in ("coverage", "unfished"):
        assert "2 sectors are called A" in done(fished, command).stderr
