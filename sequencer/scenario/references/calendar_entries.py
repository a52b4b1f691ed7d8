"""The calendar's own entries: term, labels, dates, bell times."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo, available_timezones

from sequencer.scenario.bank_holidays import place_of, unknown_country
from sequencer.scenario.places import shown
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import SPREAD_OUT, Outline
from sequencer.scenario.references.timetables import cycle_labels
from sequencer.words import EVERY_WEEK, WEEKDAYS

MOST_DAYS = 800


def term_has_days(outline: Outline, findings: Findings) -> None:
    """Term ends no sooner than it begins, and not years later; its week 1 lies in it."""
    term = outline.root["term"]
    if term["first"].day and term["last"].day:
        _is_empty(term["first"], term["last"], findings)
        day = term["week_one"].day
        if day is not None and not term["first"].day <= day <= term["last"].day:
            findings.add(term["week_one"], f"must lie in term, {term['first'].day} to {term['last'].day} (got {day})")


def country_is_known(outline: Outline, findings: Findings) -> None:
    """A country that the term names is one whose bank holidays are known."""
    country = outline.root["term"]["country"]
    if isinstance(country.value, str) and country.value and place_of(country.value) is None:
        findings.add(country, f"{unknown_country(country.value)} (got {shown(country.value)})")


def labels_are_usable(outline: Outline, findings: Findings) -> None:
    """The labels of the cycle differ from one another and from the timetable's own words."""
    term = outline.root["term"]
    labels = cycle_labels(outline)
    seen: set[str] = set()
    for label, place in term["cycle"].words():
        if label in seen:
            findings.add(place, f"is in the cycle already ({shown(label)})")
        if label == EVERY_WEEK or label in WEEKDAYS:
            findings.add(place, f"cannot be a label: {label} has another meaning in timetables")
        seen.add(label)
    first_label = term["first_label"].text
    if first_label is not None and first_label not in labels:
        message = f"is not in the cycle {', '.join(labels)} ({shown(first_label)})"
        findings.unknown(term["first_label"], first_label, message, labels)


def entries_lie_on_dates(outline: Outline, findings: Findings) -> None:
    """Holidays, closures, remote spells and restricted days lie on dates of term, stated in one way."""
    for entry in outline.root.all(SPREAD_OUT):
        _lies_on_dates(entry, outline, findings)


def _lies_on_dates(entry: Entry, outline: Outline, findings: Findings) -> None:
    first, last = entry["first"], entry["last"]
    on = entry["on"].listed()
    if on and (first.stated or last.stated):
        place = first if first.stated else last
        findings.add(place, "cannot stand beside on: say either on, or first and last", on_key=True)
        return
    if not on and not (first.stated and last.stated):
        findings.add(entry, "must say its dates: either on, or first and last")
        return
    if first.day and last.day and _is_empty(first, last, findings):
        return
    dates = [place.day for place in on] if on else [first.day, last.day]
    days = [day for day in dates if day is not None]
    if outline.first and outline.last and len(days) == len(dates) and _outside(days, bool(on), outline):
        findings.add(entry["on"] if on else first, f"lies outside term ({outline.first} to {outline.last}) altogether")


def _is_empty(first: Entry, last: Entry, findings: Findings) -> bool:
    assert first.day is not None and last.day is not None
    if last.day < first.day:
        findings.add(last, f"must not lie before first, {first.day} (got {last.day})")
    elif (last.day - first.day).days >= MOST_DAYS:
        findings.add(last, f"makes {(last.day - first.day).days + 1:,} days; at most {MOST_DAYS} can be planned")
    else:
        return False
    return True


def _outside(days: list[date], single: bool, outline: Outline) -> bool:
    assert outline.first is not None and outline.last is not None
    if single:
        return all(not outline.first <= day <= outline.last for day in days)
    return days[1] < outline.first or days[0] > outline.last


def fixed_periods_lie_in_their_spell(outline: Outline, findings: Findings) -> None:
    """What a remote spell fixes concerns dates, weekdays and periods of the spell."""
    for spell in outline.root.all("remote_spells"):
        days = _days_of(spell)
        weekdays = {WEEKDAYS[day.weekday()] for day in days}
        periods = {period.number for period in spell["periods"].listed()}
        for fixed in spell.all("fixed"):
            strange = [("date", place) for place in fixed["on"].listed() if days and place.day and place.day not in days]
            strange += [
                ("weekday", place)
                for word, place in fixed["weekdays"].words()
                if days and word in WEEKDAYS and word not in weekdays
            ]
            strange += [
                ("period", place)
                for place in fixed["periods"].listed()
                if periods and place.number is not None and place.number not in periods
            ]
            for what, place in strange:
                findings.add(place, f"is not a {what} of this remote spell (got {place.text})")


def _days_of(entry: Entry) -> set[date]:
    """The dates of an entry; none where they are not well stated."""
    first, last = entry["first"].day, entry["last"].day
    if first and last and 0 <= (last - first).days < MOST_DAYS:
        return {first + timedelta(days=offset) for offset in range((last - first).days + 1)}
    return {place.day for place in entry["on"].listed() if place.day is not None}


def restricted_days_refuse_something(outline: Outline, findings: Findings) -> None:
    """A restricted day says what it does not take, or how long its periods last."""
    for day in outline.root.all("restricted_days"):
        refuses = day["refuses"]
        if not refuses.stated and not day["minutes"].stated:
            findings.add(day, "must say what it refuses (refuses), or how many minutes its periods last (minutes)")
        refused = [*refuses["kinds"].listed(), *refuses["tags"].listed()]
        if isinstance(refuses.value, dict) and not refused and refuses["high_load"].value in (None, False):
            findings.add(refuses, "must refuse something: kinds, tags or high_load")


def bell_times_follow_one_another(outline: Outline, findings: Findings) -> None:
    """A period ends after it starts, and periods come in the order of their numbers without overlapping."""
    bells = []
    for bell in outline.root.all("periods"):
        number, starts, ends = bell["number"].number, bell["starts"].value, bell["ends"].value
        if number is None or not _is_time(starts) or not _is_time(ends):
            continue
        if ends <= starts:
            findings.add(bell["ends"], f"must be later than its start, {starts} (got {shown(ends)})")
        else:
            bells.append((number, starts, ends, bell["starts"]))
    for (number, _, ended, _), (later, starts, _, place) in pairwise(sorted(bells, key=lambda bell: bell[0])):
        if later != number and starts < ended:
            findings.add(place, f"must not lie before the end of period {number}, {ended} (got {shown(starts)})")


def _is_time(value: object) -> bool:
    return isinstance(value, str) and len(value) == 5 and value[2] == ":" and (value[:2] + value[3:]).isdecimal()


def adjacent_periods_follow_one_another(outline: Outline, findings: Findings) -> None:
    """Adjacent periods are two different ones, the earlier first, each pair listed once."""
    seen: set[tuple[int, int]] = set()
    for pair in outline.root["adjacent_periods"].listed():
        numbers = [period.number for period in pair.listed()]
        if len(numbers) != 2 or numbers[0] is None or numbers[1] is None:
            continue
        first, second = numbers[0], numbers[1]
        if first >= second:
            findings.add(pair, f"must name the earlier period, then the later (got [{first}, {second}])")
        elif (first, second) in seen:
            findings.add(pair, f"is in the list already ([{first}, {second}])")
        seen.add((first, second))


def time_zone_is_known(outline: Outline, findings: Findings) -> None:
    """The time zone is one of the IANA's."""
    zone = outline.root["time_zone"]
    if not isinstance(zone.value, str) or not zone.value:
        return
    try:
        ZoneInfo(zone.value)
    except (KeyError, ValueError, OSError):
        known = sorted(available_timezones())
        findings.unknown(zone, zone.value, f"is not a time zone such as Europe/London ({shown(zone.value)})", known)
