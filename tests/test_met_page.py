"""The page of what was met says first what is missing, then what is sure."""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from met_sample import DAYS, TABLES, rate_row, sample_met
from sweptwater.jobs.met_page import page_of
from sweptwater.jobs.met_sight import LooseOffers, Met, Untold
from sweptwater.jobs.met_tables import met_tables, rates_table
from sweptwater.jobs.met_words import (
    by_title,
    circumstances,
    missing,
    notes,
    sentences,
    untold_text,
)
from sweptwater.jobs.opened import Opened, open_folder
from sweptwater.offers.effort import CIRCUMSTANCES
from sweptwater.paper import looks
from sweptwater.paper.layers import Page, Table
from sweptwater.paper.page import render_page
from sweptwater.practice.tally import Counts

JARGON = (
    *("gamma", "poisson", "prior", "posterior", "dispersion", "p-value", "interval"),
    *("confidence", "credible", "null", "significan", "variance", "bayes", "holm"),
)
"""Words of statistics that no captain should meet."""


@pytest.fixture(scope="module")
def opened(_begun: Path) -> Opened:
    return open_folder(_begun)


@pytest.fixture(scope="module")
def page(opened: Opened) -> Page:
    return page_of(sample_met(), opened)


@pytest.fixture(scope="module")
def html(opened: Opened) -> str:
    return render_page(page_of(sample_met(), opened))


def table(page: Page, title: str) -> Table:
    return next(table for table in page.tables if table.title.startswith(title))


def test_what_is_missing_comes_first(page: Page, html: str) -> None:
    assert page.missing == (
        "Grebe, 10 June: neither rod has told drifts 5-6 (3.9 rod-hours).",
        "Teal, 10 June: stern has not told drifts 3-4, 7 (2.1 rod-hours).",
        "Heron, 9 June: bow has not told drift 2 (0.7 rod-hours).",
        "Grebe, 10 June: drift 3 is tallied twice; which row counts?",
    )
    parts = ("Still missing", ">Clear<", ">Leaning: ", 'class="plots"', 'class="chart"')
    places = [html.index(part) for part in (*parts, "<table>")]
    assert places == sorted(places)


def test_what_is_clear_is_told_with_its_counts_and_what_it_is_held_against(
    page: Page,
) -> None:
    """The others by hand: all known offers and hours of the table less the row's."""
    clear, leaning, rest = page.findings
    others = [told for told in TABLES["sky"] if told[0] not in ("dull", "not told")]
    offers, hours = sum(told[1] for told in others), sum(told[2] for told in others)
    assert (offers, round(hours, 1)) == (20, 88.5)
    assert clear.sentences[0] == (
        "More offers in dull light than otherwise: 26 in 20.3 rod-hours (1.3 an hour, "
        "0.78 to 1.7) against 20 in 88.5 (0.23)."
    )
    assert len(clear.sentences) == 2
    assert clear.note.startswith("46 comparisons were made")
    assert leaning.title.startswith("Leaning")
    assert [text.partition(" than")[0] for text in leaning.sentences] == [
        "More offers with the flies at 3-8 ft",
        "More offers on the intermediate line",
        "Fewer offers in sector A",
    ]
    assert rest.title == "Too little to tell"


def test_of_two_rows_that_differ_from_each_other_one_is_told() -> None:
    told = [told for told in TABLES["sky"] if told[0] in ("bright", "dull")]
    both = [rate_row("sky", one, told) for one in told]
    assert [row.direction for row in both] == ["fewer", "more"]
    assert [one.text for one in sentences([both])] == [
        "More offers in dull light than otherwise: 26 in 20.3 rod-hours (1.3 an hour, "
        "0.78 to 1.7) against 7 in 48 (0.15)."
    ]
    three = [rate_row("sky", one, TABLES["sky"]) for one in TABLES["sky"]]
    assert len(list(sentences([three]))) == 2


def test_of_two_things_the_second_is_what_is_shared() -> None:
    row = replace(
        rate_row("layer,sky", ("3-8 ft|dull", 14, 9.0, 0)),
        verdict="leaning",
        direction="more",
        against_offers=8,
        against_rod_hours=9.7,
    )
    (one,) = sentences([[row]])
    told = "More offers with the flies at 3-8 ft than otherwise in dull light: "
    assert one.text.startswith(told)
    assert one.text.endswith("against 8 in 9.7 (0.82).")


def test_places_of_their_own_are_told_as_such() -> None:
    assert circumstances({"bank": "open water"}) == "on open water"
    assert circumstances({"sector": "no sector"}) == "outside all sectors"


def test_rows_that_drifts_only_touched_are_left_out() -> None:
    values = ["0-3 ft", "3-8 ft", "not told"]
    rows = [rate_row("layer", (value, 1, 2.0, 0)) for value in values]
    rows.append(rate_row("layer", ("99+ ft", 0, 0.0, 0.0)))
    shown = rates_table("layer", rows)
    assert [row.cells[0] for row in shown.rows] == values
    assert shown.note == "Not listed: 1 that boats only drifted over the edge of."


def test_a_table_of_what_nobody_knows_is_left_out(opened: Opened) -> None:
    row = rate_row("depth", ("depth not known", 3, 9.0, 1.0))
    page = page_of(replace(sample_met(), tables={"depth": (row,)}), opened)
    assert page.figures == ()
    assert not [one for one in page.tables if one.title.startswith("By depth of the w")]


def test_a_plot_with_far_higher_rates_has_a_scale_of_its_own(opened: Opened) -> None:
    """A few hours at one bank must not press all other rates to the left."""
    met = sample_met()
    banks = (rate_row("bank", ("bank 40", 30, 5.0, 0)), *met.tables["bank"])
    met = replace(met, tables={**met.tables, "bank": banks})
    page = page_of(met, opened)
    alone = [figure.title for figure in page.figures if "of its own" in figure.note]
    assert alone == ["By bank"]
    light, before = (
        [figure.svg for figure in figures if figure.title == "By light"]
        for figures in (page.figures, page_of(sample_met(), opened).figures)
    )
    assert light == before


def test_where_nothing_is_clear_that_is_said(opened: Opened) -> None:
    met = replace(sample_met(), tables={"sector": ()}, comparisons=2)
    first, *_ = page_of(met, opened).findings
    assert first.title == "Clear"
    assert first.sentences == ("Nothing yet: what differs may be luck.",)


def test_a_practice_of_which_nothing_was_told(opened: Opened) -> None:
    met = Met(
        practice="Pool",
        days=(DAYS[0],),
        mean=None,
        offers=0,
        rod_hours=0.0,
        drifts=0,
        untold_rod_hours=6.0,
        tables={"sector": (rate_row("sector", ("A", 0, 0.0, 6.0)),)},
        comparisons=0,
        untold=(Untold(DAYS[0], "Heron", "", (1, 2), 6.0),),
    )
    page = page_of(met, opened)
    assert page.lead.startswith("Nobody has told yet")
    assert page.missing
    assert "not told, 6 h" in page.figures[0].svg
    assert table(page, "By sector").rows[0].cells[:4] == ("A", "0", "0", "0")
    assert "Surely" not in render_page(page_of(met, opened))


def test_counts_and_hours_stand_beside_every_rate(page: Page) -> None:
    for by, told in TABLES.items():
        shown = table(page, f"{by_title(by)}: figures")
        titles = [column.title for column in shown.columns]
        assert titles[1:3] == ["Offers", "Rod-hours"]
        cells = {row.cells[0]: row.cells[1] for row in shown.rows}
        assert cells == {row[0].replace("|", ", "): str(row[1]) for row in told}
    plots = {figure.title: figure.svg for figure in page.figures}
    for value, offers, hours, _ in TABLES["sky"]:
        counts = f"{offers} in {hours:.1f}".removesuffix(".0")
        assert f"{value}: " in plots["By light"]
        assert f">{counts} h<" in plots["By light"]


def test_all_plots_have_one_scale(page: Page) -> None:
    """Else a reader takes the longer line for the higher rate."""

    def numbers(svg: str) -> list[str]:
        return re.findall(r"text-anchor: middle[^>]*>([\d.]+)<", svg)

    scales = {tuple(numbers(figure.svg)) for figure in page.figures}
    assert len(scales) == 1
    assert len(scales.pop()) >= 3


def test_a_long_table_is_plotted_by_its_longest_hours(page: Page) -> None:
    plot = next(figure for figure in page.figures if figure.title == "By bank")
    assert plot.note == "The 14 with the most hours; all are in the table."
    shown = re.findall(r">(bank \d+)<", plot.svg)
    assert len(shown) == 14
    assert table(page, "By bank").folded
    hours = {told[0]: told[2] + told[3] for told in TABLES["bank"]}
    left_out = set(hours) - set(shown)
    assert max(hours[name] for name in left_out) <= min(hours[name] for name in shown)


def test_the_map_shows_rates_and_offers_but_nothing_far_off(page: Page) -> None:
    layers = {layer.key: layer for layer in page.layers}
    rates = [layer for key, layer in layers.items() if key.startswith("rate-")]
    assert [len(layer.features) for layer in rates] == [1] * 5
    assert [layer.look for layer in rates] == [
        looks.RATES[name]
        for name in ("surely more", "more", "about", "fewer", "surely fewer")
    ]
    offers = layers["offers"].features
    assert [feature.tip for feature in offers] == [
        "10 offers\nHeron stern, 9 June: 6 followed, 3 pulled\n"
        "Heron bow, 9 June: 1 boated",
        "2 offers\nTeal bow, 8 June: 1 pulled, 1 boated",
    ]
    big, small = (feature.look for feature in offers)
    assert big
    assert small
    # Areas of symbols as the counts: ten offers to two.
    assert (big.radius / small.radius) ** 2 == pytest.approx(10 / 2, rel=0.05)
    (on_drift,) = layers["offers-drift"].features
    assert on_drift.look
    assert on_drift.look.fill == "#ffffff"
    (loose,) = layers["loose"].features
    assert loose.tip.startswith("Somewhere here\nTeal, 9 June: before lunch")


def test_rates_on_the_map_can_be_told_without_colour() -> None:
    """Each has another pattern, or none: as in a grey print."""
    patterns = [look.pattern for look in looks.RATES.values()]
    assert len(set(patterns)) == 5
    sure = {name for name, look in looks.RATES.items() if look.weight > 1}
    assert sure == {"surely more", "surely fewer"}


def test_the_ledger_is_layers_by_light(page: Page) -> None:
    together = table(page, "Which layers in which light")
    heads = [column.title for column in together.columns]
    assert heads == ["Flies at", "Bright", "Broken", "Dull", "Light not told"]
    ledger = sample_met().ledger
    by_hand = sum(
        row.rod_hours
        for row in ledger
        if (row.layer, row.light) == ("0-3 ft", "bright")
    )
    assert together.rows[0].cells[:2] == ("0-3 ft", f"{by_hand:.1f}")
    banks = table(page, "Bank by bank")
    assert banks.folded
    named = [row.cells for row in banks.rows if row.cells[0] == "Gorse Bank"]
    found = [row for row in ledger if row.name == "Gorse Bank"]
    assert sum(cell != "\u2013" for cells in named for cell in cells[3:]) == len(found)


def test_loose_offers_stay_as_loose_as_they_were_told(page: Page) -> None:
    rows = table(page, "Told of no one drift").rows
    assert [row.cells for row in rows] == [
        ("2 pulled", "Teal, 9 June: before lunch, off the tower"),
        ("1 followed", "Heron, 8 June: some time in the afternoon"),
    ]
    assert any("told of no one drift" in text for text in page.cautions)


def test_no_jargon_and_the_usual_cautions(page: Page, html: str) -> None:
    told = [page.lead, page.date_line, page.figures_note, *page.cautions, *page.notes]
    told += [
        text
        for finding in page.findings
        for text in (finding.title, finding.note, *finding.sentences)
    ]
    words = " ".join(told).lower()
    assert not [word for word in JARGON if word in words]
    assert "buoyancy" in words
    assert "1.3 times as wide" in words
    assert "<img" not in html


def test_offers_that_come_one_by_one_widen_nothing() -> None:
    told = " ".join(notes(replace(sample_met(), widen=1.0), "metric"))
    assert "no more in bunches than chance" in told
    assert "150 m together" in told


@pytest.mark.parametrize("by", CIRCUMSTANCES)
def test_all_circumstances_have_words(by: str) -> None:
    assert by_title(by) != ""
    told = circumstances({by: "this"})
    assert "this" in told
    assert told != f"{by} this"


def test_a_missing_rod_and_a_missing_boat() -> None:
    one = Untold(date(2027, 6, 8), "Teal", "", (3,), 1.0)
    assert untold_text(one) == (
        "Teal, 8 June: neither rod has told drift 3 (1 rod-hour)."
    )
    assert missing(replace(sample_met(), untold=(one,), questions=())) == (
        untold_text(one),
    )


@pytest.mark.parametrize("bad", ["<script>alert(1)</script>", "{{ 7 * 7 }}", "$x$"])
def test_hostile_words_are_only_words(opened: Opened, bad: str) -> None:
    met = sample_met()
    row = replace(met.tables["sky"][0], by={"sky": bad})
    met = replace(
        met,
        tables={"sky": (row, *met.tables["sky"][1:])},
        loose=(LooseOffers(Counts(pull=1), bad),),
        questions=(bad,),
    )
    html = render_page(page_of(met, opened))
    assert "<script>alert" not in html
    assert re.search(r"[^\w]49[^\w]", html.partition("<script>")[0]) is None


def test_the_same_page_is_the_same_text(opened: Opened, html: str) -> None:
    assert render_page(page_of(sample_met(), opened)) == html


def test_tables_find_their_sectors_on_the_map(page: Page, opened: Opened) -> None:
    keys = {row.key for row in table(page, "By sector").rows}
    assert {f"sector-{name}" for name in opened.sectors} <= keys
    assert list(met_tables(sample_met())) == list(page.tables)
