"""The calendar (RFC 5545): strict in form, read back by two libraries, right on both sides of a clock change, never doubled."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from io import StringIO
from itertools import count
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject
from dateutil.tz import tzical
from icalendar import Calendar
from vobject.icalendar import registerTzid

from sequencer import (
    Answer,
    NothingToShow,
    Shown,
    SolveSettings,
    UnusableInput,
    UnusableSettings,
    answer_json,
    calendar_notes,
    check_shown,
    scenario_from_data,
    sequence_calendar,
    sequence_from_data,
    solve,
    written,
)
from sequencer.render.calendar_events import time_zone
from tests.builders import Data, a_class, practice, scenario, solved, teach

NOW = datetime(2026, 10, 1, 12, 0, tzinfo=UTC)

BELLS = [
    {"number": 1, "starts": "08:50", "ends": "09:50"},
    {"number": 2, "starts": "10:05", "ends": "11:05"},
    {"number": 3, "starts": "23:30", "ends": "23:59"},
]
"""The last one lies on another day of UTC west of Greenwich."""

AUTUMN = {"first": "2026-10-12", "last": "2026-11-13"}
"""Clocks go back on 25 October in Europe, on 1 November in New York; they go forward on 4 October in Adelaide, before it."""

SPRING = {"first": "2027-03-08", "last": "2027-04-16"}


def calendar(answer: Answer, **shown: Any) -> bytes:
    """Write an answer as a calendar."""
    text = written(answer, "calendar", Shown(now=shown.pop("now", NOW), **shown))
    assert isinstance(text, bytes)
    strict(text)
    return text


def events(text: bytes) -> dict[str, Any]:
    """Read a calendar's events with the other library, by UID.

    That library remembers zones by name from file to file, and takes a zone that had no summer time before 2020 for UTC. So each
    file's zone gets a name of its own here and is read for it, from the file's VTIMEZONE, by the library that it uses itself.
    """
    zone = f"Zone-{next(_NUMBERS)}"
    plain = re.sub(r"(TZID[:=])[A-Za-z/_]+", rf"\g<1>{zone}", text.decode())
    if "BEGIN:VTIMEZONE" in plain:
        registerTzid(zone, tzical(StringIO(plain)).get())
    found = list(vobject.readOne(plain).contents.get("vevent", []))
    by_uid = {event.uid.value: event for event in found}
    assert len(by_uid) == len(found), "a UID twice in one file"
    return by_uid


_NUMBERS = count()


def a_plan(**more: Any) -> Data:
    """Two lessons of one class, on two dates."""
    lessons = more.pop("lessons", [teach("a", title="Rivers"), teach("b", title="Coasts", requires="a")])
    return scenario(lessons, per_week="Mon 1, Tue 1", **more)


# -- the form ----------------------------------------------------------------------------------------------------------

NAME = r"[A-Z0-9-]+"
PARAMETER = rf'{NAME}=(?:"[^"\x00-\x1f\x7f]*"|[^";:,\x00-\x1f\x7f]*)'
CONTENT_LINE = re.compile(rf"({NAME})((?:;{PARAMETER})*):([^\x00-\x08\x0a-\x1f\x7f]*)")
"""RFC 5545, section 3.1."""

TEXT = re.compile(r"(?:[^\\;,]|\\[\\;,Nn])*")
"""Section 3.3.11: backslashes, semicolons and commas are escaped."""

FORMS = {
    "UID": TEXT, "SUMMARY": TEXT, "DESCRIPTION": TEXT, "NAME": TEXT, "PRODID": TEXT, "TZID": TEXT, "TZNAME": TEXT,
    "CATEGORIES": re.compile(r"(?:[^\\;,]|\\[\\;,Nn])*(?:,(?:[^\\;,]|\\[\\;,Nn])*)*"),
    "VERSION": re.compile(r"2\.0"),
    "SEQUENCE": re.compile(r"\d+"),
    "STATUS": re.compile("CONFIRMED|CANCELLED"),
    "TRANSP": re.compile("OPAQUE|TRANSPARENT"),
    "DTSTAMP": re.compile(r"\d{8}T\d{6}Z"),
    "DTSTART": re.compile(r"\d{8}(T\d{6}Z?)?"),
    "DTEND": re.compile(r"\d{8}(T\d{6}Z?)?"),
    "TZOFFSETFROM": re.compile(r"[+-]\d{4}(\d{2})?"),
    "TZOFFSETTO": re.compile(r"[+-]\d{4}(\d{2})?"),
}  # fmt: skip

MUST = {
    "VCALENDAR": {"PRODID", "VERSION"},
    "VEVENT": {"UID", "DTSTAMP", "DTSTART"},
    "VTIMEZONE": {"TZID"},
    "STANDARD": {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"},
    "DAYLIGHT": {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"},
}
MAY = {
    "VCALENDAR": {"NAME"},  # RFC 7986
    "VEVENT": {"DTEND", "SUMMARY", "DESCRIPTION", "CATEGORIES", "STATUS", "TRANSP", "SEQUENCE"},
    "VTIMEZONE": set[str](),
    "STANDARD": {"TZNAME"},
    "DAYLIGHT": {"TZNAME"},
}
INSIDE = {"VCALENDAR": {"VEVENT", "VTIMEZONE"}, "VTIMEZONE": {"STANDARD", "DAYLIGHT"}}


def strict(text: bytes) -> None:
    """Hold a calendar to the letter of RFC 5545 as far as we use it: lenient readers accept what it forbids."""
    assert text.endswith(b"\r\n") and b"\n" not in text.replace(b"\r\n", b"") and b"\r" not in text.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in text.split(b"\r\n"))
    lines = text.decode("utf-8").replace("\r\n ", "").removesuffix("\r\n").split("\r\n")
    stack: list[tuple[str, list[str], set[str]]] = []
    zones, named, uids = set(), set(), []
    for line in lines:
        match = CONTENT_LINE.fullmatch(line)
        assert match, line
        name, parameters, value = match[1], match[2], match[3]
        if name == "BEGIN":
            assert value in INSIDE.get(stack[-1][0], ()) if stack else value == "VCALENDAR", line
            if stack:
                stack[-1][2].add(value)
            stack.append((value, [], set()))
            continue
        component, properties, inner = stack[-1]
        if name == "END":
            assert value == component
            assert MUST[component] <= set(properties), f"{component} lacks {MUST[component] - set(properties)}"
            assert len(properties) == len(set(properties)), f"{component} states one thing twice"
            assert inner if component == "VTIMEZONE" else True
            stack.pop()
            continue
        properties.append(name)
        if name.startswith("X-"):
            assert TEXT.fullmatch(value), line
            continue
        assert name in MUST[component] | MAY[component], f"{name} in {component}"
        assert FORMS[name].fullmatch(value), line
        if name == "TZID":
            zones.add(value)
        if name == "UID":
            uids.append(value)
        if "TZID=" in parameters:
            named.add(parameters.removeprefix(";TZID="))
            assert re.fullmatch(r"\d{8}T\d{6}", value), line
        elif len(value) == 8 and name in ("DTSTART", "DTEND"):
            assert parameters == ";VALUE=DATE", line
        else:
            assert parameters == "", line
            # A time without a zone is allowed by the standard, and an hour off in practice.
            assert component != "VEVENT" or "DT" not in name[:2] or value.endswith("Z"), line
    assert not stack
    assert zones == named, "each zone that is named is described, and no other"
    assert len(uids) == len(set(uids))


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        (b"\r\n", b"\n"),
        (b"SEQUENCE:0", b"SEQUENCE:x"),
        (b"VERSION:2.0\r\n", b""),
        (b"END:VEVENT\r\nBEGIN:VEVENT", b""),
        (b"SUMMARY:", b"SUMMARY:" + b"x" * 80),
        (b"SUMMARY:", b"SUMMARY:a;b"),
        (b"SUMMARY:", b"SUMARY:"),
        (b"TZID:Europe/London", b"TZID:London"),
        (b"TZNAME:", b"COMMENT:"),
        (b"DTSTART;TZID=Europe/London:", b"DTSTART:"),
    ],
)
def test_the_strict_reader_is_strict(good: bytes, bad: bytes) -> None:
    text = calendar(solved(a_plan(term=AUTUMN, periods=BELLS, time_zone="Europe/London")))
    assert good in text
    with pytest.raises(AssertionError):
        strict(text.replace(good, bad))


def test_titles_cannot_break_out_of_their_line() -> None:
    title = 'A, b; c\\n: "d"\nEND:VEVENT\r\nBEGIN:VALARM\n' + "é" * 60
    text = calendar(solved(a_plan(lessons=[teach("a", title=title)], title="x\nMETHOD:CANCEL", unit={"title": title})))
    (event,) = events(text).values()
    assert event.summary.value == "Period 1, 9B: " + " ".join(title.split())
    assert text.count(b"\r\nBEGIN:") == 1
    assert b"\nMETHOD" not in text


# -- the same lessons, at the same moments -----------------------------------------------------------------------------


@pytest.mark.parametrize("term", [AUTUMN, SPRING], ids=["autumn", "spring"])
@pytest.mark.parametrize(
    "zone",
    ["Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Tokyo", "Africa/Casablanca", "America/Santiago", "UTC"],
)
def test_events_lie_at_the_bell_times_on_both_sides_of_a_clock_change(zone: str, term: Data) -> None:
    lessons = [teach(f"l{number}", length=2 if number % 3 == 0 else 1) for number in range(10)]
    data = scenario(lessons, term=term, per_week="Mon 1-2, Thu 3", periods=BELLS, time_zone=zone)
    answer = solved(data, seconds=10)
    starts = {bell["number"]: time.fromisoformat(bell["starts"]) for bell in BELLS}
    ends = {bell["number"]: time.fromisoformat(bell["ends"]) for bell in BELLS}
    expected = set()
    for row in answer_json(answer)["lessons"]:
        day, last = date.fromisoformat(row["date"]), row["period"] + row["length"] - 1
        moments = (datetime.combine(day, clock, ZoneInfo(zone)) for clock in (starts[row["period"]], ends[last]))
        expected.add((row["title"], *(moment.astimezone(UTC) for moment in moments)))
    text = calendar(answer)
    # The other library reads the offsets from the file's own VTIMEZONE, not from this machine's time zones.
    read = {
        (event.summary.value.removeprefix("9B: "), event.dtstart.value.astimezone(UTC), event.dtend.value.astimezone(UTC))
        for event in events(text).values()
    }
    assert read == expected
    # A second reader, which knows the zones by name.
    assert {
        (str(event["SUMMARY"]).removeprefix("9B: "), *(event[name].dt.astimezone(UTC) for name in ("DTSTART", "DTEND")))
        for event in Calendar.from_ical(text).walk("VEVENT")
    } == expected
    assert len({moment.dst() for row in expected for moment in (row[1].astimezone(ZoneInfo(zone)),)}) == (
        1 if zone in ("Asia/Tokyo", "UTC") or (zone, term) in STEADY else 2
    )


STEADY = [("Africa/Casablanca", AUTUMN), ("America/Santiago", AUTUMN), ("Australia/Lord_Howe", AUTUMN)]
"""Zones whose clocks do not change in the one term."""


@pytest.mark.parametrize(
    "zone", ["Europe/London", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca", "America/Santiago", "Asia/Gaza"]
)
def test_a_zone_is_described_to_the_minute(zone: str) -> None:
    """Each quarter of an hour of a school year, read by dateutil from our description, against the machine's own zone."""
    described = time_zone(zone, date(2026, 9, 1), date(2027, 7, 31)).to_ical().decode()
    read = tzical(StringIO(f"BEGIN:VCALENDAR\r\n{described}END:VCALENDAR\r\n")).get()
    assert read is not None
    offsets = set()
    for quarter in range(333 * 96):
        instant = datetime(2026, 9, 1, tzinfo=UTC) + quarter * timedelta(minutes=15)
        expected = instant.astimezone(ZoneInfo(zone))
        assert expected.replace(tzinfo=read).utcoffset() == expected.utcoffset(), expected
        offsets.add(expected.utcoffset())
    assert len(offsets) == 2
    # As the standard's own example has it: the onset stands in the time before the change.
    if zone == "America/New_York":
        assert "DTSTART:20261101T020000" in described and "DTSTART:20270314T020000" in described


@pytest.mark.parametrize("more", [{}, {"periods": BELLS}, {"time_zone": "Europe/London"}])
def test_without_bell_times_and_zone_events_last_the_day(more: Data) -> None:
    answer = solved(a_plan(**more))
    rows = answer_json(answer)["lessons"]
    read = [(event.dtstart.value, event.dtend.value, event.summary.value) for event in events(calendar(answer)).values()]
    days = [date.fromisoformat(row["date"]) for row in rows]
    assert read == [(day, day + timedelta(days=1), f"Period 1, 9B: {row['title']}") for day, row in zip(days, rows, strict=True)]


def test_a_description_says_what_goes_with_the_lesson() -> None:
    lessons = [teach("a", title="Waves", load=4), practice("p", "a"), teach("river", tags="fieldwork", on="2026-11-02")]
    spell = {"name": "Boiler", "on": "2026-11-02", "taught": "live"}
    read = events(calendar(solved(a_plan(lessons=lessons, remote_spells=[spell], rules={"retrieval": "off"})))).values()
    told = {event.summary.value.partition(": ")[2]: event.description.value for event in read}
    assert "practises Waves" in told["p"]
    assert "risk assessment" in next(text for title, text in told.items() if title.startswith("river"))
    live = [text for title, text in told.items() if title.endswith("(live)")]
    assert len(live) == 1 and "safeguarding" in live[0]


# -- again -------------------------------------------------------------------------------------------------------------


def test_a_new_plan_updates_and_never_doubles() -> None:
    lessons = [teach("a", title="Rivers"), teach("b", title="Coasts", requires="a"), teach("c", title="Glaciers", optional=True)]
    first = calendar(solved(a_plan(lessons=lessons)))
    # The first Monday is lost and one lesson goes; the last one stays where it was.
    later = a_plan(
        lessons=[{**lessons[0], "on": "2026-11-09"}, {**lessons[1], "on": "2026-11-10"}],
        closures=[{"name": "Flood", "on": ["2026-11-02", "2026-11-03"]}],
    )
    second = calendar(solved(later), previous=first, now=NOW + timedelta(days=1))
    before, after = events(first), events(second)
    assert before.keys() == after.keys(), "what was imported before is changed or cancelled, and nothing is added"
    told = {event.summary.value.partition(": ")[2]: (event.status.value, event.sequence.value) for event in after.values()}
    assert told == {"Rivers": ("CONFIRMED", "1"), "Coasts": ("CONFIRMED", "1"), "Glaciers": ("CANCELLED", "1")}
    third = calendar(solved(later), previous=second, now=NOW + timedelta(days=2))
    assert third == second, "nothing changed, so nothing rises"
    # The lesson comes back.
    back = events(calendar(solved(a_plan(lessons=lessons)), previous=third)).values()
    assert {(event.status.value, event.sequence.value) for event in back} == {("CONFIRMED", "2")}


def test_what_is_new_is_counted() -> None:
    lessons = [teach("a", title="Rivers"), teach("b", title="Coasts", requires="a"), teach("c", title="Glaciers", requires="b")]
    plan = a_plan(lessons=lessons)
    first = calendar(solved(plan))
    # Rivers stays and gets a new name, Coasts moves, Glaciers goes, Deserts comes.
    rivers, coasts = {**lessons[0], "title": "Becks"}, {**lessons[1], "not_before": "2026-11-09"}
    changed = a_plan(lessons=[rivers, coasts, teach("d", title="Deserts", requires="b")])
    second = calendar(solved(changed), previous=first)
    assert calendar_notes(scenario_from_data(changed), first, second) == [
        "Beside the earlier calendar: 1 new, 1 moved, 1 changed otherwise, 1 cancelled, 0 unchanged."
    ]
    # A second time nothing is new, and what was cancelled before is no news; then it comes back.
    third = calendar(solved(changed), previous=second)
    assert calendar_notes(scenario_from_data(changed), second, third) == [
        "Beside the earlier calendar: 0 new, 0 moved, 0 cancelled, 3 unchanged."
    ]
    back = calendar(solved(plan), previous=third)
    assert calendar_notes(scenario_from_data(plan), third, back) == [
        "Beside the earlier calendar: 1 new, 1 moved, 1 changed otherwise, 1 cancelled, 0 unchanged."
    ]


def test_bell_times_without_a_zone_are_told_and_nothing_else_is() -> None:
    (note,) = calendar_notes(scenario_from_data(a_plan(periods=BELLS)))
    assert "every event lasts all day" in note and "such as Europe/London" in note
    for more in ({}, {"time_zone": "Europe/London"}, {"periods": BELLS, "time_zone": "Europe/London"}):
        assert calendar_notes(scenario_from_data(a_plan(**more))) == []


def test_an_earlier_sequence_will_do_too() -> None:
    lessons = [teach("a", title="Rivers"), teach("b", title="Coasts", requires="a"), teach("c", title="Glaciers", optional=True)]
    before = solved(a_plan(lessons=lessons))
    dates = {row["lesson"]: row["date"] for row in answer_json(before)["lessons"]}
    lost = a_plan(lessons=lessons, closures=[{"name": "Flood", "on": dates["a"]}])
    after = solved({**lost, "units": [{"id": "u", "lessons": [*lessons[:2], {**lessons[2], "not_before": "2026-11-10"}]}]})
    earlier = sequence_calendar(after.instance.scenario, sequence_from_data(after.instance.scenario, answer_json(before)))
    assert events(earlier).keys() == events(calendar(before)).keys()
    now = {row["lesson"]: row["date"] for row in answer_json(after)["lessons"]}
    told = {event.summary.value.partition(": ")[2]: event for event in events(calendar(after, previous=earlier)).values()}
    # What lay on a date that the class no longer has changed as well as what moved.
    for lesson, title in (("a", "Rivers"), ("b", "Coasts"), ("c", "Glaciers")):
        moved = now.get(lesson) != dates[lesson]
        assert told[title].sequence.value == str(int(moved)), title
        assert told[title].status.value == ("CONFIRMED" if lesson in now else "CANCELLED")
    assert now["a"] != dates["a"]


def test_a_new_title_or_way_of_teaching_keeps_the_event() -> None:
    first = calendar(solved(a_plan()))
    data = a_plan(lessons=[teach("a", title="Streams"), teach("b", title="Coasts", requires="a")], rules={"dates": "off"})
    second = calendar(solved(data), previous=first)
    assert events(first).keys() == events(second).keys()
    assert sorted((event.summary.value, event.sequence.value) for event in events(second).values()) == [
        ("Period 1, 9B: Coasts", "0"),
        ("Period 1, 9B: Streams", "1"),
    ]


def two_classes(**more: Any) -> Data:
    """The same lesson in two classes, of two teachers."""
    classes = [a_class("9A", "Mon 1", teacher="Ms Oak"), a_class("9B", "Tue 2", teacher="Mr Elm")]
    return scenario([teach("a", title="Rivers")], classes=classes, **more)


def test_a_calendar_of_one_class_leaves_the_others_alone() -> None:
    answer = solved(two_classes())
    whole, of_one = calendar(answer), calendar(answer, classes=("9B",))
    assert {event.summary.value for event in events(of_one).values()} == {"Period 2, 9B: Rivers"}
    assert events(of_one).keys() < events(whole).keys()
    assert calendar(answer, classes=("9B",), previous=whole) == of_one
    assert calendar(answer, teachers=("Mr Elm",), previous=whole) == of_one
    assert calendar(answer, previous=of_one) == whole


def test_lessons_of_the_term_before_are_not_cancelled() -> None:
    old = calendar(solved(a_plan(term={"first": "2026-09-07", "last": "2026-09-18"})))
    new = solved(a_plan())
    assert calendar(new, previous=old) == calendar(new)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b"", "not a calendar that can be read"),
        (b"hello", "not a calendar that can be read"),
        (b"\xff\xfe\x00", "not a calendar that can be read"),
        (b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nEND:VCALENDAR\r\n", "holds no lesson"),
        (b"x" * 10_000_001, "too large"),
        ((b"SEQUENCE:0", b"SEQUENCE:many"), "not a calendar that can be read"),
        ((b"DTSTART;VALUE=DATE:2026", b"DTSTART;VALUE=DATE:x026"), "not a calendar that can be read"),
        ((b"SUMMARY:", b"SUMMARY:x\r\nSUMMARY:"), "not a calendar that can be read"),
        ((b"SUMMARY:", b"SUMMARY;VALUE=DATE:"), "not a calendar that can be read"),
        ((b"SUMMARY:", b"SUMMARY:\x07"), "not a calendar that can be read"),
        ((b"DTEND;VALUE=DATE:2026", b"DTEND;VALUE=DATE:9999"), "not a calendar that can be read"),
        ((b"DTSTART;VALUE=DATE:", b"DTSTART;TZID=No/Where:20261102T090000\r\nX-OLD:"), "not a calendar that can be read"),
        ((b"DTSTAMP:", b"DTSTAMP;VALUE=DATE:20261102\r\nX-OLD:"), "not a calendar that can be read"),
        ((b"SEQUENCE:0", b"SEQUENCE:-1"), "not a calendar that can be read"),
        ((b"UID:", b"X-UID:"), "not a calendar that can be read"),
        ((b"END:VEVENT\r\nEND:VCALENDAR\r\n", b""), "not a calendar that can be read"),
    ],
)
def test_an_earlier_calendar_that_cannot_be_used_is_refused(text: bytes | tuple[bytes, bytes], says: str) -> None:
    answer = solved(a_plan())
    earlier = text if isinstance(text, bytes) else calendar(answer).replace(*text)
    for attempt in (lambda: calendar(answer, previous=earlier), lambda: check(answer, previous=earlier)):
        with pytest.raises(UnusableInput, match=says):
            attempt()


def check(answer: Answer, **shown: Any) -> None:
    """Check what is asked of a calendar before it is made."""
    check_shown(answer.instance.scenario, "calendar", Shown(**shown))


def test_unknown_classes_and_teachers_are_named() -> None:
    answer = solved(two_classes())
    with pytest.raises(UnusableSettings) as refused:
        check(answer, classes=("9A", "9C"), teachers=("Mr Ash",))
    assert refused.value.problems == (
        "there is no class 9C: classes are 9A, 9B",
        "there is no teacher Mr Ash: teachers are Ms Oak, Mr Elm",
    )


def test_where_there_is_no_sequence_nothing_is_written() -> None:
    answer = solve(scenario_from_data(scenario([teach("a"), teach("b"), teach("c")], weeks=1)), SolveSettings(10))
    assert answer.status == "infeasible"
    with pytest.raises(NothingToShow, match="no sequence exists"):
        written(answer, "calendar")
