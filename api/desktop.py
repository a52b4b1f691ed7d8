"""The service on a teacher's own machine: its page opened in the browser, and a file that does so when it is double-clicked."""

from __future__ import annotations

import json
import shlex
import sys
import webbrowser
from http.client import HTTPConnection, HTTPException
from pathlib import Path

NAME = "Unit sequencer"


def page_address(host: str, port: int) -> str:
    """The address of the page, for a browser on this machine."""
    host = {"0.0.0.0": "127.0.0.1", "::": "::1", "": "127.0.0.1"}.get(host, host)
    return f"http://{f'[{host}]' if ':' in host else host}:{port}/"


def open_page(address: str, ends: str = "It works as long as this window is open; Ctrl-C ends it.") -> None:
    """Open the page in the browser, and say where it is, in case there is none that can be opened."""
    print(f"The page is {address} in your browser. {ends}", flush=True)
    webbrowser.open(address)


def already_serves(address: str) -> bool:
    """Whether a service of this kind answers at an address: a second double-click is to show the page, not an error."""
    connection = HTTPConnection(address.removeprefix("http://").rstrip("/"), timeout=2)
    try:
        connection.request("GET", "/healthz")
        said = json.loads(connection.getresponse().read(10_000))
    except (OSError, HTTPException, ValueError):
        return False
    finally:
        connection.close()
    return isinstance(said, dict) and said.keys() >= {"status", "running", "waiting"}


def write_icon(folder: Path, system: str = sys.platform, python: str = sys.executable) -> Path:
    """Write the file to double-click into a folder that is there."""
    ending, text = _icon(system, python)
    file = folder.expanduser() / f"{NAME}{ending}"
    file.write_bytes(text.replace("\n", "\r\n" if ending == ".cmd" else "\n").encode())
    file.chmod(0o755)
    return file


def _icon(system: str, python: str) -> tuple[str, str]:
    """The ending and the text of the file to double-click on Windows, on a Mac, and on other systems with a desktop."""
    if system == "win32":
        quoted = python.replace("%", "%%")
        return ".cmd", f'@echo off\nchcp 65001 >nul\n"{quoted}" -m api --open\nif errorlevel 1 pause\n'
    if system == "darwin":
        return ".command", f"#!/bin/sh\nexec {shlex.quote(python)} -m api --open\n"
    quoted = "".join("\\" + letter if letter in '"`$\\' else letter for letter in python).replace("%", "%%")
    quoted = quoted.replace("\\", "\\\\")  # a value's own escapes come on top of those within the quotes
    entry = {"Type": "Application", "Name": NAME, "Exec": f'"{quoted}" -m api --open', "Terminal": "true"}
    return ".desktop", "".join(f"{line}\n" for line in ("[Desktop Entry]", *(f"{key}={said}" for key, said in entry.items())))
