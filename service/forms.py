"""Forms: what was typed is kept, each error stands beside its field, and nothing is taken while one is open.

A getter that finds an error notes it and returns a placeholder of its type; `check()` raises before anything is done with it.
"""

import math
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from hashlib import sha256
from secrets import token_urlsafe
from typing import TypeVar

from service.i18n import Words
from shared.errors import ClinicalInputError
from shared.findings import Message, msg

EARLIEST_YEAR, LATEST_YEAR = 1900, 2199  # a year beyond them was mistyped, and would overflow what is worked out from it
E = TypeVar("E", bound=StrEnum)


class InvalidFormError(Exception):
    """The form holds errors; it is shown again as it was typed."""


_FIGURES = str.maketrans("٠١٢٣٤٥٦٧٨٩۰۱۲۳۴۵۶۷۸۹\u066b", "01234567890123456789.", "\u066c")


def figures(typed: str) -> str:
    """Arabic-Indic and Persian figures as the Western ones."""
    return typed.translate(_FIGURES)


def day_or_none(text: str) -> date | None:
    """A day that an address may name; what is none of a year that can be meant counts as not given."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    return day if EARLIEST_YEAR <= day.year <= LATEST_YEAR else None


@dataclass
class Form:
    """`values` as typed, `errors` translated; `submission_key` makes a second tap of the same form harmless."""

    words: Words
    form_token: str = ""
    values: dict[str, str] = field(default_factory=dict)
    errors: dict[str, str] = field(default_factory=dict)
    submission_key: str = field(default_factory=lambda: token_urlsafe(12))

    @staticmethod
    def posted(words: Words, form_token: str, data: Mapping[str, str]) -> "Form":
        values = {k: v.strip() for k, v in data.items() if k not in ("form_token", "submission_key")}
        return Form(words, form_token, values, {}, data.get("submission_key") or token_urlsafe(12))

    def deed_key(self, deed: str, names: Collection[str] | None = None) -> str:
        """What is done once: the same form with the same content (of the fields in `names` alone), sent again. Another content is another deed."""
        content = sorted((k, v) for k, v in self.values.items() if v and (names is None or k in names))
        return sha256(repr((self.submission_key, deed, content)).encode()).hexdigest()[:40]

    def probe(self) -> "Form":
        """The same values without the errors: what can be shown for them, whatever stood in the way of a signature."""
        return Form(self.words, self.form_token, self.values, {}, self.submission_key)

    def take_errors(self, other: "Form") -> None:
        self.errors = {**other.errors, **self.errors}

    def refuse(self, name: str, message: Message) -> None:
        self.errors.setdefault(name, self.words.text(message))

    def check(self) -> None:
        if self.errors:
            raise InvalidFormError

    @contextmanager
    def catching(self, names: Mapping[str, str] | None = None, default: str | None = None) -> Iterator[None]:
        """Puts a domain error beside the field it speaks of; `names` maps the domain's field names to the form's."""
        try:
            yield
        except ClinicalInputError as e:
            self.refuse((names or {}).get(e.field, default or e.field), e.message)

    def raw(self, name: str) -> str:
        return self.values.get(name, "")

    def text(self, name: str, *, longest: int = 80) -> str:
        value = self.optional_text(name, longest=longest)
        if not value:
            self.refuse(name, msg("Please fill this in."))
        return value

    def optional_text(self, name: str, *, longest: int = 80) -> str:
        value = self.raw(name)
        if len(value) > longest:
            self.refuse(name, msg("At most %(longest)s characters; this has %(length)s.", longest=longest, length=len(value)))
        if any(ord(c) < 32 for c in value):
            self.refuse(name, msg("One line of plain text, please."))
        return value

    def long_text(self, name: str, *, longest: int) -> str:
        """Several lines, each plain text; browsers send CR LF."""
        value = self.raw(name).replace("\r\n", "\n")
        if len(value) > longest:
            self.refuse(name, msg("At most %(longest)s characters; this has %(length)s.", longest=longest, length=len(value)))
        if any(ord(c) < 32 and c != "\n" for c in value):
            self.refuse(name, msg("Plain text, please."))
        return value

    def day(self, name: str) -> date:
        value = self.optional_day(name)
        if value is None and name not in self.errors:
            self.refuse(name, msg("Please give a date."))
        return value or date.min

    def optional_day(self, name: str) -> date | None:
        typed = self.raw(name)
        if not typed:
            return None
        try:
            day = date.fromisoformat(figures(typed))
            if not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
                raise ValueError(typed)
            return day
        except ValueError:
            self.refuse(name, msg("“%(typed)s” is not a date; year-month-day would be, as 2026-03-31.", typed=typed))
            return None

    def number(self, name: str, low: float, high: float, unit: str) -> float:
        value = self.optional_number(name, low, high, unit)
        if value is None and name not in self.errors:
            self.refuse(name, msg("Please give a number in %(unit)s.", unit=unit))
        return value if value is not None else low

    def whole(self, name: str, low: int, high: int, unit: str) -> int:
        value = self.number(name, low, high, unit)
        if value != int(value):
            self.refuse(name, msg("A whole number, please."))
        return int(value)

    def optional_number(self, name: str, low: float, high: float, unit: str) -> float | None:
        typed = self.raw(name)
        if not typed:
            return None
        try:
            value = float(figures(typed).replace(",", ".").replace("\u2212", "-"))
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            self.refuse(name, msg("“%(typed)s” is not a number; write figures alone (unit: %(unit)s).", typed=typed, unit=unit))
            return None
        if not low <= value <= high:
            self.refuse(
                name,
                msg("%(typed)s %(unit)s cannot be; between %(low)s and %(high)s %(unit)s would.", typed=typed, unit=unit, low=f"{low:g}", high=f"{high:g}"),
            )
        return value

    def choice(self, name: str, kind: type[E]) -> E:
        value = self.optional_choice(name, kind)
        if value is None and name not in self.errors:
            self.refuse(name, msg("Please choose one."))
        return value or next(iter(kind))

    def optional_choice(self, name: str, kind: type[E]) -> E | None:
        typed = self.raw(name)
        if not typed:
            return None
        if typed not in list(kind):
            self.refuse(name, msg("“%(typed)s” is not one of the choices.", typed=typed))
            return None
        return kind(typed)

    def ticked(self, name: str) -> bool:
        return bool(self.raw(name))
