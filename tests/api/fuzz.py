"""``python -m tests.api.fuzz --cases 5000`` tries a running service with requests drawn from its own description.

First with what the tool does unless told otherwise (its checks, all its phases, every combination included) and with bodies
described no more than some levels deep (``fuzz_small.py``); then with the description as it is and every check, mostly with
bodies near its examples.

What is checked: no status of 500 or more, no answer that the description does not describe, nothing accepted that does not fit
it. It needs the extra ``fuzz`` (``pip install -e .[fuzz]``).
"""

from __future__ import annotations

import argparse
import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.api.fuzz_hooks import NEAR
from tests.api.fuzz_small import DEPTH, small
from tests.api.live import started
from tests.api.service import description

CONFIG = Path(__file__).with_name("schemathesis.toml")

SERVICE = {
    "SECONDS": "0.3",
    "MOST_SECONDS": "0.3",
    "WORKERS": "1",
    "RUNNING": "2",
    "WAITING": "100",
}
"""Solves are short: what is looked for lies around them."""

BY_POSITIVE = 0.9
"""Share of the requests that fit the description; the others do not, and take long to draw."""


def tried_in_every_phase(address: str, paths: list[str], depth: int, most: int, seed: int) -> tuple[int, bool]:
    """Try addresses in every phase, with the usual checks; the number of requests, and whether all was well."""
    with TemporaryDirectory() as folder:
        described = Path(folder) / "openapi.json"
        described.write_text(json.dumps(small(description(), depth)), encoding="utf-8")
        command = [
            "schemathesis", "--config-file", str(CONFIG), "run", str(described), "--url", address, "--max-examples", str(most),
            "--continue-on-failure", "--seed", str(seed), "--no-color",
            *(part for path in paths for part in ("--include-path", path)),
        ]  # fmt: skip
        return _counted(subprocess.run(command, capture_output=True, text=True))


def tried(address: str, paths: list[str], mode: str, most: int, seed: int) -> tuple[int, bool]:
    """Try addresses of the service, each with so many requests; their number, and whether all was well."""
    command = [
        "schemathesis", "--config-file", str(CONFIG), "run", f"{address}/openapi.json",
        "--phases", "examples,fuzzing" if mode == "positive" else "fuzzing", "--mode", mode, "--max-examples", str(most),
        "--checks", "all", "--continue-on-failure", "--no-shrink", "--seed", str(seed), "--no-color", "--workers", "2",
        "--suppress-health-check", "all", *(part for path in paths for part in ("--include-path", path)),
    ]  # fmt: skip
    hooks = {"SCHEMATHESIS_HOOKS": "tests.api.fuzz_hooks", NEAR: "1"} if mode == "positive" else {}
    return _counted(subprocess.run(command, env={**os.environ, **hooks}, capture_output=True, text=True))


def _counted(done: subprocess.CompletedProcess[str]) -> tuple[int, bool]:
    print(done.stdout, done.stderr, sep="\n", flush=True)
    counted = re.search(r"(\d+) generated", done.stdout)
    return int(counted[1]) if counted is not None else 0, done.returncode == 0


def main() -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m tests.api.fuzz", description=__doc__)
    parser.add_argument("--cases", type=int, default=5000, help="how many requests, over all addresses")
    parser.add_argument("--seed", type=int, default=1, help="which")
    parser.add_argument("--depth", type=int, default=DEPTH, help="levels of bodies that are described where all phases are run")
    parser.add_argument("--phases-only", action="store_true", help="only the first part: every phase, the usual checks")
    parser.add_argument("--path", action="append", default=[], help="only this address; may be given several times")
    options = parser.parse_args()
    described = description()["paths"]
    # Those that only answer are soon exhausted: the others get their share.
    asked = [path for path in options.path or described if "post" in described[path]]
    each = -(-options.cases // max(1, len(asked)))
    total, well = 0, True
    # Webhooks that are drawn lead nowhere.
    os.environ |= {"http_proxy": "http://127.0.0.1:9", "https_proxy": "http://127.0.0.1:9", "no_proxy": "127.0.0.1"}
    with TemporaryDirectory() as folder, started(Path(folder) / "log", STORE=f"{folder}/terms.db", **SERVICE) as service:
        address = f"http://127.0.0.1:{service.port}"
        began = time.monotonic()
        total, well = tried_in_every_phase(address, options.path, options.depth, max(1, each // 10), options.seed)
        print(f"every phase: {total} requests in {time.monotonic() - began:.0f} s{'' if well else ': FAILED'}", flush=True)
        for mode, share in () if options.phases_only else (("positive", BY_POSITIVE), ("negative", 1 - BY_POSITIVE)):
            began = time.monotonic()
            count, good = tried(address, options.path, mode, max(1, round(each * share)), options.seed)
            total, well = total + count, well and good
            print(f"{mode}: {count} requests in {time.monotonic() - began:.0f} s{'' if good else ': FAILED'}", flush=True)
    print(f"{total} requests, {'all as described' if well else 'not all as described'}")
    return 0 if well and total else 1


if __name__ == "__main__":
    sys.exit(main())
