"""Pictures of the demo's pages: `python -m sweptwater_demo.pictures FOLDER`.

The README shows them. They are taken of the pages as a browser shows and prints them,
so that they are what the commands make. Needs the tools of development and a chromium.
"""

import io
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

CHROMIUM = Path("/usr/bin/chromium")
PLACE = Path(__file__).parents[1] / "pictures"
COLOURS = 128
"""So many are enough for maps, and make a picture a third as large."""

LAPTOP, PHONE, A4 = (1280, 1000), (390, 844), (794, 1123)
DAY = "2027-06-11"


@dataclass(frozen=True, slots=True)
class Shot:
    """What a picture shows.

    Parameters
    ----------
    file
        The page, in the demo's folder.
    size
        Of the window, in pixels; A4 is for what is printed.
    part
        A selector of the one thing to show; else what the window shows first.
    """

    file: str
    size: tuple[int, int]
    part: str = ""


SHOTS: Mapping[str, Shot] = {
    "coverage.png": Shot("reports/coverage.html", LAPTOP),
    "coverage-phone.png": Shot("reports/coverage.html", PHONE, part=".chart"),
    "next.png": Shot("reports/next.html", LAPTOP),
    "sheet.png": Shot(f"plans/{DAY}/Heron.html", A4),
    "afloat.png": Shot(f"plans/{DAY}/Heron.afloat.html", PHONE),
    "brief.png": Shot("reports/brief.html", A4),
    "cards.png": Shot("reports/brief.html", A4, part="#cards"),
}


def take_pictures(folder: Path, to: Path) -> Iterator[Path]:
    """Take all pictures of a demo, and yield where each is.

    Raises
    ------
    FileNotFoundError
        If there is no chromium, or the folder holds no demo.
    """
    if not CHROMIUM.exists():
        raise FileNotFoundError(f"{CHROMIUM} is not there: install chromium first")
    to.mkdir(parents=True, exist_ok=True)
    with _browser() as browser:
        for name, shot in SHOTS.items():
            file = folder / shot.file
            if not file.is_file():
                raise FileNotFoundError(
                    f"{file} is not there: build the demo first, with sweptwater demo"
                )
            (to / name).write_bytes(_smaller(_taken(browser, file, shot)))
            yield to / name


@contextmanager
def _browser() -> "Iterator[Browser]":
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        yield browser
        browser.close()


def _taken(browser: "Browser", file: Path, shot: Shot) -> bytes:
    width, height = shot.size
    context = browser.new_context(
        viewport={"width": width, "height": height},
        device_scale_factor=1.5 if shot.size == PHONE else 1,
        offline=True,
        reduced_motion="reduce",
    )
    page = context.new_page()
    page.goto(file.resolve().as_uri())
    page.wait_for_timeout(800)
    if shot.size == A4:
        page.emulate_media(media="print")
    picture = _part(page, shot)
    context.close()
    return picture


def _part(page: "Page", shot: Shot) -> bytes:
    if shot.part:
        return page.locator(shot.part).first.screenshot()
    return page.screenshot()


def _smaller(png: bytes) -> bytes:
    from PIL import Image

    with Image.open(io.BytesIO(png)) as picture:
        few = picture.convert("RGB").quantize(COLOURS, method=Image.Quantize.MEDIANCUT)
        out = io.BytesIO()
        few.save(out, "PNG", optimize=True)
    return out.getvalue()


def main(words: Sequence[str]) -> None:
    """Take the pictures of the demo in a folder, or say in a sentence why not."""
    if len(words) != 1:
        sys.exit("Name the one folder of a demo: python -m sweptwater_demo.pictures X")
    try:
        for taken in take_pictures(Path(words[0]), PLACE):
            sys.stdout.write(f"{taken}\n")
    except FileNotFoundError as error:
        sys.exit(str(error))
    except ModuleNotFoundError as error:
        tools = "the tools of development, pip install --editable '.[dev]'"
        sys.exit(f"{error.name} is not there: install {tools}")


if __name__ == "__main__":
    main(sys.argv[1:])
