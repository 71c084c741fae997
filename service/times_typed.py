"""Times of a day as a person types them, and back: `13:00-14:00, 16:30-17:00`, each with its words where it has some."""

import re
from collections.abc import Sequence
from typing import NamedTuple

from schedules.day import NamedWindow, Window, clock
from service.forms import Form
from shared.findings import msg

MOST_TYPED = 1000  # letters of one field
MOST_LETTERS = 80  # of the words of one window
_TIME = r"(\d{1,2})[:.](\d{2})"
_WINDOW = re.compile(rf"{_TIME}\s*(?:-|–|—|to)\s*{_TIME}(?:\s+(.*))?", re.DOTALL)


class Typed(NamedTuple):
    start_minutes: int
    end_minutes: int
    words: str


def time(form: Form, name: str) -> int:
    """Minutes after midnight."""
    typed = form.text(name)
    found = re.fullmatch(_TIME, typed)
    if typed and found is None:
        form.refuse(name, msg("“%(typed)s” is no time of day; hours and minutes would be, as 7:30 or 19:00.", typed=typed[:MOST_LETTERS]))
    return _minutes(*found.groups()) if found else 0


def windows(form: Form, name: str) -> tuple[Window, ...]:
    """Windows without words, parted by commas."""
    found = _windows(form, name, ",")
    if any(typed.words for typed in found):
        form.refuse(name, msg("Times alone, please, parted by commas: 13:00-14:00, 16:30-17:00."))
    return tuple(Window(typed.start_minutes, typed.end_minutes) for typed in found)


def named_windows(form: Form, name: str) -> tuple[NamedWindow, ...]:
    """Windows with the family's own words, parted by semicolons."""
    found = _windows(form, name, ";")
    if any(not 0 < len(typed.words) <= MOST_LETTERS or any(ord(c) < 32 for c in typed.words) for typed in found):
        form.refuse(name, msg("Say in a few words what each is: 17:30-18:00 dinner; 18:00-18:30 bath."))
    return tuple(NamedWindow(*typed) for typed in found)


def _windows(form: Form, name: str, parted_by: str) -> list[Typed]:
    found = []
    for part in form.optional_text(name, longest=MOST_TYPED).split(parted_by):
        read = _WINDOW.fullmatch(part.strip())
        if read:
            *times, words = read.groups()
            found.append(Typed(_minutes(*times[:2]), _minutes(*times[2:]), (words or "").strip()))
        elif part.strip():
            form.refuse(name, msg("“%(typed)s” is no stretch of time; from and until would be, as 13:00-14:00.", typed=part.strip()[:MOST_LETTERS]))
    return found


def _minutes(hours: str, minutes: str) -> int:
    return int(hours) * 60 + int(minutes)


def typed(found: Sequence[Window]) -> str:
    """As a person would have typed it."""
    return ("; " if any(isinstance(w, NamedWindow) for w in found) else ", ").join(map(_typed, found))


def _typed(w: Window) -> str:
    words = f" {w.words}" if isinstance(w, NamedWindow) else ""
    return f"{clock(w.start_minutes)}-{clock(w.end_minutes)}{words}"
