"""The phone died at 12:10, and the pair says: boathouse to the point, twice, blank.

Right is: two drifts from memory, hatched; recorded and remembered shares apart, in
every figure; every recorded figure what it was without them.
"""

import json
import re
import shutil
from pathlib import Path

import geopandas as gpd
import lxml.html
import pytest
import shapely

from memory_made import ALONG_M, FISHABLE, TELL, along, hull, tell, wet, with_marks
from practices_made import (
    BACK,
    DRIFT_EAST,
    FRAME,
    STRIP_M2,
    boat,
    done,
    report,
    rough,
    tree,
    write,
)
from sweptwater.paper import looks
from sweptwater.units import share_text

RECORDED = hull((-800, 300), (200, 300))
"""Grebe's one drift of 1,000 m until 12:10, along northing 300."""

NEW = ("remembered_m2", "remembered_share", "remembered", "remarks")
NEW_OF_SECTOR = ("remembered_m2", "remembered_share", "bank_remembered_m")
NEW_OF_BANK = ("remembered_m2", "remembered_share", "done_remembered_m")
WORDS = (*TELL, "--from", "boathouse", "--to", "the point", "--times", "2")


@pytest.fixture(scope="module")
def _died(_begun: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    scratch = tmp_path_factory.mktemp("died")
    folder = with_marks(Path(shutil.copytree(_begun, scratch / "pool")), scratch)
    last = boat(DRIFT_EAST, start=(-800, 300), begin="2027-06-08T11:28:20+01:00")
    done(folder, "upload", "--pair", "Grebe", write(scratch / "g.gpx", last))
    whole = boat(DRIFT_EAST, *BACK, begin="2027-06-08T15:00:00+01:00")
    done(folder, "upload", "--pair", "Heron", write(scratch / "h.gpx", whole))
    return folder


@pytest.fixture
def died(_died: Path, tmp_path: Path) -> Path:
    """Return a practice in which Grebe's phone died at 12:10 and Heron's did not."""
    return Path(shutil.copytree(_died, tmp_path / "pool"))


@pytest.fixture
def told(died: Path) -> Path:
    """Return the same, with what Grebe says."""
    done(died, "drifts", "add", *WORDS, "--note", "blank")
    return died


def test_two_drifts_from_memory(died: Path) -> None:
    found = tell(died, *WORDS, "--note", "blank")
    assert (found["day"], found["pair"], found["known"]) == (
        "2027-06-08",  # the last day with tracks
        "Grebe",
        False,
    )
    assert (found["from"]["name"], found["to"]["name"]) == ("Boathouse", "Long Point")
    assert [d["number"] for d in found["drifts"]] == [2, 3]
    assert {d["source"] for d in found["drifts"]} == {"memory"}
    spans = [(d["start"][11:16], d["end"][11:16]) for d in found["drifts"]]
    assert spans == [("12:30", "13:05"), ("13:05", "13:40")]
    for drift in found["drifts"]:
        assert drift["length_m"] == pytest.approx(ALONG_M, abs=0.2)
        assert drift["course_deg"] == pytest.approx(90, abs=0.01)
        assert drift["swept_m2"] == pytest.approx(along().area, rel=1e-3)
    assert found["remarks"] == []
    # 20 yd out the strip reaches from 3 to 34 m off: no land is in it.
    assert rough(wet(along()).area, along().area)
    assert found["new_m2"] == pytest.approx(along().area, rel=1e-3)


def test_the_list_has_both(told: Path) -> None:
    listed = report(told, "drifts", "--pair", "grebe")
    assert [(d["number"], d["source"]) for d in listed["drifts"]] == [
        (1, "track"),
        (2, "memory"),
        (3, "memory"),
    ]
    everyone = report(told, "drifts")["drifts"]
    assert [d["pair"] for d in everyone] == ["Grebe"] * 3 + ["Heron"]
    shown = done(told, "drifts", "--day", "2027-06-08").stdout
    assert "Grebe's drifts on 2027-06-08" in shown
    assert [line.split()[-1] for line in shown.splitlines() if "12:30" in line] == [
        "memory"
    ]


def test_recorded_figures_stay_what_they_were(died: Path) -> None:
    before = report(died, "coverage")
    done(died, "drifts", "add", *WORDS)
    after = report(died, "coverage")
    assert before["remembered"] == []
    assert {before[name] for name in NEW[:2]} == {0.0}
    for name in NEW:
        del before[name], after[name]
    for lines, new in (("sectors", NEW_OF_SECTOR), ("banks", NEW_OF_BANK)):
        for line in (*before[lines], *after[lines]):
            for name in new:
                del line[name]
    assert after == before


def test_shares_are_apart_and_add_up(told: Path) -> None:
    """Against shapely: the hull of two fans, less what was recorded."""
    found = report(told, "coverage")
    recorded = wet(RECORDED, hull((-500, 0), (500, 0)))
    memory = wet(along()).difference(recorded)
    assert found["fished_m2"] == pytest.approx(recorded.area, rel=2e-3)
    assert found["remembered_m2"] == pytest.approx(memory.area, rel=1e-3)
    assert rough(found["remembered_share"], found["remembered_m2"] / FISHABLE.area)
    (line,) = found["remembered"]
    assert (line["day"], line["pair"], line["drifts"]) == ("2027-06-08", "Grebe", 2)
    assert line["told_s"] == 70 * 60
    assert line["drift_m"] == pytest.approx(2 * ALONG_M, abs=0.5)
    assert line["swept_m2"] == pytest.approx(memory.area, rel=1e-3)
    assert line["new_m2"] == pytest.approx(memory.area, rel=1e-3)
    assert found["drifts"] == 2
    for lines in ("sectors", "banks"):
        for row in found[lines]:
            share = row["remembered_m2"] / row["water_m2"]
            assert rough(row["remembered_share"], share)
    by_sector = sum(row["remembered_m2"] for row in found["sectors"])
    assert rough(by_sector, found["remembered_m2"], 1e-5)
    # All of it is before the south shore's banks.
    by_bank = sum(row["remembered_m2"] for row in found["banks"])
    assert rough(by_bank, found["remembered_m2"], 1e-4)


def test_what_is_remembered_is_not_unfished(told: Path) -> None:
    covered, found = report(told, "coverage"), report(told, "unfished")
    assert rough(found["remembered_m2"], covered["remembered_m2"])
    whole_m2 = found["unfished_m2"] + covered["fished_m2"] + found["remembered_m2"]
    assert rough(whole_m2, covered["water_m2"])
    assert (
        "acres more are known to be fished from memory only"
        in done(told, "unfished").stdout
    )
    file = told / "reports" / "u.geojson"
    done(told, "unfished", "--geojson", file)
    pieces = gpd.read_file(file).geometry
    middle = shapely.Point(*_degrees(-500, -580))
    assert not pieces.contains(middle).any()


def _degrees(easting: float, northing: float) -> tuple[float, float]:
    lon, lat = FRAME.to_degrees(easting, northing)
    return float(lon), float(lat)


def test_what_is_printed(told: Path) -> None:
    found = report(told, "coverage")
    shown = done(told, "coverage").stdout
    recorded = share_text(found["fished_share"])
    memory = share_text(found["remembered_share"])
    assert f"fished, {recorded} recorded + {memory} from memory; with a" in shown
    assert "25 % shorter the recorded would be" in shown
    assert "\nFrom memory, in no figure of the boats\n" in shown
    for line in found["sectors"]:
        share = f"{share_text(line['fished_share'])}  "
        assert f"+ {share_text(line['remembered_share'])}" in shown
        assert share in shown


def _page(folder: Path, *words: str) -> lxml.html.HtmlElement:
    done(folder, "coverage", *words)
    name = "-".join(["coverage", *words[1::2]]) + ".html"
    return lxml.html.fromstring((folder / "reports" / name).read_bytes())


def test_the_page_hatches_it(told: Path) -> None:
    page = _page(told)
    legend = page.find_class("legend")[0].text_content()
    assert "From memory" in legend
    assert "Drifts from memory" in legend
    pattern = looks.REMEMBERED.paint.removeprefix("url(#").removesuffix(")")
    assert len(page.xpath(f'//*[local-name()="pattern"][@id="{pattern}"]')) >= 1
    drawn = page.xpath(f'//*[local-name()="svg"]//*[@fill="url(#{pattern})"]')
    assert len(drawn) >= 2  # in the legend, and in the drawing for print
    dashes = page.xpath(f'//*[@stroke-dasharray="{looks.REMEMBERED_DRIFT.dash}"]')
    assert len(dashes) >= 2
    facts = page.text_content()
    assert "recorded + " in facts
    assert "8 June: the record ends" in facts
    assert "There are 2 drifts from memory." in facts
    assert "Did the phone die?" not in facts


def test_rows_of_the_page_lead_to_the_map(told: Path) -> None:
    page = _page(told)
    rows = {row.get("data-key"): row.text_content() for row in page.xpath("//tr")}
    assert "memory" in rows["drift/2027-06-08/Grebe/2"]
    assert "track" in rows["drift/2027-06-08/Grebe/1"]
    assert "2 drifts" not in rows["memory-2027-06-08-Grebe"]
    text = lxml.html.tostring(page, encoding="unicode")
    for key in ("drift/2027-06-08/Grebe/3", "memory-2027-06-08-Grebe"):
        assert text.count(json.dumps(key)) >= 1  # in the map's own data


def test_a_page_without_memory_says_nothing_of_it(died: Path) -> None:
    """The words stay away until somebody told something."""
    text = _page(died).text_content()
    assert "Did the phone die?" in text
    assert "From memory>" not in text
    assert " recorded + " not in text


def test_the_package_tells_them_apart(told: Path, tmp_path: Path) -> None:
    done(told, "export", tmp_path / "all.gpkg")
    drifts = gpd.read_file(tmp_path / "all.gpkg", layer="drifts")
    assert sorted(drifts["source"]) == ["memory", "memory", "track", "track"]
    swept = gpd.read_file(tmp_path / "all.gpkg", layer="swept").set_index("source")
    memory = FRAME.metres(swept.geometry["memory"])
    assert memory.area == pytest.approx(along().area, rel=1e-3)
    # The practice's frame is centred on its own water, some centimetres off.
    assert memory.symmetric_difference(along()).area < 0.05 * memory.length
    unfished = gpd.read_file(tmp_path / "all.gpkg", layer="unfished").union_all()
    assert unfished.intersection(swept.geometry["memory"]).area < 1e-12


def test_days_and_pairs_are_chosen_among_both(told: Path) -> None:
    one = report(told, "coverage", "--pair", "Heron")
    assert (one["remembered"], one["remembered_m2"]) == ([], 0)
    grebe = report(told, "coverage", "--pair", "Grebe", "--day", "2027-06-08")
    assert grebe["remembered_m2"] == pytest.approx(along().area, rel=1e-3)
    assert grebe["fished_m2"] == pytest.approx(STRIP_M2, rel=2e-3)


def test_a_day_that_only_memory_knows(told: Path) -> None:
    done(told, "drifts", "add", *WORDS, "--day", "2027-06-09")
    found = report(told, "coverage", "--day", "2027-06-09")
    assert (found["fished_m2"], found["boats"], found["drifts"]) == (0, [], 0)
    assert found["remembered_m2"] == pytest.approx(along().area, rel=1e-3)
    assert [line["new_m2"] for line in found["remembered"]] == [
        pytest.approx(0, abs=1)  # told of the day before
    ]
    assert found["missing"] == ["Heron on 2027-06-09", "Grebe on 2027-06-09"]
    shown = done(told, "coverage", "--day", "2027-06-09").stdout
    assert (
        "No track from Heron on 2027-06-09, Grebe on 2027-06-09 (2 drifts from memory)."
        in shown
    )
    assert "No tracks yet" not in shown
    page = _page(told, "--day", "2027-06-09").text_content()
    assert "acres that no track shown here has swept" in page  # one of 8 June has
    assert "9 June: no track from Grebe; 2 drifts from memory." in page
    assert "9 June: no track from Heron." in page
    assert len(report(told, "drifts", "--day", "2027-06-09")["drifts"]) == 2


def test_before_any_track(begun: Path, tmp_path: Path) -> None:
    with_marks(begun, tmp_path)
    done(begun, "drifts", "add", *WORDS, "--day", "2027-06-08")
    found = report(begun, "coverage")
    assert (found["fished_m2"], found["boats"]) == (0, [])
    assert found["remembered_m2"] == pytest.approx(along().area, rel=1e-3)
    page = _page(begun).text_content()
    assert "No boat has been out yet" not in page
    assert "0 % recorded + 0.8 % from memory" in page


def test_bank_that_is_done_only_with_memory(begun: Path, tmp_path: Path) -> None:
    """A recorded third of the water before the shore, and a remembered third."""
    with_marks(begun, tmp_path)
    way = boat(DRIFT_EAST, BACK[0], start=(-1000, -552))
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "a.gpx", way))
    done(begun, "drifts", "add", *WORDS)
    found = report(begun, "coverage")
    assert sum(line["bank_fished_m"] for line in found["sectors"]) == 0
    done_m = sum(line["bank_remembered_m"] for line in found["sectors"])
    assert done_m == pytest.approx(ALONG_M, abs=50)
    assert rough(done_m, sum(line["done_remembered_m"] for line in found["banks"]))


def test_the_track_that_comes_later_counts(told: Path, tmp_path: Path) -> None:
    """The phone wakes up again: the boat was elsewhere until 13:16:40."""
    way = boat(DRIFT_EAST, *BACK, start=(-800, 500), begin="2027-06-08T12:25:00+01:00")
    done(told, "upload", "--pair", "Grebe", write(tmp_path / "late.gpx", way))
    found = report(told, "coverage")
    (remark,) = found["remarks"]
    assert remark == (
        "Grebe on 8 June, 12:30 to 13:40, boathouse to the point: Grebe's track has "
        "12:30 to 13:16 already; what it swept there is counted once, as recorded"
    )
    listed = report(told, "drifts", "--pair", "Grebe")
    assert listed["remarks"] == [remark]
    assert remark in _page(told).text_content()
    # Nothing of the first of the two is left, and of the second 1,400 of 2,100 s.
    (line,) = found["remembered"]
    assert line["drift_m"] == pytest.approx(ALONG_M * 1400 / 2100, abs=2)
    assert line["told_s"] == pytest.approx(1400, abs=5)
    (left,) = [d for d in listed["drifts"] if d["source"] == "memory"]
    assert (left["number"], left["start"][11:16]) == (3, "13:16")


def test_what_a_track_has_all_of_is_not_counted(told: Path, tmp_path: Path) -> None:
    way = boat(
        *(DRIFT_EAST, *BACK) * 2, start=(-800, 500), begin="2027-06-08T12:12:00+01:00"
    )
    write(told / "tracks" / "Grebe" / "g.gpx", way)
    found = report(told, "coverage")
    assert (found["remembered"], found["remembered_m2"]) == ([], 0)
    (remark,) = found["remarks"]
    assert "is not counted from memory: Grebe's track has 12:30 to 13:40" in remark
    assert f"{remark}.\n" in done(told, "coverage").stderr
    # No list has a number for it, by which it could be struck out.
    assert remark.endswith("delete row 2 of remembered.csv")
    head, _, *others = (told / "remembered.csv").read_text().splitlines(True)
    (told / "remembered.csv").write_text("".join([head, *others]))
    assert report(told, "coverage")["remarks"] == []


def test_water_that_another_remembers_is_not_new(told: Path) -> None:
    """Nor is it told to be in a track, where it is in none."""
    later = ["15:00-16:00" if word == "12:30-13:40" else word for word in WORDS]
    assert later != list(WORDS)
    again = done(told, "drifts", "add", *later).stdout
    assert re.search(r" (0|<0\.01) acres of it new\n", again)


def test_striking_out_loses_nothing(told: Path) -> None:
    whole = report(told, "coverage")
    before = (told / "remembered.csv").read_text()
    struck = report(told, "drifts", "strike", "2", "--pair", "grebe")
    assert [line["number"] for line in struck["drifts"]] == [2, 3]
    after = (told / "remembered.csv").read_text()
    assert len(after.splitlines()) == len(before.splitlines()) == 2
    assert after.startswith(before.splitlines()[0])
    assert "boathouse,the point,2" in after
    assert report(told, "coverage")["remembered_m2"] == 0
    assert report(told, "coverage")["fished_m2"] == whole["fished_m2"]
    assert not tell(told, *WORDS)["known"]
    assert len((told / "remembered.csv").read_text().splitlines()) == 3
    assert report(told, "coverage")["remembered_m2"] == whole["remembered_m2"]


def test_telling_twice_changes_nothing(told: Path) -> None:
    before = tree(told)
    found = tell(
        told, *TELL, "--from", "The Boathouse", "--to", "LONG POINT", *WORDS[8:]
    )
    assert found["known"]
    assert tree(told) == before
    assert (
        "was told already: nothing changes"
        in done(told, "drifts", "add", *WORDS).stdout
    )


def test_originals_stay_byte_for_byte(died: Path) -> None:
    before = {k: v for k, v in tree(died).items() if not k.startswith(".lock")}
    done(died, "drifts", "add", *WORDS)
    done(died, "drifts", "strike", "2", "--pair", "Grebe")
    after = tree(died)
    del after["remembered.csv"]
    after.pop(".lock", None)
    assert after == before


def test_heron_is_a_boat_too(died: Path, tmp_path: Path) -> None:
    """Where memory crosses what a boat's track has, the water is the recorded's."""
    lat, lon = _degrees(0, -300)[::-1]
    words = ("--pair", "Grebe", "--from", "oak", "--to", f"{lat},{lon}")
    found = tell(died, *words, "--at", "13:00-14:00")
    shape = hull((0, 600 - 20 * 0.9144 - 0.01), (0, -300))
    recorded = wet(RECORDED, hull((-500, 0), (500, 0)))
    assert found["swept_m2"] == pytest.approx(shape.area, rel=1e-3)
    new_m2 = shape.difference(recorded).area
    assert found["new_m2"] == pytest.approx(new_m2, rel=1e-3)
    assert shape.area - new_m2 > 1500
    assert report(died, "coverage")["remembered_m2"] == pytest.approx(new_m2, rel=1e-3)
