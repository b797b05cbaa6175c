"""What the reader makes of every track file of others.

Run with ``python tests/benchmarks/tracks_table.py``: a row a file, with its kind, the
fixes kept, those dropped and why, and the remarks, or the sentence it is refused with.
"""

from collections.abc import Iterator
from pathlib import Path

from sweptwater.errors import TrackError
from sweptwater.tracks.read import read_track

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"


def rows() -> Iterator[tuple[str, str, str, str, str]]:
    """Yield file, kind, fixes, what was dropped, and remarks or refusal."""
    for path in sorted([*DATA.glob("tracks/*"), *DATA.glob("odd-files/*")]):
        try:
            recording = read_track(path.read_bytes(), name=path.name)
        except TrackError as error:
            refusal = str(error).removeprefix(f"{path.name} ")
            yield path.name, "-", "0", "", f"refused: {refusal}"
            continue
        dropped = ", ".join(f"{n} {why}" for why, n in recording.dropped.items())
        fixes = str(len(recording.fixes))
        yield path.name, recording.kind, fixes, dropped, "; ".join(recording.remarks)


if __name__ == "__main__":
    print("| file | kind | fixes | dropped | remarks |\n|---|---|---:|---|---|")
    for row in rows():
        print(f"| {' | '.join(row)} |")
