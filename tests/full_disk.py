"""Runs every command that writes on a full disk, a file system of 64 kB in memory: ``python -m tests.full_disk`` (root).

The old file must be there byte for byte, a message must name it, and the exit code must be 2.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.writing_commands import WRITINGS, Writing, called, old, put_old, ready

SIZE = "64k"


def wrong_with(writing: Writing, folder: Path, filler: Path) -> str:
    """What is wrong with what a command leaves on the full disk, or nothing."""
    filler.unlink(missing_ok=True)
    put_old(folder, writing)
    with filler.open("wb", buffering=0) as full:
        try:
            while full.write(bytes(1024)):
                pass
        except OSError:
            pass
    code, told = called(folder, writing.arguments)
    file, out = folder / writing.file, folder / "out"
    problems = [f"exit code {code}"] if code != 2 else []
    if writing.command != ("batch", "results") and (
        str(folder / (writing.first or writing.file)) not in told or "No space left on device" not in told
    ):
        problems.append(f"it says {told!r}")
    if writing.new and [*out.iterdir()]:
        problems.append("something is left over")
    if not writing.new and (file.read_bytes() != old(folder, writing) or len([*out.iterdir()]) != 1):
        problems.append("the old file is not as it was, or not alone")
    return "; ".join(problems)


def main() -> int:
    """Mount the disk, run the commands, print what came of each."""
    bad = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "out").mkdir()
        ready(folder)
        filler = folder / "disk" / "filler"
        filler.parent.mkdir()
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={SIZE}", "tmpfs", str(filler.parent)], check=True)
        try:
            (folder / "out").rmdir()
            (filler.parent / "out").mkdir()
            (folder / "out").symlink_to("disk/out")
            for writing in WRITINGS:
                wrong = wrong_with(writing, folder, filler)
                bad += bool(wrong)
                print(f"{writing.name}: {wrong or 'the old file as it was, named, exit code 2'}")
        finally:
            subprocess.run(["umount", str(filler.parent)], check=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
