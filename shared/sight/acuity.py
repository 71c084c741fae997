"""Visual acuity: every notation of the trade read into logMAR, where lower is better; differences and changes within one family."""

import math
import re
from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.sight.gratings import CardRule, cycles_per_degree, grating_logmar, octaves
from shared.sight.low_vision import LowVisionTable, category_logmar, category_rank
from shared.sources import number
from shared.vocabulary import AcuityFamily

BEST_LOGMAR, WORST_LOGMAR = -0.5, 3.0  # what a person reading a chart can have; outside it something was mistyped
MOST_LETTERS = 100
LINE_LOGMAR = 0.1  # by definition of a logMAR chart, whose letters share it
MOST_LETTERS_A_LINE = 10
SNAP_LOGMAR = 0.01  # a chart's printed fractions are rounded by up to this much
FEET = (10, 12.5, 15, 16, 20, 25, 30, 32, 40, 50, 60, 63, 70, 80, 100, 125, 150, 160, 200, 250, 300, 320, 400, 500, 630, 800)
METRES = (3, 3.8, 4.5, 4.8, 5, 6, 7.5, 9, 9.5, 12, 15, 18, 19, 24, 30, 36, 38, 48, 60, 75, 95, 120, 150, 190, 240)

_NUMBER = r"([+-]?\d{1,6}(?:\.\d{1,6})?)"  # more digits than any acuity has would overflow the arithmetic
_UNITS = "decimal|dec|logmar|cpd|c/deg|cycles/deg|cycles/degree|cycles per degree|letters|c/cm|cycles/cm"
_BEYOND = r"(?:\s*([+-]\s*\d{1,2}))?"  # letters beyond the line, or missed on it


@dataclass(frozen=True)
class Acuity:
    """One acuity as `typed`. `logmar` is None where none is defined (light perception, none); `cycles_per_degree` is for gratings alone."""

    typed: str
    family: AcuityFamily
    logmar: float | None
    cycles_per_degree: float | None = None

    @property
    def decimal(self) -> float | None:
        """The reciprocal of the minimum angle of resolution in minutes of arc; it has no unit."""
        return None if self.logmar is None else 10.0**-self.logmar

    @property
    def category_rank(self) -> int:
        """0 for a measurement, then 1 to 4 from counting fingers to no light perception: higher is worse."""
        return category_rank(self.typed)

    @property
    def nominal_logmar(self) -> float | None:
        """The nearest line of a logMAR chart (steps of 0.1): lines and bands are counted in these (common practice)."""
        return None if self.logmar is None else round_half_up(self.logmar, 0.1)

    @property
    def snellen_feet(self) -> str | None:
        """As `20/40`: the chart's printed line where one lies within 0.01 logMAR."""
        return self._snellen(20, FEET)

    @property
    def snellen_metres(self) -> str | None:
        """As `6/12`: the chart's printed line where one lies within 0.01 logMAR."""
        return self._snellen(6, METRES)

    def _snellen(self, distance: int, printed: tuple[float, ...]) -> str | None:
        if self.logmar is None or self.family is AcuityFamily.LOW_VISION:
            return None
        exact = distance * 10.0**self.logmar
        nearest = min(printed, key=lambda line: abs(math.log10(line / exact)))
        snapped = nearest if abs(math.log10(nearest / exact)) <= SNAP_LOGMAR else round_half_up(exact, 1.0 if exact >= 10 else 0.1)
        return f"{distance}/{snapped:g}"


@dataclass(frozen=True)
class _Typed:
    """What was typed, for which field, and the conditions that some notations need."""

    shown: str
    field: str
    distance_cm: float | None
    letters_per_line: int | None
    card_rule: CardRule

    def refused(self, text: Message) -> ClinicalInputError:
        """The error that names the field."""
        return ClinicalInputError(self.field, text)


def read_acuity(
    typed: str,
    field: str = "acuity",
    distance_cm: float | None = None,
    letters_per_line: int | None = None,
    *,
    card_rule: CardRule = CardRule.CARD_55_CM,
    low_vision: LowVisionTable = LowVisionTable.LANGE_2009,
) -> Acuity:
    """Snellen (20/40, 6/12), `0.5 decimal`, `0.3 logMAR`, `70 letters`, `4.7 cpd`, `4.7 c/cm` at `distance_cm`, CF, HM, LP, none.

    logMAR = log10(minimum angle of resolution); gratings by 30 cycles/degree at 0.0 logMAR, cards by `card_rule`; ETDRS letters by
    1.7 - 0.02 a letter (Gregori 2010); CF and HM by the table `low_vision`. Letters beyond the line (`20/40-2`, `0.3 logMAR +1`) are worth
    0.1 logMAR / `letters_per_line` each. Raises `ClinicalInputError` naming `field`.
    """
    shown = " ".join(typed.split())
    text = shown.replace(",", ".").replace("\u2212", "-").casefold()
    t = _Typed(shown, field, distance_cm, letters_per_line, card_rule)
    if rank := category_rank(text):
        return Acuity(shown, AcuityFamily.LOW_VISION, category_logmar(rank, low_vision))
    if m := re.fullmatch(rf"(\d{{1,6}})\s*/\s*{_NUMBER}{_BEYOND}", text):
        return _snellen(t, int(m[1]), float(m[2]), m[3])
    if m := re.fullmatch(rf"{_NUMBER}\s*({_UNITS}){_BEYOND}", text):
        return _with_unit(t, float(m[1]), m[2], m[3])
    if re.fullmatch(_NUMBER, text):
        raise t.refused(
            msg(
                "“%(typed)s” alone may be decimal or logMAR, which mean different things: write “%(typed)s decimal” or “%(typed)s logMAR”, "
                "or, read off grating cards, “%(typed)s c/cm” or “%(typed)s cpd”.",
                typed=shown,
            )
        )
    raise t.refused(
        msg(
            "“%(typed)s” is not an acuity that is known here; 6/12, 20/40-2, 0.5 decimal, 0.3 logMAR, 70 letters, 4.7 cpd, CF, HM, LP or none would be.",
            typed=shown,
        )
    )


def _snellen(t: _Typed, distance: int, letter: float, beyond: str | None) -> Acuity:
    if distance not in (20, 6, 5, 4, 3, 2, 1):
        raise t.refused(
            msg("“%(typed)s”: the test distance is 20 feet, or 6, 5, 4, 3, 2 or 1 metres; %(distance)s is neither.", typed=t.shown, distance=distance)
        )
    if letter <= 0:
        raise t.refused(msg("“%(typed)s” cannot be: no line of a chart is %(letter)s.", typed=t.shown, letter=f"{letter:g}"))
    return _possible(t, AcuityFamily.OPTOTYPE, math.log10(letter / distance) + _letters_beyond(t, beyond))


def _with_unit(t: _Typed, value: float, unit: str, beyond: str | None) -> Acuity:
    if unit not in ("decimal", "dec", "logmar") and beyond:
        raise t.refused(msg("“%(typed)s”: letters beyond the line belong to a line of letters, in Snellen, decimal or logMAR.", typed=t.shown))
    if unit == "letters":
        return _letters(t, value)
    if unit == "logmar":
        return _possible(t, AcuityFamily.OPTOTYPE, value + _letters_beyond(t, beyond))
    if value <= 0:
        raise t.refused(msg("“%(typed)s” cannot be: it must be more than nothing.", typed=t.shown))
    if unit in ("decimal", "dec"):
        return _possible(t, AcuityFamily.OPTOTYPE, -math.log10(value) + _letters_beyond(t, beyond))
    cpd = _of_card(t, value) if unit in ("c/cm", "cycles/cm") else value
    return _possible(t, AcuityFamily.GRATING, grating_logmar(cpd), cpd)


def _of_card(t: _Typed, cycles_per_cm: float) -> float:
    if t.distance_cm is None:
        raise t.refused(msg("“%(typed)s” is printed on a card: it means nothing without the test distance in cm.", typed=t.shown))
    try:
        return cycles_per_degree(cycles_per_cm, t.distance_cm, t.card_rule)
    except ClinicalInputError as cannot_be:
        raise t.refused(cannot_be.message) from cannot_be


def _letters_beyond(t: _Typed, beyond: str | None) -> float:
    """logMAR to add: a letter missed makes it worse (more), one read beyond the line better. A whole line of them is another line."""
    if beyond is None:
        return 0.0
    if t.letters_per_line is None:
        raise t.refused(
            msg(
                "“%(typed)s” has letters beyond the line: what a letter is worth belongs to the chart. "
                "Please give the letters a line of this test (five are common), or the line alone.",
                typed=t.shown,
            )
        )
    letters = int(beyond.replace(" ", ""))
    if not 1 <= t.letters_per_line <= MOST_LETTERS_A_LINE or not 0 < abs(letters) < t.letters_per_line:
        raise t.refused(
            msg("“%(typed)s” cannot be: with %(letters)s letters a line, so many beyond it are another line.", typed=t.shown, letters=t.letters_per_line)
        )
    return -letters * LINE_LOGMAR / t.letters_per_line


def _letters(t: _Typed, letters: float) -> Acuity:
    if letters != int(letters) or not 0 <= letters <= MOST_LETTERS:
        raise t.refused(msg("“%(typed)s” cannot be: a chart gives 0 to %(most)s whole letters.", typed=t.shown, most=MOST_LETTERS))
    at_none, each = number("gregori-2010", "logmar_at_no_letter"), number("gregori-2010", "logmar_per_letter")
    return _possible(t, AcuityFamily.OPTOTYPE, at_none.value - each.value * letters)


def _possible(t: _Typed, family: AcuityFamily, logmar: float, cpd: float | None = None) -> Acuity:
    if not BEST_LOGMAR <= logmar <= WORST_LOGMAR:
        raise t.refused(
            msg(
                "“%(typed)s” is %(logmar)s; an acuity lies between %(best)s and %(worst)s.",
                typed=t.shown,
                logmar=Quantity(logmar, Unit.LOGMAR),
                best=Quantity(BEST_LOGMAR, Unit.LOGMAR),
                worst=Quantity(WORST_LOGMAR, Unit.LOGMAR),
            )
        )
    return Acuity(t.shown, family, logmar + 0.0, cpd)


def in_steps(acuity: Acuity) -> float:
    """The lines of a logMAR chart from 0.0 on, each 0.1: bands and criteria are counted in these. Only for what has a logMAR."""
    assert acuity.nominal_logmar is not None
    return round_half_up(acuity.nominal_logmar * 10)


def interocular_difference(amblyopic: Acuity, fellow: Acuity) -> Quantity:
    """Amblyopic minus fellow eye: logMAR for optotypes, octaves for two gratings; positive is worse. Raises `ClinicalInputError` across families."""
    return _difference(amblyopic, fellow, "interocular_difference")


def change_between(before: Acuity, now: Acuity) -> Quantity:
    """Now minus before, in logMAR or octaves; positive is worse. Raises `ClinicalInputError` across families."""
    return _difference(now, before, "change")


def _difference(one: Acuity, other: Acuity, field: str) -> Quantity:
    if [a.family for a in (one, other)].count(AcuityFamily.LOW_VISION) == 1:
        category, measured = (one, other) if one.family is AcuityFamily.LOW_VISION else (other, one)
        text = msg("None: “%(category)s” is a category, not a measurement as “%(measured)s” is.", category=category.typed, measured=measured.typed)
        raise ClinicalInputError(field, text)
    if one.family is not other.family:
        raise ClinicalInputError(
            field,
            msg("None: “%(one)s” and “%(other)s” come from different kinds of test, whose results are never subtracted.", one=one.typed, other=other.typed),
        )
    if one.cycles_per_degree is not None and other.cycles_per_degree is not None:
        return Quantity(octaves(other.cycles_per_degree, one.cycles_per_degree), Unit.OCTAVES)
    if one.logmar is None or other.logmar is None or one.family is AcuityFamily.LOW_VISION:
        raise ClinicalInputError(field, _not_measured(one, other))
    return Quantity(one.logmar - other.logmar, Unit.LOGMAR_CHANGE)


def _not_measured(one: Acuity, other: Acuity) -> Message:
    return msg("None: “%(one)s” and “%(other)s” are categories, not measurements, and have no difference.", one=one.typed, other=other.typed)
