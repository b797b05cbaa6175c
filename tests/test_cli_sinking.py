"""`sinking`, from the outside."""

from pathlib import Path

import pytest

from practices_made import done, refused, report, run
from sweptwater.practice.tackle import LINES

KEYS = {
    *("practice", "pair", "drift_m_s", "drift_from", "drift_told", "drogue"),
    *("wind_from_deg", "wind_m_s", "cast_m", "retrieve", "retrieve_m_s", "useful"),
    *("doubt", "depth_m", "lines_for_depth", "lines", "with_drogue", "advice"),
    "remarks",
}
LINE_KEYS = {
    *("line", "sink_in_s", "overrun_s", "overrun_depth_m", "useful_depth_m"),
    *("useful_low_m", "useful_high_m", "countdown", "layers"),
}


def test_the_report(begun: Path) -> None:
    """The values by hand: 20 m at 0.4 m/s are 50 s, by when 3 in/s makes 3.81 m."""
    found = report(begun, "sinking", "--drift", "0.4", "--cast", "20m")
    assert set(found) == KEYS
    assert [line["line"] for line in found["lines"]] == [line.name for line in LINES]
    assert all(set(line) == LINE_KEYS for line in found["lines"])
    (three,) = (line for line in found["lines"] if line["line"] == "3 in/s")
    assert three["overrun_depth_m"] == pytest.approx(3.81)
    assert three["useful_depth_m"] == pytest.approx(0.6 * 3.81)
    for count in three["countdown"]:
        assert count["s"] == pytest.approx(count["depth_m"] / 0.0762)
    assert found["lines"][0]["countdown"] == []
    assert sum(layer["s"] for layer in three["layers"]) == pytest.approx(50)
    assert (found["drift_from"], found["pair"]) == ("asked", None)


def test_without_tracks_it_is_a_usual_wind(begun: Path) -> None:
    """4.5 % of force 3 to 4, 0.836 x 3.5^1.5 m/s: 0.246 m/s; with the drogue 0.56."""
    found = report(begun, "sinking")
    assert found["drift_from"] == "usual"
    assert found["drift_m_s"] == pytest.approx(0.045 * 0.836 * 3.5**1.5)
    assert found["with_drogue"]["drift_m_s"] == pytest.approx(0.56 * found["drift_m_s"])
    inside = report(begun, "sinking", "--drogue", "in")
    assert inside["with_drogue"] is None
    assert inside["drift_m_s"] == pytest.approx(found["with_drogue"]["drift_m_s"])
    assert inside["lines"] == found["with_drogue"]["lines"]
    assert "no tracks tell better yet" in done(begun, "sinking").stdout


def test_a_wind_gives_the_speed(begun: Path) -> None:
    """The published share of force 4, 0.836 x 4^1.5 m/s: 4.5 % are 0.301 m/s."""
    found = report(begun, "sinking", "--wind", "SW4")
    assert found["drift_m_s"] == pytest.approx(0.301, abs=5e-4)
    assert (found["drift_from"], found["wind_from_deg"]) == ("wind", 225)
    assert found["drift_told"] == (
        "in SW 4 (15 mph) with the drogue out, as open boats usually do"
    )
    assert found["remarks"] == []


def test_more_wind_than_this_practice_goes_afloat_in(begun: Path) -> None:
    result = run(begun, "sinking", "--wind", "SW7")
    assert result.exit_code == 0
    assert result.stderr.startswith("Stay ashore: SW 7 (")


def test_the_boats_own_drifts_give_the_speed(fished: Path) -> None:
    """Heron made two drifts and Grebe two, all at 0.4 m/s: three tell enough."""
    found = report(fished, "sinking")
    assert found["drift_from"] == "tracks"
    assert found["drift_m_s"] == pytest.approx(0.4, rel=0.02)
    assert (
        found["drift_told"] == "the middle of 4 drifts of all boats with the drogue out"
    )
    heron = report(fished, "sinking", "--pair", "heron")
    assert (heron["pair"], heron["drift_told"]) == ("Heron", found["drift_told"])
    inside = report(fished, "sinking", "--drogue", "in")
    assert inside["drift_m_s"] == pytest.approx(0.56 * found["drift_m_s"])
    assert "without the drogue, by what a drogue usually leaves" in inside["drift_told"]


def test_what_is_told(begun: Path) -> None:
    told = done(begun, "sinking", "--drift", "24yd/min", "--depth", "15").stdout
    lines = told.splitlines()
    assert lines[0] == "24 yd a minute: as asked"
    assert lines[1] == (
        "At 24 yd a minute and a 25 yd cast 3 in/s works to about 9 ft; for 15 ft take "
        "5 in/s, or put the drogue in: then 3 in/s does."
    )
    counts = next(line for line in lines if line.startswith("3 in/s ")).split()[-6:]
    assert counts == ["12", "20", "32", "40", "60", "-"]  # 36 inches at 3 a second
    assert "good to some 25 % either way" in told
    assert "how deep the water is" in told


def test_the_settings_count(begun: Path) -> None:
    path = begun / "practice.toml"
    text = path.read_text()
    text = text.replace("useful = 0.6", "useful = 0.5").replace(
        '"3 in/s" = 3', '"X" = 4'
    )
    path.write_text(text.replace("layers_ft = [3, 8, 15]", "layers_ft = [4, 10]"))
    found = report(begun, "sinking", "--drift", "0.4", "--cast", "20m")
    (own,) = (line for line in found["lines"] if line["line"] == "X")
    assert own["useful_depth_m"] == pytest.approx(0.5 * 4 * 0.0254 * 50)
    assert [layer["layer"] for layer in own["layers"]] == [
        "0-4 ft",
        "4-10 ft",
        "10+ ft",
    ]
    assert found["depth_m"] == pytest.approx(3.048)


def test_metres_where_the_practice_is_metric(begun: Path) -> None:
    path = begun / "practice.toml"
    path.write_text(path.read_text().replace('units = "imperial"', 'units = "metric"'))
    words = ("sinking", "--drift", "0.4", "--cast", "20", "--depth", "4")
    found = report(begun, *words)
    assert (found["cast_m"], found["depth_m"]) == (20, 4)
    told = done(begun, *words).stdout
    assert "At 24 m a minute and a 20 m cast" in told
    assert "How deep flies get in metres" in told


def test_a_retrieve(begun: Path) -> None:
    """Roly-poly beats the drift: 0.8 m/s pulls 20 m in in 25 s."""
    words = ("sinking", "--drift", "0.4", "--cast", "20m", "--retrieve", "Roly-poly")
    found = report(begun, *words)
    assert found["retrieve_m_s"] == 0.8
    assert found["lines"][4]["overrun_depth_m"] == pytest.approx(1.905)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--drift", "fast"), "'fast' is no speed of a drift: write it like 24yd/min"),
        (("--drift", "9"), "at 9 m/s nobody fishes from a drifting boat: say how fast"),
        (("--wind", "calm"), "at 0 m/s nobody fishes from a drifting boat"),
        (("--wind", "breezy"), "'breezy' is no wind"),
        (("--cast", "long"), "'long' is no length of a cast: write it like 25yd, or"),
        (("--cast", "200"), "nobody casts 200: write it like 25yd, or 23m"),
        (("--depth", "bottom"), "'bottom' is no depth: write it like 15ft, or 4.5m"),
        (("--depth", "400m"), "no line fishes at 400m: write it like 15ft"),
        (
            ("--retrieve", "odd"),
            "'odd' is no retrieve that is known here: write static",
        ),
        (("--pair", "Coot"), "there is no pair 'Coot'"),
    ],
)
def test_what_cannot_be_understood(
    begun: Path, words: tuple[str, ...], told: str
) -> None:
    assert told in refused(begun, "sinking", *words)
