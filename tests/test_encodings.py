"""Names in any letters, on terminals and in files of any system."""

import json
import os
import re
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest

from practices_made import LAKE, done, geojson, grebe, heron, report, write
from sweptwater.practice.files import PAIRED, PART
from sweptwater.practice.folder import open_practice

NAME = "Zoë \u2013 Łódź 湖 \U0001f41f"
"""Letters of which each old encoding lacks some, and one beyond the first 65,536."""

CLI = "from sweptwater_cli.main import cli; cli()"


@pytest.fixture
def named(tmp_path: Path) -> Path:
    """Return a practice whose name and folder have letters of many languages."""
    outline = geojson(tmp_path / "outline.geojson", LAKE, names=[NAME])
    folder = tmp_path / "Zoë's practice 湖"
    words = ("--pairs", "Heron,Grebe", "--zone", "Europe/London")
    done(None, "start", folder, "--venue", outline, *words)
    done(folder, "divide")
    return folder


def typed(folder: Path, encoding: str, *words: str) -> "subprocess.CompletedProcess":  # type: ignore[type-arg]
    """Run a command whose output is of an encoding, as on an old terminal."""
    return said(folder, *words, PYTHONIOENCODING=encoding)


def said(folder: Path, *words: str, **env: str) -> "subprocess.CompletedProcess":  # type: ignore[type-arg]
    """Run a command with more in its environment."""
    return subprocess.run(
        [sys.executable, "-c", CLI, "-C", str(folder), *words],
        env={
            **os.environ,
            **env,
            "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
        },
        capture_output=True,
        check=False,
    )


@pytest.mark.parametrize(
    "encoding",
    [
        "cp1252",
        *(
            pytest.param(name, marks=pytest.mark.slow)
            for name in ("ascii", "cp437", "latin-1", "utf-8")
        ),
    ],
)
def test_names_that_a_terminal_lacks_stop_nothing(named: Path, encoding: str) -> None:
    told = typed(named, encoding, "coverage")
    assert told.returncode == 0, told.stderr
    assert b"of 707 acres fished" in told.stdout
    found = typed(named, encoding, "check", "--json")
    assert json.loads(found.stdout.decode(encoding))["practice"] == NAME
    wrong = typed(named, encoding, "coverage", "--pair", NAME)
    assert wrong.returncode == 1
    assert b"Traceback" not in wrong.stderr


def test_a_system_that_knows_no_letters_but_ascii(begun: Path, tmp_path: Path) -> None:
    """LC_ALL=C, with what Python does about it switched off (PEP 538 and 540)."""
    plain = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    track = write(tmp_path / "Zoë früh.gpx", heron())
    assert said(begun, "upload", "--pair", "Heron", str(track), **plain).returncode == 0
    for words in (["tally", "Heron", "1", "blank", "--note", "Zoë"], ["coverage"]):
        told = said(begun, *words, **plain)
        assert told.returncode == 0, told.stderr
    assert b"1 track, nothing wrong" in said(begun, "check", **plain).stdout
    # Tables are UTF-8 whatever the system is; letters that did not arrive are marked.
    row = (begun / "tally.csv").read_text(encoding="utf-8").splitlines()[1]
    assert re.search("blank,.*Zo[?]+$", row)
    (original,) = open_practice(begun).originals
    assert original.path.read_bytes() == heron()
    assert original.path.name.isascii()


def test_a_track_that_an_editor_on_windows_saved(begun: Path, tmp_path: Path) -> None:
    """It is the same track, with a mark at the beginning and both ends of lines."""
    plain = heron().replace(b"\r\n", b"\n")
    changed = b"\xef\xbb\xbf" + plain.replace(b"\n", b"\r\n")
    assert changed.count(b"\r\n") > 100
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "a.gpx", changed))
    (original,) = open_practice(begun).originals
    assert original.path.read_bytes() == changed
    one = report(begun, "drifts")["drifts"]
    done(begun, "remove", "--pair", "Heron", "a.gpx")
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "b.gpx", plain))
    assert [d["swept_m2"] for d in report(begun, "drifts")["drifts"]] == [
        pytest.approx(drift["swept_m2"]) for drift in one
    ]


@pytest.mark.parametrize("form", ["NFC", "NFD"])
def test_file_names_in_either_form(
    begun: Path, tmp_path: Path, form: "unicodedata._NormalizationForm"
) -> None:
    """MacOS hands over names in decomposed letters (Unicode annex 15), others not."""
    name = unicodedata.normalize(form, "Abend früh, è.gpx")
    done(begun, "upload", "--pair", "Heron", write(tmp_path / name, heron()))
    (original,) = open_practice(begun).originals
    assert original.name == name
    assert report(begun, "check")["faults"] == []
    assert done(begun, "remove", "--pair", "Heron", name).exit_code == 0


@pytest.mark.slow
def test_what_is_written_has_names_that_every_system_takes(
    begun: Path, tmp_path: Path
) -> None:
    r"""No < > : " / \ | ? *, no dot or space at an end, 255 bytes at most.

    Source: Microsoft, "Naming Files, Paths, and Namespaces"; POSIX NAME_MAX.
    """
    strange = 'a<b>c:d"e|f?g*h . .gpx'
    done(begun, "upload", "--pair", "Grebe", write(tmp_path / strange, grebe()))
    long = "ü" * 120 + ".gpx"
    done(begun, "upload", "--pair", "Heron", write(tmp_path / long, heron()))
    done(begun, "coverage", "--layer", "below 8", "--light", "dull")
    done(begun, "plan", "--day", "2027-06-10", "--wind", "SW4")
    done(begun, "brief", "--day", "2027-06-12", "--wind", "SW4")
    done(begun, "pack")
    names = [path.name for path in begun.rglob("*")]
    assert len(names) > 25
    for name in names:
        assert not set(name) & set('<>:"/\\|?*'), name
        assert not name.endswith((".", " "))
        assert len(name.encode()) < 255 - len(PART) - len(PAIRED) - 10
        assert name.split(".")[0].casefold() not in ("con", "prn", "aux", "nul")


def test_files_as_an_editor_on_windows_saves_them(fished: Path) -> None:
    """With a mark at the beginning and both characters at the end of each line."""
    before = report(fished, "coverage")
    done(fished, "note", "wind", "SW4", "--day", "2027-06-08")
    done(fished, "tally", "Heron", "1", "blank")
    for name in (
        "practice.toml",
        "venue.geojson",
        "sectors.geojson",
        "notes.csv",
        "tally.csv",
    ):
        text = (fished / name).read_text(encoding="utf-8")
        lines = "\r\n".join(text.splitlines()) + "\r\n"
        write(fished / name, lines.encode("utf-8-sig"))
    assert report(fished, "check")["faults"] == []
    after = report(fished, "coverage")
    assert after["fished_m2"] == pytest.approx(before["fished_m2"])
    assert after["practice"] == before["practice"]


def test_letters_that_a_terminal_passed_on_wrong(fished: Path, tmp_path: Path) -> None:
    """Bytes that are no UTF-8 come as lone surrogates (PEP 383); the rest is kept."""
    told = b"Zo\xeb saw them".decode("utf-8", "surrogateescape")
    done(fished, "tally", "Heron", "1", "blank", "--note", told)
    done(fished, "note", "other", told, "--day", "2027-06-08")
    for name in ("tally.csv", "notes.csv"):
        assert "Zo? saw them" in (fished / name).read_text(encoding="utf-8-sig")
    assert report(fished, "check")["faults"] == []
    outline = geojson(tmp_path / "o.geojson", LAKE)
    words = ("--venue", outline, "--pairs", "Heron", "--zone", "Europe/London")
    done(None, "start", tmp_path / "named", *words, "--name", told)
    done(tmp_path / "named", "divide")
    assert report(tmp_path / "named", "check")["practice"] == "Zo? saw them"
