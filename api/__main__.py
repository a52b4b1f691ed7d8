"""``python -m api`` serves the API until it is told to stop."""

from __future__ import annotations

import argparse
import logging
import os
import socket
import sys
from dataclasses import replace

import uvicorn

from api.app import create_app
from api.bodies import Arrivals
from api.jobs import Pool
from api.settings import BadSetting, Settings, variables

UNUSABLE = 2

LAST_SECONDS = 8
"""Time after a stop in which requests may end by themselves; two more are left for the processes."""


class StoppingServer(uvicorn.Server):
    """Stops the solves as soon as it is told to stop; they answer with the best they have.

    What is still arriving then must be here when they have ended. The framework's own hook comes too late for that: it waits
    for requests, and so for their solves, first.
    """

    def __init__(self, config: uvicorn.Config, solves: Pool, arrivals: Arrivals) -> None:
        super().__init__(config)
        self._solves, self._arrivals = solves, arrivals

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self._solves.close()
        self._arrivals.close()
        await super().shutdown(sockets)


def main(arguments: list[str] | None = None) -> int:
    """Serve until stopped and return the exit code."""
    parser = argparse.ArgumentParser(
        prog="python -m api",
        description="Serves the JSON API.",
        epilog="environment variables:\n" + variables(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--host", help="address to listen on, whatever the environment says")
    parser.add_argument("--port", type=int, help="port to listen on, whatever the environment says; 0 takes a free one")
    options = parser.parse_args(arguments)
    stated = {name: value for name, value in vars(options).items() if value is not None}
    try:
        settings = replace(Settings.from_environment(os.environ), **stated)
        # The processes that work on what is sent here are started with this environment, and need no key.
        os.environ.pop("SEQUENCER_KEYS", None)
    except BadSetting as error:
        print(error, file=sys.stderr)
        return UNUSABLE
    if not 0 <= settings.port <= 65535:
        parser.error("--port must be from 0 to 65535")

    try:
        app = create_app(settings)
    except BadSetting as error:
        print(error, file=sys.stderr)
        return UNUSABLE
    app.state.solves.start()
    app.state.readings.start()
    logging.basicConfig(format="%(asctime)s %(name)s %(levelname)s %(message)s")
    logging.getLogger("api.requests").setLevel(logging.INFO)
    # The framework's log of requests would write down query strings, and so names.
    config = uvicorn.Config(app, settings.host, settings.port, ws="none", server_header=False, access_log=False)
    config.timeout_graceful_shutdown = LAST_SECONDS
    try:
        StoppingServer(config, app.state.solves, app.state.arrivals).run()
    except KeyboardInterrupt:
        return 0
    return 0


if __name__ == "__main__":
    sys.exit(main())
