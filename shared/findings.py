"""What every rule returns: messages with parameters and structured working, never finished sentences.

The edge translates a `Message` and formats its parameters by locale; a core that prints text could be read in one language only.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Union

from shared.vocabulary import Status


class Unit(StrEnum):
    """The unit of a `Quantity`; the edge knows its decimal places and whether a sign is always shown."""

    DIOPTRE = "D"
    LOGMAR = "logMAR"
    LOGMAR_CHANGE = "logMAR change"
    LINES = "lines"
    OCTAVES = "octaves"
    CYCLES_PER_DEGREE = "cycles/degree"
    MILLIMETRE = "mm"
    CENTIMETRE = "cm"
    MINUTES = "min"
    HOURS = "h"
    WEEKS = "weeks"
    MONTHS = "months"
    YEARS = "years"
    PERCENT = "%"
    MMHG = "mmHg"
    RATIO = "ratio"
    DEGREES = "degrees"
    PRISM_DIOPTRE = "prism dioptres"


@dataclass(frozen=True)
class Quantity:
    """A number that never travels without its unit."""

    value: float
    unit: Unit


Param = Union[str, int, date, Quantity, "Message"]


@dataclass(frozen=True)
class Message:
    """A message id (its English text, with `%(name)s` places) and the parameters that fill it.

    `safety`: it says when to call, to stop or to leave off, so a translation that nobody has checked never stands alone.
    """

    text: str
    params: Mapping[str, Param] = field(default_factory=dict)
    safety: bool = False


def msg(text: str, **params: Param) -> Message:
    """A `Message`; the name by which the catalogue's extractor finds its texts."""
    return Message(text, params)


def safety(text: str, **params: Param) -> Message:
    """The same of safety wording."""
    return Message(text, params, safety=True)


class Weight(StrEnum):
    """How much a finding asks of its reader."""

    ACT = "act"
    CHECK = "check"
    NOTE = "note"


@dataclass(frozen=True)
class Finding:
    """One answer of one rule.

    `sources` are keys of `shared/published/`; empty for common practice. `working` is how the value came about, step by step.
    `family` is what to say to the family in plain words, where there is something for them to know or do.
    """

    rule: str
    message: Message
    status: Status
    sources: tuple[str, ...] = ()
    value: Quantity | None = None
    working: tuple[Message, ...] = ()
    weight: Weight = Weight.NOTE
    family: Message | None = None
