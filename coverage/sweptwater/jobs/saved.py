"""A report's page, and its map as a picture beside it."""

from dataclasses import dataclass
from pathlib import Path

from sweptwater.paper.layers import Page
from sweptwater.paper.page import render_page
from sweptwater.paper.picture import render_picture
from sweptwater.practice.folder import save_report


@dataclass(frozen=True, slots=True)
class Saved:
    """Where a page is, and the picture of its map; None if it has no map."""

    page: Path
    picture: Path | None


def save(folder: Path, name: str, page: Page) -> Saved:
    """Write a page among the reports, and its map as a picture.

    Parameters
    ----------
    name
        What both are called, less their endings.
    page
        What they show.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    written = save_report(folder, f"{name}.html", render_page(page))
    if not any(layer.features for layer in page.layers):
        return Saved(written, None)
    return Saved(written, save_report(folder, f"{name}.png", render_picture(page)))
