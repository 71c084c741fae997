"""How a calendar is wanted, as a form holds it."""

import re

from schedules.feed_style import EARLIEST_REMINDER_MINUTES, LONGEST_LABEL, LONGEST_WORD, CareGroup, Colour, FeedStyle, Language, Shown
from service.forms import Form
from shared.findings import msg

_TIME = re.compile(r"([01]?\d|2[0-3])[:.]([0-5]\d)")


def values_of(style: FeedStyle) -> dict[str, str]:
    """The style as somebody would have typed it."""
    alarm = style.alarm_minutes
    return {
        "label": style.label,
        "word": style.word,
        "shown": style.shown.value,
        "alarm_minutes": "" if alarm is None else f"{alarm // 60:02d}:{alarm % 60:02d}",
        "session_alarm_minutes": "" if style.session_alarm_minutes is None else str(style.session_alarm_minutes),
        "done_shown": "yes" if style.done_shown else "",
        "colour": style.colour.value,
        "language": style.language.value,
        **{f"care_{group}": "yes" for group in style.care},
    }


def read_style(form: Form) -> FeedStyle | None:
    """None where something in it cannot be, which then stands beside its field."""
    label, word = form.text("label", longest=LONGEST_LABEL), form.optional_text("word", longest=LONGEST_WORD)
    shown, colour, language = form.choice("shown", Shown), form.choice("colour", Colour), form.choice("language", Language)
    alarm_minutes, before = _time(form, "alarm_minutes"), _whole_minutes(form, "session_alarm_minutes")
    care = frozenset(group for group in CareGroup if form.ticked(f"care_{group}"))
    if form.errors:
        return None
    return FeedStyle(label, word, shown, alarm_minutes, before, care, form.ticked("done_shown"), colour, language)


def _time(form: Form, name: str) -> int | None:
    """Minutes after midnight."""
    typed = form.raw(name)
    found = _TIME.fullmatch(typed)
    if typed and found is None:
        form.refuse(name, msg("“%(typed)s” is not a time; 07:30 would be.", typed=typed))
    return int(found[1]) * 60 + int(found[2]) if found else None


def _whole_minutes(form: Form, name: str) -> int | None:
    minutes = form.optional_number(name, 0, EARLIEST_REMINDER_MINUTES, form.words.gettext("minutes"))
    if minutes is not None and minutes != int(minutes):
        form.refuse(name, msg("Whole minutes, please."))
    return None if minutes is None else int(minutes)
