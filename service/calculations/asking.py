"""What a calculation asks, as data: page, API and tests walk the same list."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from shared.errors import ClinicalInputError
from shared.findings import Message, msg

E = TypeVar("E", bound=StrEnum)
Answer = float | int | str | bool | None
LONGEST = 60


class Kind(StrEnum):
    NUMBER = "number"
    WHOLE = "whole"
    CHOICE = "choice"
    TEXT = "text"
    TICK = "tick"


@dataclass(frozen=True)
class Ask:
    """One thing asked: its name in the API, its label, and what it may be. What is not `needed` may be left out."""

    kind: Kind
    name: str
    label: Message
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    choices: type[StrEnum] | None = None
    needed: bool = True
    hint: Message | None = None
    longest: int = LONGEST
    usual: str = ""  # what a form holds at first


def number(name: str, label: Message, unit: str, low: float, high: float, *, needed: bool = True, hint: Message | None = None, usual: str = "") -> Ask:
    return Ask(Kind.NUMBER, name, label, unit, low, high, needed=needed, hint=hint, usual=usual)


def whole(name: str, label: Message, unit: str, low: int, high: int, *, needed: bool = True, hint: Message | None = None, usual: str = "") -> Ask:
    return Ask(Kind.WHOLE, name, label, unit, low, high, needed=needed, hint=hint, usual=usual)


def choice(name: str, label: Message, choices: type[StrEnum], *, needed: bool = True, hint: Message | None = None, usual: str = "") -> Ask:
    return Ask(Kind.CHOICE, name, label, choices=choices, needed=needed, hint=hint, usual=usual)


def text(name: str, label: Message, *, needed: bool = True, hint: Message | None = None, longest: int = LONGEST) -> Ask:
    return Ask(Kind.TEXT, name, label, needed=needed, hint=hint, longest=longest)


def tick(name: str, label: Message, *, hint: Message | None = None) -> Ask:
    return Ask(Kind.TICK, name, label, needed=False, hint=hint)


@dataclass(frozen=True)
class Given:
    """What was answered, by name. Asking for what was left out raises `ClinicalInputError` naming it: some answers make others needed."""

    values: Mapping[str, Answer]
    rules_off: frozenset[str] = frozenset()  # what the asking clinic has switched off

    def number(self, name: str) -> float:
        return float(self._needed(name))

    def maybe_number(self, name: str) -> float | None:
        return None if self.values[name] is None else self.number(name)

    def whole(self, name: str) -> int:
        return int(self._needed(name))

    def maybe_whole(self, name: str) -> int | None:
        return None if self.values[name] is None else self.whole(name)

    def chosen(self, name: str, kind: type[E]) -> E:
        return kind(str(self._needed(name)))

    def maybe_chosen(self, name: str, kind: type[E]) -> E | None:
        return None if self.values[name] is None else self.chosen(name, kind)

    def text(self, name: str) -> str:
        """ "" where it was left out."""
        return str(self.values[name] or "")

    def ticked(self, name: str) -> bool:
        return bool(self.values[name])

    def _needed(self, name: str) -> float | int | str | bool:
        value = self.values[name]
        if value is None:
            raise ClinicalInputError(name, msg("Please fill this in."))
        return value
