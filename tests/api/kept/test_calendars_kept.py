"""Calendars to subscribe to: two foreign libraries that apply each fetch hold exactly the plan, over all plans."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

import icalendar
import vobject

from sequencer import parse_document
from tests.api.kept.keeping import TWO_CLASSES, Keeping
from tests.api.service import problem

Event = tuple[str, int, str, str, date]
"""What a client needs of an event: UID, SEQUENCE, STATUS, title, day."""


def by_icalendar(text: str) -> Iterator[Event]:
    for event in icalendar.Calendar.from_ical(text).walk("VEVENT"):
        start = event.decoded("dtstart")
        day = start.date() if isinstance(start, datetime) else start
        yield str(event["uid"]), int(event["sequence"]), str(event["status"]), str(event["summary"]), day


def by_vobject(text: str) -> Iterator[Event]:
    for event in vobject.readOne(text).contents.get("vevent", ()):
        start = event.dtstart.value
        day = start.date() if isinstance(start, datetime) else start
        yield event.uid.value, int(event.sequence.value), event.status.value, event.summary.value, day


READERS = (by_icalendar, by_vobject)


class Phone:
    """A program that subscribes: what it holds, by UID; it takes an event for a new one only where SEQUENCE says so."""

    def __init__(self, reader: Any) -> None:
        self._reader = reader
        self._held: dict[str, Event] = {}

    def take(self, text: str) -> None:
        for event in self._reader(text):
            held = self._held.get(event[0])
            assert held is None or event[1] > held[1] or event == held, "changed without a higher SEQUENCE"
            self._held[event[0]] = event

    def holds(self) -> list[tuple[date, str]]:
        return sorted((day, title) for _, _, status, title, day in self._held.values() if status != "CANCELLED")


def planned(term: dict[str, Any], wanted: str) -> list[tuple[date, str]]:
    """What the rows of a plan say of a class, as its calendar titles it."""
    names = {"ZZ9": "ZZ nine"}
    rows = term["plan"]["lessons"] if term["plan"] else []
    return sorted(
        (date.fromisoformat(row["date"]), f"{names.get(row['class'], row['class'])}: {row['title']}")
        for row in rows
        if row["class"] == wanted and row["what"] not in ("lost", "skipped")
    )


def test_who_subscribes_holds_the_plan_over_four_plans(own: Keeping) -> None:
    tag = own.put("autumn")
    whose = {("class", "9B"): "9B", ("teacher", "ZZ Elm"): "ZZ9", ("cohort", "Y9"): "Y9"}
    addresses = {
        each: own.ask("POST", "/v1/terms/autumn/calendars", dict(zip(("kind", "name"), each, strict=True))).json()["address"]
        for each in whose
    }
    phones = {each: [Phone(reader) for reader in READERS] for each in whose}
    seldom = Phone(by_icalendar)
    states = []

    def look(all_of_them: bool = True) -> None:
        term = own.ask("GET", "/v1/terms/autumn").json()
        states.append(planned(term, "9B") + planned(term, "ZZ9"))
        for each, class_id in whose.items():
            text = own.ask("GET", addresses[each]).text
            assert "Watch the back row" not in text and "ZZ private" not in text
            for phone in phones[each]:
                phone.take(text)
                if each[0] == "cohort":
                    quiz = [(day, "Geography: quiz (9B)") for day, title in planned(term, "9B") if title == "9B: quiz"]
                    other = planned(term, "ZZ9")
                    quiz += [(day, "ZZ subject: ZZ quiz (ZZ nine)") for day, title in other if title == "ZZ nine: ZZ quiz"]
                    assert phone.holds() == sorted(quiz)
                else:
                    assert phone.holds() == planned(term, class_id)
        if all_of_them:
            seldom.take(own.ask("GET", addresses["class", "9B"]).text)

    def week(rows: list[dict[str, Any]], on: str) -> None:
        nonlocal tag
        done = own.ask("POST", f"/v1/terms/autumn/weeks?seconds=20&on={on}", {"happened": rows}, if_match=tag)
        assert done.json()["done"] in ("planned", "planned again"), done.text
        tag = done.headers["etag"]

    look()
    week([], "2026-11-01")
    look()
    lost = {"class": "9B", "unit": "rivers", "lesson": "source", "what": "lost"}
    arch = {"class": "ZZ9", "unit": "zzcoasts", "lesson": "zzarch", "what": "skipped"}
    week([lost, arch], "2026-11-06")
    look(False)
    scenario = parse_document(TWO_CLASSES)[0]
    kept = own.ask("GET", "/v1/terms/autumn").json()
    kept["scenario"]["closures"] = [{"name": "Snow", "first": "2026-11-09", "last": "2026-11-13"}]
    tag = own.ask("PUT", "/v1/terms/autumn", kept, if_match=tag).headers["etag"]
    look(False)
    week([], "2026-11-08")
    look()
    undone = own.ask("POST", "/v1/terms/autumn/undo", if_match=tag)
    assert undone.json()["done"] == "undone"
    look()
    assert len({str(each) for each in states}) >= 4 and scenario["title"]
    assert seldom.holds() == planned(own.ask("GET", "/v1/terms/autumn").json(), "9B")


def test_a_calendar_is_cached_and_revoked(own: Keeping, service: Keeping) -> None:
    own.put("autumn", service.ask("GET", "/v1/terms/autumn").json())
    made = own.ask("POST", "/v1/terms/autumn/calendars", {"kind": "teacher", "name": "Ms Oak"})
    address = made.json()["address"]
    assert made.status_code == 201 and made.headers["location"] == address and len(address) > 50
    own.key("administer")
    first = own.ask("GET", address)
    assert first.status_code == 200 and first.headers["cache-control"] == "private, max-age=300", "it asks for no key"
    assert own.ask("GET", address, if_none_match=first.headers["etag"]).status_code == 304
    key = own.key("plan a department")
    listed = own.ask("GET", "/v1/terms/autumn/calendars", key=key)
    (entry,) = listed.json()["calendars"]
    assert entry["kind"] == "teacher" and entry["sent"] is not None and address.split("/")[-1][:-4] not in listed.text
    assert own.ask("DELETE", f"/v1/terms/autumn/calendars/{entry['calendar']}", key=key).status_code == 204
    problem(own.ask("GET", address), 404)
    problem(own.ask("DELETE", f"/v1/terms/autumn/calendars/{entry['calendar']}", key=key), 404)
    refused = problem(own.ask("POST", "/v1/terms/autumn/calendars", {"kind": "class", "name": "7X"}, key), 422)
    assert "9B, ZZ9" in refused["detail"]
