"""The files that we write: each is there whole, or as it was before."""

from __future__ import annotations

import contextlib
import os
import shutil
import stat
import threading
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import BinaryIO

_OPEN_FILES = "/proc/self/fd"
"""Where a system lists the files that are open by their numbers, so that one without a name can be given one."""

_STREAMS = ("/dev/std", "/dev/fd/", "/proc/")
"""How names begin of what is open already, whatever it is: a shell's ``> file`` among them."""


def write_whole(path: Path, content: bytes) -> None:
    """Write a file; whatever goes wrong meanwhile, it is there as it was, or whole.

    Its permissions stay. A link stays, and what it leads to is written. What is no file (a device, a pipe) is written to.

    Raises
    ------
    OSError
        When it cannot be written, with its name and why.
    """
    with _named_in_errors(path):
        if _is_stream(path):
            with path.open("wb") as opened:
                opened.write(content)
            return
        target = Path(os.path.realpath(path))
        before = target.stat() if target.exists() else None
        if before is not None and not os.access(target, os.W_OK, effective_ids=os.access in os.supports_effective_ids):
            raise PermissionError(13, "Permission denied")
        with _whole_beside(target, content, before) as part:
            part.replace(target)


def write_new(path: Path, content: bytes) -> None:
    """Write a new file, whole or not at all; one that is there already stays as it is.

    Raises
    ------
    FileExistsError
        When it is.
    OSError
    """
    with _named_in_errors(path), _whole_beside(path, content, None) as part:
        try:
            os.link(part, path)
        except FileExistsError:
            raise
        except OSError:  # a file system on which no file has two names
            if path.exists():
                raise FileExistsError(17, "File exists") from None
            part.replace(path)


def write_new_folder(path: Path, files: Mapping[str, bytes]) -> None:
    """A folder that is not there yet, with files in it, by their names: all of them, or no folder.

    Raises
    ------
    FileExistsError
        When it is.
    OSError
    """
    with _named_in_errors(path):
        if path.exists():
            raise FileExistsError(17, "File exists")
        part = _beside(path)
        try:
            part.mkdir()
            for name, content in files.items():
                with (part / name).open("xb") as opened:
                    _fill(opened, content)
            part.rename(path)
        finally:
            shutil.rmtree(part, ignore_errors=True)


@contextlib.contextmanager
def _whole_beside(target: Path, content: bytes, before: os.stat_result | None) -> Iterator[Path]:
    """A file beside another one, with the content, and with permissions and owner as they were ``before``; it goes at the end."""
    part = _beside(target)
    part.unlink(missing_ok=True)  # left by a process of the same number that was killed
    try:
        with _opened(part, before is not None) as opened:
            if before is not None:
                _like(opened.fileno(), before)
            _fill(opened, content)
            if not part.exists():
                # A number for the folder, which a whole path does not need, has the link followed that stands there.
                os.link(f"{_OPEN_FILES}/{opened.fileno()}", part, src_dir_fd=0)
        yield part
    finally:
        part.unlink(missing_ok=True)


def _opened(part: Path, is_there: bool) -> BinaryIO:
    """A file without a name, of which nothing is left if we are killed; where the system knows none, one with that name."""
    try:
        if hasattr(os, "O_TMPFILE") and os.path.isdir(_OPEN_FILES):
            with contextlib.suppress(OSError):
                return os.fdopen(os.open(part.parent, os.O_TMPFILE | os.O_WRONLY, 0o666), "wb")
        return part.open("xb")
    except PermissionError as error:
        if not is_there:
            raise
        raise OSError(
            error.errno, f"{error.strerror}: its folder takes no new file, which is needed to keep the old one"
        ) from None


def _fill(opened: BinaryIO, content: bytes) -> None:
    opened.write(content)
    opened.flush()
    os.fsync(opened.fileno())


def _like(opened: int, before: os.stat_result) -> None:
    """Give an open file the owner, as far as we may, and the permissions of another one."""
    if hasattr(os, "fchown"):
        with contextlib.suppress(OSError):
            os.fchown(opened, before.st_uid, before.st_gid)
        os.fchmod(opened, stat.S_IMODE(before.st_mode))


def _beside(path: Path) -> Path:
    """A hidden name beside a path that nobody else uses now."""
    return path.with_name(f".{path.name[:40]}.{os.getpid()}-{threading.get_native_id()}.part")


def _is_stream(path: Path) -> bool:
    """Whether a path names what is written to as it comes: what is open already, a device, a pipe; or a folder, to its error."""
    return os.path.abspath(path).startswith(_STREAMS) or (path.exists() and not path.is_file())


@contextlib.contextmanager
def _named_in_errors(path: Path) -> Iterator[None]:
    """Have errors name the file that was to be written, whatever was being done."""
    try:
        yield
    except OSError as error:
        raise OSError(error.errno, f"cannot be written: {error.strerror}", str(path)) from error
