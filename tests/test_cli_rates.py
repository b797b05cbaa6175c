"""`rates`, and coverage of one layer under one sky: a small practice told by hand.

Counts and hours are against sums by hand; ranges against scipy's own intervals.
"""

from pathlib import Path
from typing import Any

import pytest
from scipy.stats import binomtest, chi2

from practices_made import begin, done, grebe, heron, refused, report, write

KEYS = {
    *("practice", "day", "pair", "by", "rows", "offers", "rod_hours", "rate", "low"),
    *("high", "untold_rod_hours", "comparisons", "rule", "widen", "ledger", "loose"),
    *("questions", "faults", "layer_unsure_share"),
}
ROW_KEYS = {
    *("by", "offers", "rod_hours", "drifts", "rate", "low", "high", "exact_low"),
    *("exact_high", "verdict", "direction", "untold_rod_hours", "fished_rod_hours"),
    *("against_offers", "against_rod_hours"),
}


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return Heron's drift on two days and Grebe's two, some of them told."""
    scratch = tmp_path_factory.mktemp("rates")
    folder = begin(scratch / "practice", scratch)
    done(folder, "divide")
    done(folder, "upload", "--pair", "Heron", write(scratch / "h8.gpx", heron()))
    done(folder, "upload", "--pair", "Heron", write(scratch / "h9.gpx", heron(9)))
    done(folder, "upload", "--pair", "Grebe", write(scratch / "g.gpx", grebe()))
    for words in (
        ("Heron 1 bow 1/2/0/1 floating", "2027-06-08"),
        ("Heron 1 stern 0/3/0/0 3ips c30 steady", "2027-06-08"),
        ("Heron 1 bow blank floating", "2027-06-09"),
        ("Grebe 1 blank floating", "2027-06-08"),
        ("Grebe 2 bow 0/0/1/0 floating", "2027-06-08"),
    ):
        done(folder, "tally", *words[0].split(), "--day", words[1])
    done(folder, "note", "sky", "bright", "--day", "2027-06-08", "--at", "06:00")
    done(folder, "note", "sky", "dull", "--day", "2027-06-09", "--at", "06:00")
    return folder


def hours_of(folder: Path, day: str, pair: str, number: int) -> float:
    """Return how long a drift lasted, by the list of drifts."""
    drifts = report(folder, "drifts")["drifts"]
    (minutes,) = (
        line["minutes"]
        for line in drifts
        if (line["day"], line["pair"], line["number"]) == (day, pair, number)
    )
    return float(minutes) / 60


def rows(found: dict[str, Any], *by: str) -> dict[tuple[str, ...], Any]:
    """Return the rows of one table by their circumstances."""
    return {
        tuple(row["by"].values()): row
        for row in found["rows"]
        if tuple(row["by"]) == by
    }


def test_the_figures_and_their_keys(told: Path) -> None:
    found = report(told, "rates")
    assert set(found) == KEYS
    assert all(set(row) == ROW_KEYS for row in found["rows"])
    assert found["practice"] == "Ashlode Pool"
    assert found["by"][0] == ["sector"]
    assert found["offers"] == 4 + 3 + 1
    h8 = hours_of(told, "2027-06-08", "Heron", 1)
    h9 = hours_of(told, "2027-06-09", "Heron", 1)
    g1, g2 = (hours_of(told, "2027-06-08", "Grebe", number) for number in (1, 2))
    assert found["rod_hours"] == pytest.approx(2 * h8 + h9 + 2 * g1 + g2, rel=1e-6)
    assert found["untold_rod_hours"] == pytest.approx(h9 + g2, rel=1e-6)
    assert found["rate"] == pytest.approx(8 / found["rod_hours"])
    assert found["low"] < found["rate"] < found["high"]


def test_rates_by_pair_and_sky(told: Path) -> None:
    found = report(told, "rates", "--by", "pair", "--by", "sky,pair")
    assert found["by"] == [["pair"], ["sky", "pair"]]
    by_pair, both = rows(found, "pair"), rows(found, "sky", "pair")
    assert {key: row["offers"] for key, row in by_pair.items()} == {
        ("Grebe",): 1,
        ("Heron",): 7,
    }
    assert set(both) == {("bright", "Grebe"), ("bright", "Heron"), ("dull", "Heron")}
    assert both["dull", "Heron"]["offers"] == 0
    assert both["dull", "Heron"]["rate"] == 0
    h9 = hours_of(told, "2027-06-09", "Heron", 1)
    assert both["dull", "Heron"]["rod_hours"] == pytest.approx(h9, rel=1e-6)
    assert both["dull", "Heron"]["untold_rod_hours"] == pytest.approx(h9, rel=1e-6)
    # Garwood 1936: chi-squared quantiles, here scipy's.
    row = by_pair["Heron",]
    exact = [chi2.ppf(0.025, 14) / 2, chi2.ppf(0.975, 16) / 2]
    assert [row["exact_low"], row["exact_high"]] == pytest.approx(
        [end / row["rod_hours"] for end in exact]
    )
    # Grebe against Heron; and under the sky that they share, the pairs: two in all,
    # since each has two rows at most.
    assert (row["against_offers"], found["comparisons"]) == (1, 2)
    hours = [by_pair[pair,]["rod_hours"] for pair in ("Heron", "Grebe")]
    p = 2 * binomtest(7, 8, hours[0] / sum(hours), alternative="greater").pvalue
    assert p > 0.05
    assert row["verdict"] == "too little to tell"


def test_what_was_fished_is_told_by_the_minute_and_by_layer(told: Path) -> None:
    found = report(told, "rates", "--by", "layer", "--pair", "Heron")
    by_layer = rows(found, "layer")
    h8 = hours_of(told, "2027-06-08", "Heron", 1)
    h9 = hours_of(told, "2027-06-09", "Heron", 1)
    assert set(by_layer) == {("0-3 ft",), ("8-15 ft",), ("not told",)}
    assert by_layer["0-3 ft",]["rod_hours"] == pytest.approx(h8 + h9, rel=1e-6)
    assert by_layer["8-15 ft",]["offers"] == 3
    assert by_layer["not told",]["fished_rod_hours"] == pytest.approx(h9, rel=1e-6)
    assert by_layer["not told",]["rate"] is None
    layers: dict[tuple[str, str], float] = {}
    for row in found["ledger"]:
        key = (row["layer"], row["sky"])
        layers[key] = layers.get(key, 0.0) + row["rod_hours"]
    assert layers == pytest.approx(
        {
            ("0-3 ft", "bright"): h8,
            ("8-15 ft", "bright"): h8,
            ("0-3 ft", "dull"): h9,
            ("not told", "dull"): h9,
        }
    )


def test_loose_offers_stand_apart(told: Path, tmp_path: Path) -> None:
    import shutil

    folder = Path(shutil.copytree(told, tmp_path / "loose"))
    words = "Heron somewhere 0/2/0/0"
    done(folder, "tally", *words.split(), "--day", "2027-06-09")
    found = report(folder, "rates")
    assert found["offers"] == 8
    (loose,) = found["loose"]
    assert (loose["offers"], loose["drifts"], loose["day"]) == (2, [1], "2027-06-09")
    assert len(found["questions"]) == 1
    # Once the other rod is told, they can only have come on that day.
    done(folder, "tally", "Heron", "1", "stern", "blank", "--day", "2027-06-09")
    again = report(folder, "rates", "--by", "day")
    assert again["offers"] == 10
    assert rows(again, "day")["2027-06-09",]["offers"] == 2


def test_the_table_says_what_it_can_bear(told: Path) -> None:
    out = done(told, "rates", "--by", "pair").stdout
    assert "8 offers in" in out
    assert "too little to tell" in out
    assert (told / "reports" / "met.html").is_file()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--by", "moon"], "'moon'"),
        (["--by", "sky,layer,bank"], "by one thing or by two"),
        (["--day", "2027-06-19"], "there is no track of 2027-06-19"),
        (["--pair", "Swan"], "there is no pair 'Swan'"),
    ],
)
def test_what_cannot_be_told(told: Path, words: list[str], sentence: str) -> None:
    assert sentence in refused(told, "rates", *words)


# Coverage of one layer, under one sky


def test_water_that_one_layer_never_saw_is_as_plain_as_unvisited(told: Path) -> None:
    whole = report(told, "coverage")
    top = report(told, "coverage", "--layer", "0-3")
    deep = report(told, "coverage", "--layer", "below 8", "--light", "bright")
    dull = report(told, "coverage", "--layer", "8-15 ft", "--light", "dull")
    assert (whole["layer"], whole["light"]) == (None, None)
    assert (top["layer"], deep["light"]) == ("0-3 ft", "bright")
    assert deep["layer"] == "below 8 ft"
    # Every drift that was told had a floating line on it but Grebe's stern.
    assert top["fished_m2"] == pytest.approx(whole["fished_m2"], rel=1e-6)
    assert top["drifts"] == whole["drifts"] == 4
    # The deep saw Heron's strip once, under a bright sky.
    strip = report(told, "coverage", "--day", "2027-06-08", "--pair", "Heron")
    assert deep["fished_m2"] == pytest.approx(strip["fished_m2"], rel=1e-6)
    assert (dull["fished_m2"], dull["drifts"]) == (0, 0)
    for found in (top, deep, dull):
        assert sum(line["fished_m2"] for line in found["sectors"]) == pytest.approx(
            found["fished_m2"], rel=1e-5, abs=1
        )
    page = told / "reports" / "coverage-below-8-ft-bright.html"
    assert "with flies below 8 ft" in page.read_text(encoding="utf-8")


def test_banks_tell_their_layers(told: Path) -> None:
    banks = report(told, "coverage")["banks"]
    fished = [line for line in banks if line["fished_m2"] > 0.5 * line["water_m2"]]
    assert fished
    for line in fished:
        assert line["layers"]["0-3 ft"] == pytest.approx(line["fished_share"], abs=0.01)
        assert line["layers"]["15+ ft"] == 0
        assert set(line["layers_by_light"]) <= {"bright", "dull", "not told"}
    out = done(told, "coverage", "--banks").stdout
    assert "0-3 ft: done; below 3 ft: never" in out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--layer", "4-5"], "there is no layer '4-5'"),
        (["--light", "moonlight"], "there is no light 'moonlight'"),
    ],
)
def test_layers_and_lights_there_are_not(
    told: Path, words: list[str], sentence: str
) -> None:
    assert sentence in refused(told, "coverage", *words)
