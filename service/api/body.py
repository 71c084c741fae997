"""What bodies are made of. Nothing unknown is taken, a truth value is no number, a date is a real one of a year that can be meant."""

import re
from datetime import date
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, StringConstraints
from pydantic import Strict as Strictly

from service.forms import EARLIEST_YEAR, LATEST_YEAR
from service.i18n import words
from shared.errors import ClinicalInputError
from shared.findings import msg

SPEAK = words("en")  # the API speaks English; every answer carries its numbers beside the words
LONGEST_ID = 60


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, from_attributes=True)


def _day(value: Any) -> Any:
    if isinstance(value, str) and not _is_day(value):
        raise ClinicalInputError("", msg("“%(typed)s” is not a date; year-month-day would be, as 2026-03-31.", typed=value[:40]))
    if isinstance(value, str | date):
        return value
    raise ClinicalInputError("", msg("A date is written year-month-day, as “2026-03-31”."))


def _is_day(typed: str) -> bool:
    try:
        return re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", typed) is not None and EARLIEST_YEAR <= date.fromisoformat(typed).year <= LATEST_YEAR
    except ValueError:
        return False


def _one_line(value: str) -> str:
    if any(ord(c) < 32 for c in value):
        raise ClinicalInputError("", msg("One line of plain text, please."))
    return value


def _plain_lines(value: str) -> str:
    lines = value.replace("\r\n", "\n")
    if any(ord(c) < 32 and c != "\n" for c in lines):
        raise ClinicalInputError("", msg("Plain text, please."))
    return lines


# Limits stand at the field that has one: of two in a type and its field, pydantic keeps the type's.
Number = Annotated[float, Strictly()]
Whole = Annotated[int, Strictly()]
Truth = Annotated[bool, Strictly()]
Day = Annotated[date, BeforeValidator(_day)]
Line = Annotated[str, StringConstraints(strip_whitespace=True), AfterValidator(_one_line)]
Lines = Annotated[str, StringConstraints(strip_whitespace=True), AfterValidator(_plain_lines)]
Filled = Annotated[Line, StringConstraints(min_length=1)]
