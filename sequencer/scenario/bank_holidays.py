"""Bank holidays of a country or a part of it: offered when a term is begun, and named in messages.

They close nothing by themselves. The package ``holidays`` reckons them, and is loaded when they are first asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from functools import cache, lru_cache
from typing import Any

from sequencer.errors import UnusableSettings

HOME = "united kingdom"
"""The country whose parts need not name it: England, Northern Ireland, Scotland, Wales."""

MOST_DAYS = 800
"""Days for which bank holidays are listed at most, as of a term."""

_LANGUAGES = ("en_GB", "en_US")


@dataclass(frozen=True)
class BankHoliday:
    """A bank holiday: its name and its date."""

    name: str
    on: date


def bank_holidays(country: str, first: date, last: date) -> tuple[BankHoliday, ...]:
    """The bank holidays from one day to another that fall on Monday to Friday, in order.

    Of a country, or of a part of one before or after it (``France``; ``Canada, Ontario``); of the United Kingdom the part alone
    will do (``England``).

    Raises
    ------
    UnusableSettings
        When the country is not known, or the days are too many or none.
    """
    place = place_of(country)
    problems = [] if place is not None else [f"country {unknown_country(country)}"]
    if not 0 <= (last - first).days < MOST_DAYS:
        problems.append(f"last must lie on or after first, and at most {MOST_DAYS} days on")
    if place is None or problems:
        raise UnusableSettings(problems)
    found = {day: name for year in range(first.year, last.year + 1) for day, name in _of_year(*place, year).items()}
    return tuple(BankHoliday(name, day) for day, name in sorted(found.items()) if first <= day <= last and day.weekday() < 5)


def bank_holiday_on(country: str | None, day: date) -> str | None:
    """The name of the bank holiday that a day is; None where it is none, or the country is not known."""
    place = place_of(country) if country is not None else None
    return _of_year(*place, day.year).get(day) if place is not None else None


@lru_cache(256)
def place_of(country: str) -> tuple[str, str | None] | None:
    """The codes of a country and its part, by ISO 3166; None where it is not known."""
    words = [" ".join(word.split()).casefold() for word in country.split(",")]
    if len(words) > 2:
        return None
    for number in range(len(words) - 1, -1, -1):
        code = _countries().get(words[number])
        if code is not None:
            part = words[1 - number] if len(words) == 2 else None
            if part is None or part in _parts(code):
                return code, None if part is None else _parts(code)[part]
    home = _countries()[HOME]
    return (home, _parts(home)[words[0]]) if len(words) == 1 and words[0] in _parts(home) else None


def unknown_country(country: str) -> str:
    """What is to be said of a country that is not known, with what may be meant."""
    names = [*_parts(_countries()[HOME]), *_countries()]
    near = get_close_matches(country.casefold()[:80], names, n=1)
    meant = f" (did you mean {near[0].title()}?)" if near else ""
    return f"names no country whose bank holidays are known{meant}: write England, or Canada, Ontario"


@cache
def _countries() -> dict[str, str]:
    """Codes of countries by name, and by code, in small letters."""
    from holidays.registry import COUNTRIES

    named = {module.replace("_", " "): codes[1] for module, codes in COUNTRIES.items()}
    return named | {code.casefold(): code for code in named.values()} | {"uk": named[HOME]}


@cache
def _parts(code: str) -> dict[str, str]:
    """Codes of the parts of a country by name, and by code, in small letters."""
    of_country = _reckoned(code, None, None)
    named = {name.casefold(): part for name, part in of_country.subdivisions_aliases.items()}
    return named | {part.casefold(): part for part in of_country.subdivisions}


@lru_cache(256)
def _of_year(code: str, part: str | None, year: int) -> dict[date, str]:
    return dict(_reckoned(code, part, year))


def _reckoned(code: str, part: str | None, year: int | None) -> Any:
    import holidays

    of_country = holidays.country_holidays(code, subdiv=part)
    language = next((each for each in _LANGUAGES if each in of_country.supported_languages), None)
    return holidays.country_holidays(code, subdiv=part, years=year, language=language)
