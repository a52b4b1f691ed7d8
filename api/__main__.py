"""``python -m api`` serves the API until it is told to stop."""

from __future__ import annotations

import argparse
import gc
import os
import signal
import sys
from dataclasses import replace
from pathlib import Path

from api.app import create_app
from api.desktop import already_serves, open_page, page_address, write_icon
from api.server import Server, log_in_lines
from api.settings import BadSetting, Settings, variables

UNUSABLE = 2

COMMANDS = ("keep", "keys", "backup", "restore", "export", "import", "forget")
"""What can be done with a store besides serving it."""


def main(arguments: list[str] | None = None) -> int:
    """Serve until stopped and return the exit code."""
    try:
        return _run(sys.argv[1:] if arguments is None else arguments)
    except BadSetting as error:
        print(error, file=sys.stderr)
        return UNUSABLE


def _run(given: list[str]) -> int:
    if given and given[0] in COMMANDS:
        return _about_the_store(given)
    parser = argparse.ArgumentParser(
        prog="python -m api",
        description="Serves the JSON API. With one of these words in front it does something else: " + ", ".join(COMMANDS) + ".",
        epilog="environment variables:\n" + variables(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--host", help="address to listen on, whatever the environment says")
    parser.add_argument("--port", type=int, help="port to listen on, whatever the environment says; 0 takes a free one")
    parser.add_argument("--store", help="keep terms: in a file, which is made when missing, or at postgresql://…")
    parser.add_argument("--open", action="store_true", help="open the page in the browser once the service answers")
    parser.add_argument(
        "--make-icon", type=Path, nargs="?", const=Path("~/Desktop"), metavar="FOLDER",
        help="write a file there that does so when it is double-clicked (on the desktop unless stated), and serve nothing",
    )  # fmt: skip
    options = parser.parse_args(given)
    if options.make_icon is not None:
        return _make_icon(options.make_icon)
    stated = {name: value for name in ("host", "port", "store") if (value := getattr(options, name)) is not None}
    settings = replace(Settings.from_environment(os.environ), **stated)
    # The processes that work on what is sent here are started with this environment, and need no key.
    os.environ.pop("SEQUENCER_KEYS", None)
    os.environ.pop("SEQUENCER_STORE", None)
    if not 0 <= settings.port <= 65535:
        parser.error("--port must be from 0 to 65535")

    address = page_address(settings.host, settings.port)
    if options.open and settings.port and already_serves(address):
        open_page(address, "It is served already, from another window.")
        return 0
    app = create_app(settings)
    log_in_lines()
    try:
        if settings.store:
            app.state.kept.make_ready()
        app.state.solves.start()
        app.state.readings.start()
        # What is there by now stays: garbage collection need not look at it again, which holds up every request meanwhile.
        gc.collect()
        gc.freeze()
        Server(app, open_page if options.open else None).run()
    except KeyboardInterrupt:
        return 0
    finally:
        # What is left to do takes a moment; a second interrupt must not end it half way.
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    return 0


def _about_the_store(arguments: list[str]) -> int:
    from api.store.commands import main as run

    return run(arguments)


def _make_icon(folder: Path) -> int:
    try:
        print(f"{write_icon(folder)} is written: double-click it to open the page.")
    except OSError as error:
        print(f"{folder.expanduser()}: {error.strerror}. Name a folder that is there: --make-icon FOLDER", file=sys.stderr)
        return UNUSABLE
    return 0


if __name__ == "__main__":
    sys.exit(main())
