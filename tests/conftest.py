"""A small practice, built once with the commands and copied for each test.

Property tests try the same cases at each run; HYPOTHESIS_PROFILE=searching tries new
ones.
"""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from browsing import CHROMIUM, FLAGS
from practices_made import begin, done, grebe, heron, write

if TYPE_CHECKING:
    from playwright.sync_api import Browser

settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("searching", deadline=None, max_examples=500)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))


@pytest.fixture(scope="session")
def _begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    scratch = tmp_path_factory.mktemp("begun")
    folder = begin(scratch / "pool", scratch)
    done(folder, "divide")
    return folder


@pytest.fixture(scope="session")
def _fished(_begun: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    scratch = tmp_path_factory.mktemp("fished")
    folder = scratch / "pool"
    shutil.copytree(_begun, folder)
    for day in (8, 9):
        track = write(scratch / f"heron-{day}.gpx", heron(day))
        done(folder, "upload", "--pair", "Heron", track)
    track = write(scratch / "grebe-8.gpx", grebe())
    done(folder, "upload", "--pair", "Grebe", track)
    return folder


@pytest.fixture
def begun(_begun: Path, tmp_path: Path) -> Path:
    """Return a practice with its water divided and no tracks."""
    return Path(shutil.copytree(_begun, tmp_path / "pool"))


@pytest.fixture
def fished(_fished: Path, tmp_path: Path) -> Path:
    """Return a practice with two days of Heron's and one of Grebe's."""
    return Path(shutil.copytree(_fished, tmp_path / "pool"))


@pytest.fixture(scope="module")
def browser() -> "Iterator[Browser]":
    """Yield Debian's chromium; pages are opened in it by `browsing.opened`."""
    if not CHROMIUM.exists():
        pytest.skip(f"{CHROMIUM} is not installed")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()
