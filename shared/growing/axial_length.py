"""Axial length and keratometry by age: published courses, and when an eye grows faster than they do. Lengths in mm, powers in D, ages in years."""

import math
from collections.abc import Sequence
from datetime import date

from shared.dates import age_years
from shared.findings import Finding, Message, Quantity, Unit, Weight, msg
from shared.optics.biometry import check_between
from shared.sources import number, table
from shared.vocabulary import Laterality, Status

FIRST_YEAR = 1 / 12  # towards birth the logarithm of age falls without end; below one month nothing is read off it (derived)
LENGTH_ERROR_MM = 0.3  # what two lengths of one eye may lie apart by measuring alone: assumed, no source


def _check_years(age_years: float, first: float, last: float, whose: Message) -> None:
    check_between("age_years", age_years, (first, last), Unit.YEARS, whose)


def doubling_course(age_years: float) -> tuple[float, float]:
    """Median length (mm) and keratometry (D) of normal eyes: a value at one year, and so much for each doubling of age (Boston, read).

    Raises `ClinicalInputError` naming `age_years` outside one month to ten years.
    """
    _check_years(age_years, FIRST_YEAR, number("boston-length", "until_year").value, msg("the ages of this course"))
    doublings = math.log2(age_years)
    length = number("boston-length", "length_at_one").value + number("boston-length", "length_per_doubling").value * doublings
    return length, number("boston-length", "cornea_at_one").value + number("boston-length", "cornea_per_doubling").value * doublings


def infant_course(age_years: float, *, girl: bool) -> tuple[float, float]:
    """Mean length (mm) and keratometry (D) of normal infants, girls and boys: an early exponential and a slow square (Mutti 2018, table 4, read).

    Raises `ClinicalInputError` naming `age_years` outside 0.25 to 6.5 years.
    """
    first, last = number("mutti-2018", "from_year").value, number("mutti-2018", "until_year").value
    _check_years(age_years, first, last, msg("the ages of this course"))
    t, sex = age_years - first, 1.0 if girl else 0.0
    length = (
        number("mutti-2018", "length_base").value
        - number("mutti-2018", "length_girl").value * sex
        - number("mutti-2018", "length_early").value * math.exp(-number("mutti-2018", "length_decay").value * t)
        + number("mutti-2018", "length_linear").value * t
        - number("mutti-2018", "length_square").value * t**2
    )
    cornea = (
        number("mutti-2018", "cornea_base").value
        + number("mutti-2018", "cornea_girl").value * sex
        + number("mutti-2018", "cornea_early").value * math.exp(-number("mutti-2018", "cornea_decay").value * t)
        - number("mutti-2018", "cornea_linear").value * t
        + number("mutti-2018", "cornea_square").value * t**2
    )
    return length, cornea


def cataract_course(age_years: float) -> float:
    """Mean length (mm) of eyes with cataract at surgery, birth to ten years (Trivedi and Wilson 2007, read): a cross-section, and an upper bound.

    It starts from the mean of the first month as if that were birth (derived). Raises `ClinicalInputError` naming `age_years`.
    """
    rows = table("trivedi-wilson-2007", "monthly_growth").rows
    _check_years(age_years, 0.0, rows[-1][1] / 12, msg("the ages of this course"))
    months = age_years * 12
    return number("trivedi-wilson-2007", "first_month").value + sum(growth * (min(months, until) - first) for first, until, growth in rows if months > first)


def group_of_age(age_years: float) -> tuple[float, float]:
    """Mean length (mm) and keratometry (D) of the age group (Gordon and Donzis 1985; its table from memory): steps, as published.

    Raises `ClinicalInputError` naming `age_years` where there is no group.
    """
    rows = table("gordon-donzis-1985", "by_age").rows
    _check_years(age_years, rows[0][0], rows[-1][1], msg("the age groups"))
    row = next((row for row in rows if row[0] <= age_years < row[1]), None)
    if row is None:
        nearest = max((r for r in rows if r[1] <= age_years), key=lambda r: r[1])
        _check_years(age_years, rows[0][0], nearest[1], msg("the age groups"))
        row = nearest
    return row[2], row[3]


def ends_of_growth() -> tuple[Finding, Finding]:
    """Length in mm of the newborn's and of the grown eye, with its cornea (Gordon and Donzis 1985, read)."""
    newborn, grown = number("gordon-donzis-1985", "newborn_length"), number("gordon-donzis-1985", "adult_length")
    first = msg(
        "At birth %(length)s, cornea %(cornea)s.",
        length=newborn.quantity(Unit.MILLIMETRE),
        cornea=number("gordon-donzis-1985", "newborn_cornea").quantity(Unit.DIOPTRE),
    )
    last = msg(
        "Grown %(length)s, cornea %(cornea)s.",
        length=grown.quantity(Unit.MILLIMETRE),
        cornea=number("gordon-donzis-1985", "adult_cornea").quantity(Unit.DIOPTRE),
    )
    return (
        Finding("length-at-birth", first, newborn.status, (newborn.source_key,), newborn.quantity(Unit.MILLIMETRE)),
        Finding("length-grown", last, grown.status, (grown.source_key,), grown.quantity(Unit.MILLIMETRE)),
    )


def growth_of_suspects(from_years: float, to_years: float) -> float:
    """How far (mm) eyes under suspicion of glaucoma grow between two ages in years: their growth to five years shared out by doublings of age (derived).

    Raises `ClinicalInputError` naming `age_years` outside one month to five years.
    """
    last = number("iats-length", "until_year").value
    for years in (from_years, to_years):
        _check_years(years, FIRST_YEAR, last, msg("the ages of the trial's eyes"))
    doublings = math.log2(last * 12 / number("trivedi-2014", "age_at_surgery").value)
    return number("iats-length", "growth_suspect").value / doublings * math.log2(to_years / from_years)


def length_beyond(side: Laterality, born_on: date, lengths: Sequence[tuple[date, float]]) -> Finding | None:
    """Growth (mm) from the first length to the newest beyond that of the trial's suspects and of measuring: look at the pressure (derived).

    Lengths below one month and above five years of age are not judged.
    """
    last_year = number("iats-length", "until_year").value
    aged = [(on, age_years(born_on, on), mm) for on, mm in lengths]
    judged = [entry for entry in aged if FIRST_YEAR <= entry[1] <= last_year]
    if len(judged) < 2:
        return None
    (first_on, first_years, first_mm), (last_on, last_years, last_mm) = judged[0], judged[-1]
    grown, limit = last_mm - first_mm, growth_of_suspects(first_years, last_years)
    if grown <= limit + LENGTH_ERROR_MM:
        return None
    lens, suspect, glaucoma = number("iats-length", "growth_with_lens"), number("iats-length", "growth_suspect"), number("iats-length", "growth_glaucoma")
    text = msg(
        "The %(eye)s eye grew %(grown)s from %(first)s to %(last)s; eyes under suspicion of glaucoma grew %(limit)s at that age: "
        "look at its pressure and its disc.",
        eye=side,
        grown=Quantity(grown, Unit.MILLIMETRE),
        first=first_on,
        last=last_on,
        limit=Quantity(limit, Unit.MILLIMETRE),
    )
    working = (
        msg(
            "from surgery to five years eyes with a contact lens grew %(lens)s, suspects %(suspect)s, eyes with glaucoma %(glaucoma)s",
            lens=lens.quantity(Unit.MILLIMETRE),
            suspect=suspect.quantity(Unit.MILLIMETRE),
            glaucoma=glaucoma.quantity(Unit.MILLIMETRE),
        ),
        msg("shared out by doublings of age; %(error)s allowed for measuring, assumed", error=Quantity(LENGTH_ERROR_MM, Unit.MILLIMETRE)),
    )
    sources = (suspect.source_key, "trivedi-2014")
    return Finding("growth-outside-band", text, Status.COMMON_PRACTICE, sources, Quantity(grown, Unit.MILLIMETRE), working, Weight.CHECK)
