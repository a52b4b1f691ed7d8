"""What is done with a store by command: ``python -m api keys``, and likewise keep, backup, restore, export, import, forget."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from api.desktop import page_address
from api.settings import BadSetting, Settings
from api.store import copies
from api.store.calendars import make_calendar
from api.store.database import Database
from api.store.kept_work import to_keep
from api.store.keys import OF_CLASSES, ROLES, all_keys, make_key, revoke_key
from api.store.messages import NAME
from api.store.refusals import StoreAway, StoreFull
from api.store.terms import PUT, Author, Overtaken, forget, keep, read_term
from sequencer import SequencerError, SolveSettings, known_names, week
from sequencer import read_term as read_term_file

UNUSABLE = 2

BY_COMMAND = Author(None, "by command")


def main(arguments: list[str]) -> int:
    """Do what a command says, and return the exit code."""
    options = _parser().parse_args(arguments)
    if not options.store:
        print("Name the store: --store terms.db, or set SEQUENCER_STORE.", file=sys.stderr)
        return UNUSABLE
    try:
        database = Database(options.store)
        database.open()
        try:
            run: Callable[[Database, argparse.Namespace], int] = options.run
            return run(database, options)
        finally:
            database.close()
    except (BadSetting, SequencerError, copies.BadCopy) as error:
        print(error, file=sys.stderr)
    except (StoreAway, StoreFull) as error:
        print(f"The store failed: {error.reason}. Nothing was changed.", file=sys.stderr)
    except OSError as error:
        print(f"{error.filename}: {error.strerror}", file=sys.stderr)
    return UNUSABLE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m api", description="Does something with a store of terms.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    def command(name: str, says: str, run: Callable[[Database, argparse.Namespace], int]) -> argparse.ArgumentParser:
        found = commands.add_parser(name, help=says, description=says)
        found.add_argument("--store", default=os.environ.get("SEQUENCER_STORE", ""), help="the store: a file, or postgresql://…")
        found.set_defaults(run=run)
        return found

    kept = command("keep", "keep a term, plan it where nothing is planned, and make calendars of it", _keep)
    kept.add_argument("name", help="what it is called in the store")
    kept.add_argument("file", help="a term or a scenario: YAML, JSON or a workbook")
    kept.add_argument("--seconds", type=float, default=30.0, help="time that the first plan is looked for (30 unless stated)")
    kept.add_argument("--at", metavar="ADDRESS", help="where the service is reached (this machine unless stated)")
    keys = command("keys", "make, list or revoke keys", _keys)
    keys.add_argument("what", choices=("make", "list", "revoke"))
    keys.add_argument("name", nargs="?", help="make: what the log calls it; revoke: its id, as the list has it")
    roles = ", ".join(each.replace(" ", "-") for each in ROLES)
    keys.add_argument("--role", type=_role, default=ROLES[0], help=f"what it may do: {roles} (the first unless stated)")
    keys.add_argument("--term", action="append", default=[], help="only this term; may be given several times")
    keys.add_argument("--class", dest="classes", action="append", default=[], help="this class; may be given several times")
    command("backup", "copy the store as it is at one moment, while it is served", _backup).add_argument("file")
    command("restore", "put a backup in the place of all that is in the store", _restore).add_argument("file")
    command("export", "write everything as files into a folder", _export).add_argument("folder")
    command("import", "read such a folder into a store that is empty", _import).add_argument("folder")
    forgotten = command("forget", "delete terms for good", _forget)
    which = forgotten.add_mutually_exclusive_group(required=True)
    which.add_argument("--term", help="this one")
    which.add_argument("--days", type=int, help="those whose last change is so many days ago")
    return parser


def _role(text: str) -> str:
    if (role := text.replace("-", " ")) not in ROLES:
        raise argparse.ArgumentTypeError(f"must be one of {', '.join(each.replace(' ', '-') for each in ROLES)} (got {text!r})")
    return role


def _keep(database: Database, options: argparse.Namespace) -> int:
    if not NAME.fullmatch(options.name):
        raise BadSetting("A term's name is up to 64 letters, digits, dots, hyphens and underscores, the first a letter or digit.")
    term = read_term_file(options.file).term
    if term.plan is None:
        done = week(term, date.today(), SolveSettings(options.seconds))
        print(*done.said, sep="\n")
        term = done.term
    before = read_term(database, options.name)
    worked = to_keep(term, before.document if before else "")
    if worked.content is None:
        print(f"{options.name} is kept as it is.")
        return 0
    try:
        keep(database, options.name, before.version if before else None, worked.content, BY_COMMAND, PUT)
    except Overtaken:
        print(f"{options.name} was changed meanwhile: try again.", file=sys.stderr)
        return UNUSABLE
    settings = Settings.from_environment(os.environ)
    at = (options.at or page_address(settings.host, settings.port)).rstrip("/")
    print(f"Kept as {options.name}: {at}/v1/terms/{options.name}")
    if before is None:
        print("Calendars to subscribe to; their addresses are told this once:")
        for kind in ("class", "teacher", "cohort"):
            for name in known_names(term.scenario, kind):
                if (made := make_calendar(database, options.name, kind, name)) is not None:
                    print(f"  {kind} {name}: {at}{made[1]}")
    return 0


def _keys(database: Database, options: argparse.Namespace) -> int:
    if options.what == "list":
        for key in all_keys(database):
            of = f" of {', '.join(key['classes'])}" if key["classes"] else ""
            terms = f" in {', '.join(key['terms'])}" if key["terms"] else ""
            used = f"revoked {key['revoked']}" if key["revoked"] else f"last used {key['used'] or 'never'}"
            print(f"{key['id']}  {key['name']}: {key['role']}{of}{terms}; made {key['made']}, {used}")
        return 0
    if not options.name:
        raise BadSetting("Name the key: keys make NAME, keys revoke ID")
    if options.what == "revoke":
        if not revoke_key(database, options.name):
            raise BadSetting(f"No key {options.name} opens anything: python -m api keys list shows those there are.")
        print(f"Revoked: {options.name} opens nothing any more.")
        return 0
    if (options.role in OF_CLASSES) is not bool(options.classes):
        raise BadSetting("Name the classes of a key that reads or plans a class (--class 9B), and of no other.")
    public, made = make_key(database, options.name, options.role, tuple(options.term), tuple(options.classes))
    print(f"{made}\nThis is told this once. Its id, by which it is revoked, is {public}.")
    return 0


def _backup(database: Database, options: argparse.Namespace) -> int:
    copies.backup(database, Path(options.file))
    print(f"{options.file} holds the store as it was.")
    return 0


def _restore(database: Database, options: argparse.Namespace) -> int:
    copies.restore(database, Path(options.file))
    print(f"The store is as {options.file} holds it.")
    return 0


def _export(database: Database, options: argparse.Namespace) -> int:
    print(f"{copies.exported(database, Path(options.folder))} terms are written, with all that belongs to them.")
    return 0


def _import(database: Database, options: argparse.Namespace) -> int:
    print(f"{copies.imported(database, Path(options.folder))} terms are read, with all that belongs to them.")
    return 0


def _forget(database: Database, options: argparse.Namespace) -> int:
    if options.term is not None:
        kept = read_term(database, options.term)
        if kept is None:
            raise BadSetting(f"There is no term {options.term}.")
        forget(database, kept.id, kept.version, BY_COMMAND)
        gone = [kept.id]
    else:
        gone = copies.forgotten(database, datetime.now(UTC) - timedelta(days=options.days), BY_COMMAND)
    print(f"Deleted for good: {', '.join(gone) or 'none'}.")
    return 0
