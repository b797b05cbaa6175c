"""Printing reports: JSON for programs, lines and tables for people."""

import json
import re
import shlex
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, is_dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from sweptwater.jobs.saved import Saved

Item = TypeVar("Item")

COMMAND = re.compile(
    r"\bsweptwater (?=(?:brief|check|coverage|divide|drifts|export|next|note|pack|plan"
    r"|rates|remove|restore|sinking|starts|tally|unfished|upload|venue)\b)"
)
"""Where a text tells what to type, in a practice."""


def watch(items: Iterable[Item], label: str) -> Iterator[Item]:
    """Go through items, with a bar on a terminal if there are several."""
    known = list(items)
    if len(known) < 2 or not sys.stderr.isatty():
        yield from known
        return
    with click.progressbar(known, label=label, file=sys.stderr) as bar:
        yield from bar


@contextmanager
def busy(label: str) -> Iterator[None]:
    """Say on a terminal what is going on, and take it back when it is done."""
    on_terminal = sys.stderr.isatty()
    if on_terminal:
        click.echo(f"{label} ...", nl=False, err=True)
    try:
        yield
    finally:
        if on_terminal:
            click.echo("\r\033[K", nl=False, err=True)


def show_json(report: Any) -> None:
    """Print a report as one JSON object."""
    values = asdict(report) if is_dataclass(report) else report  # type: ignore[arg-type]
    plain = _plain(values)
    text = json.dumps(plain, ensure_ascii=False, indent=1, allow_nan=False)
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "utf-8")
    except UnicodeEncodeError:  # escaped it is the same object
        text = json.dumps(plain, indent=1, allow_nan=False)
    click.echo(text)


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print a table; columns whose head begins with > are set to the right."""
    right = [title.startswith(">") for title in head]
    lines = [[title.removeprefix(">") for title in head], *map(list, rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    for line in lines:
        cells = (
            cell.rjust(width) if to_right else cell.ljust(width)
            for cell, width, to_right in zip(line, widths, right, strict=True)
        )
        click.echo("  ".join(cells).rstrip())


def pair_head(day: date | None) -> str:
    """Return the head of the pairs' column, with the day if they change round."""
    return f"pair {day.day} {day:%b}" if day else "pair"


def tell(text: str) -> None:
    """Print a remark to standard error."""
    click.echo(typed(text), err=True)


def typed(text: str) -> str:
    """Return a text whose commands work as they stand, with the practice's folder.

    The engine names commands as they are typed in the folder itself.
    """
    context = click.get_current_context(silent=True)
    folder = context.find_root().obj if context else None
    if not isinstance(folder, Path) or folder == Path():
        return text
    return COMMAND.sub(lambda _: f"sweptwater -C {shlex.quote(str(folder))} ", text)


def sentence(text: str) -> str:
    """Return a text with a stop at its end, if it has none."""
    return text if text.endswith((".", "?", "!")) else f"{text}."


def place(path: Path) -> str:
    """Return a path as the user would type it from here."""
    try:
        return str(path.resolve().relative_to(Path.cwd()))
    except ValueError:
        return str(path)


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key).rstrip("_"): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, date):
        return value.isoformat()
    return float(value) if isinstance(value, float) else value


def show_with_page(
    report: Any,
    faults: Iterable[str],
    save: Callable[[], "Saved"],
    show: Callable[[], None],
    *,
    as_json: bool,
) -> None:
    """Show a report, as JSON or in words, what is not in order, and where its page is.

    Parameters
    ----------
    save
        Writes the page and the picture of its map.
    show
        Prints the report in words.
    """
    for fault in faults:
        tell(sentence(f"Not in order: {fault}"))
    # The figures first: they hold where the page cannot be written.
    try:
        show_json(report) if as_json else show()
    except BrokenPipeError:  # whoever reads them has seen enough
        save()
        raise
    saved = save()
    tell(f"The page: {place(saved.page)}")
    if saved.picture is not None:
        tell(f"Its map, to send: {place(saved.picture)}")
