"""A command in a fork, killed at a chosen call that changes a file, or by the clock."""

import io
import os
import signal
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sweptwater.practice.files import LOCK

Command = Callable[[Path], object]

WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT
CHANGES = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.truncate", "os.link"}
"""Audit events that change a folder, by the table in Python's library reference."""


def _run(command: Command, folder: Path, at: int, told: int) -> None:
    """Run a command; tell of each call that changes a file, and be killed at one."""
    _hook(folder, at, told)
    try:
        command(folder)
    except BaseException as error:
        os.write(told, f"! {error!r}\n".encode())
        os._exit(3)
    os._exit(0)


def _hook(folder: Path, at: int, told: int) -> None:
    inside, count = os.fspath(folder), 0

    def note(what: str, path: str) -> None:
        nonlocal count
        count += 1
        os.write(told, f"{what} {path.removeprefix(inside)!r}\n".encode())
        if count == at:
            os.kill(os.getpid(), signal.SIGKILL)

    def hear(event: str, args: tuple[Any, ...]) -> None:
        if event == "open" and isinstance(args[2], int) and not args[2] & WRITES:
            return
        if event == "open" or event in CHANGES:
            with suppress(TypeError):  # a descriptor
                if (path := os.fsdecode(args[0])).startswith(inside):
                    note(event, path)

    flush, usual = os.fsync, io.open

    def flushing(descriptor: Any) -> None:
        note("fsync", "")
        flush(descriptor)

    def opening(file: Any, mode: str = "r", *args: Any, **options: Any) -> Any:
        opened = usual(file, mode, *args, **options)
        within = not isinstance(file, int) and os.fspath(file).startswith(inside)
        return _Halved(opened, note) if within and mode == "wb" else opened

    setattr(os, "fsync", flushing)  # noqa: B010  # mypy would have its very type
    setattr(io, "open", opening)  # noqa: B010
    sys.addaudithook(hear)


class _Halved:
    """A file that writes in two halves, and can be killed between them."""

    def __init__(self, file: Any, note: Callable[[str, str], None]) -> None:
        self._file, self._note = file, note

    def __enter__(self) -> "_Halved":
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def write(self, data: Any) -> int:
        """Write the first half to the disk, and then the other."""
        self._file.write(data[: len(data) // 2])
        if len(data) > 1000:
            self._file.flush()
            self._note("half", self._file.name)
        self._file.write(data[len(data) // 2 :])
        return len(data)


# Around it


@dataclass(frozen=True)
class Ran:
    """What became of one run: the calls that it told of, how it ended, how long."""

    calls: tuple[str, ...]
    killed: bool
    took_s: float

    @property
    def users(self) -> list[int]:
        """The numbers of the calls that are about files of the user's, from 1."""
        return [
            number
            for number, call in enumerate(self.calls, 1)
            if "/.cache" not in call and f"/{LOCK}'" not in call and call[0] != "!"
        ]


def ran(command: Command, folder: Path, *, at: int = 0, after_s: float = -1) -> Ran:
    """Run a command in a fork, and kill it at its n-th call, or after a while.

    The while begins with its first call on a file of the user's; or at once, if it is
    given as less than -1, by how much.
    """
    listen, told = os.pipe()
    begun = time.perf_counter()
    child = os.fork()
    if child == 0:
        os.close(listen)
        _run(command, folder, at, told)
    os.close(told)
    text = b""
    if after_s < -1:
        time.sleep(-1 - after_s)
        os.kill(child, signal.SIGKILL)
    while part := os.read(listen, 65536):
        text += part
        if after_s >= 0 and Ran(tuple(text.decode().splitlines()), False, 0).users:
            time.sleep(after_s)
            os.kill(child, signal.SIGKILL)
            after_s = -1
    os.close(listen)
    _, status = os.waitpid(child, 0)
    calls = tuple(text.decode("utf-8", "replace").splitlines())
    killed = os.WIFSIGNALED(status)
    if not killed and os.WEXITSTATUS(status):
        raise AssertionError(f"the command failed by itself: {calls[-1]}")
    return Ran(calls, killed, time.perf_counter() - begun)
