"""Words in a language: messages translated, numbers with unit and sign, dates by locale."""

import datetime as dt
from enum import Enum
from functools import cache
from zoneinfo import ZoneInfo

from babel import Locale
from babel.dates import format_date, format_datetime, format_time
from babel.numbers import format_decimal

from schedules.feed_style import Language
from service import catalogues
from service.labels import LABELS
from shared.findings import Message, Param, Quantity, Unit
from shared.rounding import round_half_up

# unit -> (decimal places at most, decimal places at least, sign always shown, message with the number in its place)
_FORMS: dict[Unit, tuple[int, int, bool, str]] = {
    Unit.DIOPTRE: (3, 2, True, "%(n)s D"),
    Unit.LOGMAR: (2, 2, False, "%(n)s logMAR"),
    Unit.LOGMAR_CHANGE: (2, 2, True, "%(n)s logMAR"),
    Unit.LINES: (1, 0, False, "%(n)s lines"),
    Unit.OCTAVES: (2, 1, False, "%(n)s octaves"),
    Unit.CYCLES_PER_DEGREE: (2, 0, False, "%(n)s cycles/degree"),
    Unit.MILLIMETRE: (2, 0, False, "%(n)s mm"),
    Unit.CENTIMETRE: (1, 0, False, "%(n)s cm"),
    Unit.MINUTES: (0, 0, False, "%(n)s min"),
    Unit.HOURS: (2, 0, False, "%(n)s h"),
    Unit.WEEKS: (1, 0, False, "%(n)s weeks"),
    Unit.MONTHS: (0, 0, False, "%(n)s months"),
    Unit.YEARS: (1, 0, False, "%(n)s years"),
    Unit.PERCENT: (0, 0, False, "%(n)s %%"),
    Unit.MMHG: (0, 0, False, "%(n)s mmHg"),
    Unit.RATIO: (2, 2, False, "%(n)s"),
    Unit.DEGREES: (0, 0, False, "%(n)s°"),
    Unit.PRISM_DIOPTRE: (2, 0, False, "%(n)s Δ"),
}

# what is counted has a singular of its own
_ONE: dict[Unit, str] = {
    Unit.LINES: "%(n)s line",
    Unit.OCTAVES: "%(n)s octave",
    Unit.WEEKS: "%(n)s week",
    Unit.MONTHS: "%(n)s month",
    Unit.YEARS: "%(n)s year",
}

# Figures are the Western ones in every language: those of clocks, phone numbers, date fields and the powers on a box. Of the Arabic-Indic
# ones, zero looks like a point and five like a zero.


class Words:
    """Everything a page, feed or message needs to speak one language.

    `clinic` are the words of the clinic's own language; `draft`: the clinic has not checked this translation.
    """

    def __init__(self, locale: str, clinic: "Words | None" = None, *, draft: bool = False) -> None:
        self.locale = Locale.parse(locale)
        self.catalogue = catalogues.compiled(self.locale.language)
        self.clinic, self.draft = clinic or self, draft

    @property
    def language(self) -> str:
        return self.locale.language

    @property
    def edition(self) -> str:
        """Another one as soon as anything is said differently."""
        return f"{self.language} {catalogues.digest(self.language)}" if self.language in catalogues.TRANSLATED else self.language

    @property
    def direction(self) -> str:
        return self.locale.text_direction

    def gettext(self, text: str) -> str:
        return self.catalogue.gettext(text) if text else ""

    def text(self, message: Message) -> str:
        """The message in this language, its parameters formatted; safety wording of a draft with the clinic's language behind it."""
        said = self.alone(message)
        return f"{said} ({self.clinic.alone(message)})" if message.safety and self.draft else said

    def alone(self, message: Message) -> str:
        """The message in this language and no other."""
        said = {name: self.alone(value) if isinstance(value, Message) else self.param(value) for name, value in message.params.items()}
        return self.gettext(message.text) % said

    def param(self, value: Param) -> str:
        if isinstance(value, Message):
            return self.text(value)
        if isinstance(value, Quantity):
            return self.quantity(value)
        if isinstance(value, Enum):
            return self.label(value)
        return self.date(value) if isinstance(value, dt.date) else str(value)

    def label(self, member: Enum) -> str:
        return self.text(LABELS[type(member)][member])

    def quantity(self, q: Quantity) -> str:
        """A number with its unit, as `+18.25 D`; a minus sign, not a hyphen."""
        most, least, signed, form = _FORMS[q.unit]
        value = round_half_up(q.value, 10.0**-most)
        number = format_decimal(abs(value), format=f"#,##0.{'0' * least}{'#' * (most - least)}" if most else "#,##0", locale=self.locale)
        sign = "\u2212" if value < 0 else "+" if signed and value > 0 else ""
        one = _ONE.get(q.unit)
        text = self.catalogue.ngettext(one, form, 1 if abs(value) == 1 else 2) if one else self.gettext(form)
        return text % {"n": sign + number}

    def dioptres(self, value: float) -> str:
        return self.quantity(Quantity(value, Unit.DIOPTRE))

    def hours(self, minutes: int) -> str:
        """`2 h`, `2 h 30`, `45 min`: as a family reads it."""
        whole, rest = divmod(minutes, 60)
        if not whole:
            return self.gettext("%(n)s min") % {"n": rest}
        if not rest:
            return self.gettext("%(n)s h") % {"n": whole}
        return self.gettext("%(hours)s h %(minutes)s") % {"hours": whole, "minutes": f"{rest:02d}"}

    def date(self, day: dt.date) -> str:
        return format_date(day, "d MMM yyyy", locale=self.locale)

    def day_of(self, at: dt.datetime, time_zone: str) -> str:
        """The local date of an instant."""
        return self.date(at.astimezone(ZoneInfo(time_zone)).date())

    def long_date(self, day: dt.date) -> str:
        return format_date(day, "EEEE d MMMM", locale=self.locale)

    def short_day(self, day: dt.date) -> str:
        return format_date(day, "EEE d MMM", locale=self.locale)

    def weekday(self, day: dt.date) -> str:
        """As short as a chart has room for: abbreviated, Arabic days are written out."""
        return format_date(day, "EEEEEE" if self.language == "ar" else "EEE", locale=self.locale)

    def time_of_day(self, at: dt.datetime, zone: dt.tzinfo) -> str:
        return format_time(at, "HH:mm", tzinfo=zone, locale=self.locale)

    def moment(self, at: dt.datetime, time_zone: str) -> str:
        return format_datetime(at, "d MMM yyyy, HH:mm", tzinfo=ZoneInfo(time_zone), locale=self.locale)


def own_name(language: str) -> str:
    """What a language calls itself."""
    name = Locale.parse(language).get_display_name() or language
    return name[:1].upper() + name[1:]


LANGUAGES = tuple((language, own_name(language)) for language in Language)


@cache
def words(locale: str, clinic: str | None = None, draft: bool = False) -> Words:
    return Words(locale, words(clinic) if clinic else None, draft=draft)
