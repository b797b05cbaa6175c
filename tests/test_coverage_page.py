"""The page that `coverage` makes: the same figures, safe to open, whole offline."""

import html
import io
import json
import re
import warnings
from pathlib import Path

import lxml.html
import pandas as pd
import pytest
from shapely import Point, box

from practices_made import done, geojson, remarks, report, write
from sweptwater.units import area_text, share_text


def _tables(page: Path) -> dict[str, pd.DataFrame]:
    """Return the tables of a page by the heading of their first column."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        tables = pd.read_html(io.StringIO(page.read_text(encoding="utf-8")))
    return {str(table.columns[0]): table for table in tables}


def test_pages_are_written_where_it_says(
    fished: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(fished)
    names = {
        (): "coverage.html",
        ("--day", "2027-06-08"): "coverage-2027-06-08.html",
        ("--day", "20270608"): "coverage-2027-06-08.html",
        ("--pair", "HERON"): "coverage-Heron.html",
        ("--day", "2027-06-09", "--pair", "Heron"): "coverage-2027-06-09-Heron.html",
    }
    for words, name in names.items():
        result = done(None, "coverage", *words)
        page = Path("reports") / name
        assert remarks(result) == (
            f"The page: {page}\nIts map, to send: {page.with_suffix('.png')}\n"
        )
        assert (fished / "reports" / name).stat().st_size > 50_000


def _page(folder: Path, *words: str) -> str:
    done(folder, "coverage", *words)
    name = "-".join(["coverage", *words[1::2]]) + ".html"
    return (folder / "reports" / name).read_text(encoding="utf-8")


def test_the_page_tells_the_same_figures(fished: Path) -> None:
    found = report(fished, "coverage")
    tables = _tables(fished / "reports" / "coverage.html")
    sectors = tables["Sector"]
    for (_, row), line in zip(
        sectors.iloc[:-1].iterrows(), found["sectors"], strict=True
    ):
        assert row["Sector"] == f"{line['sector']} {line['pair']}"
        assert row["Water"] == area_text(line["water_m2"])
        assert row["Fished"] == share_text(line["fished_share"])
        assert row["Twice"] == area_text(line["drifts_over"]["2"])
    total = sectors.iloc[-1]
    assert total["Sector"] == "All"
    assert total["Water"] == area_text(found["water_m2"])
    assert total["Once"] == area_text(found["drifts_over"]["1"])
    boats = tables["Boat"]
    assert list(boats["Swept"]) == [area_text(b["swept_m2"]) for b in found["boats"]]
    assert list(boats["Drifts"]) == [b["drifts"] for b in found["boats"]]
    assert set(boats["Out"]) == {"10:00"}
    assert len(tables["Drift"]) == found["drifts"]
    assert len(tables["Bank"]) == len(found["banks"])
    pieces = report(fished, "unfished")["pieces"]
    assert list(tables["Piece"]["Area"]) == [area_text(p["area_m2"]) for p in pieces]


def test_the_page_needs_no_network(fished: Path) -> None:
    page = _page(fished)
    found = lxml.html.fromstring(page.encode())
    links = [link for _, _, link, _ in found.iterlinks()]
    assert [link for link in links if not link.startswith(("#", "data:"))] == []
    assert not re.findall(r"@import|url\(\s*[\"']?(?:https?:)?//", page)


def test_a_page_of_some_boats_says_whose_water_is_unfished(fished: Path) -> None:
    """Water that others fished is not water where nobody has been."""
    assert re.search(r"<span>Unfished <small>numbered", _page(fished))
    one = _page(fished, "--pair", "Heron")
    assert "<h1>Ashlode Pool, Heron: fished and not fished</h1>" in one
    assert not re.search(r"<span>Unfished <small>numbered", one)
    assert "Not fished by Heron" in one
    assert "not fished by Heron" in one
    day = _page(fished, "--day", "2027-06-09")
    assert "Not fished on 9 June" in day
    assert "<h1>Ashlode Pool, 9 June: fished and not fished</h1>" in day


BAD = "<script>alert('&')</script><img src=x onerror=alert(1)>"


def test_all_text_is_escaped(fished: Path, tmp_path: Path) -> None:
    marks = geojson(tmp_path / "m.geojson", Point(-500, 10), names=[BAD])
    done(fished, "venue", "add", "--kind", "mark", marks)
    halves = (box(-1300, -700, -200, 700), box(-200, -700, 1300, 700))
    file = geojson(tmp_path / "s.geojson", *halves, names=[BAD, "</script>"])
    done(fished, "divide", "--sectors", file)
    write(fished / "tracks" / "Heron" / "<script>x.gpx", "no")
    settings = fished / "practice.toml"
    text = settings.read_text().replace('"Ashlode Pool"', json.dumps(f"Pool {BAD}"))
    settings.write_text(text)
    page = _page(fished)
    assert "<script>alert" not in page
    assert "<img src=x" not in page
    assert "<script>x.gpx" not in page
    assert html.escape("<script>alert(") in page
    sectors = _tables(fished / "reports" / "coverage.html")["Sector"]
    assert BAD in set(sectors["Sector"].str.removesuffix(" Heron"))


def test_reports_can_be_thrown_away(fished: Path) -> None:
    first = _page(fished)
    (fished / "reports" / "coverage.html").unlink()
    assert _page(fished) == first


def test_of_very_many_drifts_the_earlier_go_by_boat_days(
    fished: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rows of the day and the boat still lead to them: their keys begin so."""
    from sweptwater.jobs import coverage_page

    monkeypatch.setattr(coverage_page, "MOST_APART", 1)
    monkeypatch.setattr(
        coverage_page, "last_drifts", lambda lines: [x for x in lines if x.day.day == 9]
    )
    done(fished, "coverage")
    page = (fished / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert "drift/2027-06-08/Heron/all" in page
    assert "Grebe, 2 drifts" in page
    assert "drift/2027-06-08/Grebe/1" not in page
    assert "drift/2027-06-09/Heron/1" in page
