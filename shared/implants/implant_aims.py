"""The refraction after an implant, by age, as publications give it: with its convention of age, its status, and how far children strayed from it."""

from collections.abc import Iterator
from dataclasses import dataclass

from shared.dates import DAYS_A_WEEK, MONTHS_A_YEAR
from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Quantity, Unit, msg
from shared.sources import Table, number, table
from shared.vocabulary import Status

OLDEST_MONTHS = 18 * MONTHS_A_YEAR


@dataclass(frozen=True)
class Aim:
    """One published refraction after an implant at this age: D at the spectacle plane. `convention` says how its ages were counted and whom it is for.

    `rule` names it in the list of rules, where a clinic may switch it off.
    """

    rule: str
    source_key: str
    name: Message
    dioptres: float
    convention: Message
    status: Status


def aims(age_months: int, age_days: int | None = None) -> tuple[Aim, ...]:
    """Every published aim in D for an age in completed months; those whose domain the age lies outside of are not among them.

    Infants' tables count in days, which below 7 months are needed. Raises `ClinicalInputError` naming `age_months` outside of 0 to 18 years, or `age_days`
    where they are missing or contradict the months.
    """
    if not 0 <= age_months < OLDEST_MONTHS:
        raise ClinicalInputError("age_months", msg("No aim is published at %(age)s; from birth to 18 years.", age=Quantity(age_months, Unit.MONTHS)))
    if age_days is not None and not 28 * age_months <= age_days <= 31 * (age_months + 1):
        raise ClinicalInputError("age_days", msg("%(days)s days are not %(months)s completed months.", days=age_days, months=age_months))
    return (*_rule_of_seven(age_months), *_infants(age_months, age_days), *_textbook(age_months))


def _rule_of_seven(age_months: int) -> Iterator[Aim]:
    """Seven less the age in whole years (Enyedi 1998, read on a secondary page); before one and after seven years none."""
    rule, youngest = number("enyedi-1998", "sum_with_age"), number("enyedi-1998", "from_age")
    years = age_months // MONTHS_A_YEAR
    if youngest.value <= years <= rule.value:
        convention = msg("completed years, from %(first)s to %(last)s", first=youngest.quantity(Unit.YEARS), last=Quantity(rule.value, Unit.YEARS))
        yield Aim("aim-rule-of-seven", rule.source_key, msg("Rule of 7"), rule.value - years, convention, rule.status)


def _infants(age_months: int, age_days: int | None) -> Iterator[Aim]:
    """The protocol of the infant trial (VanderVeen 2012, read), and what would have come nearer to emmetropia at five years (Weakley 2017, read)."""
    protocol, until = table("vanderveen-2012", "aims"), number("vanderveen-2012", "below_month")
    hindsight, hindsight_until = table("weakley-2017", "aims"), number("weakley-2017", "below_month")
    if age_months >= until.value:
        return
    if age_days is None:
        raise ClinicalInputError("age_days", msg("Below %(until)s the age in days is needed: these tables count in days.", until=until.quantity(Unit.MONTHS)))
    if age_days >= protocol.rows[0][0]:
        convention = msg("days, up to %(until)s; a primary implant, not a secondary one", until=until.quantity(Unit.MONTHS))
        yield Aim("aim-infant-trial", protocol.source_key, msg("Infant trial, primary implants"), _at(protocol, age_days, "aim"), convention, protocol.status)
    weeks = age_days // DAYS_A_WEEK
    if weeks >= hindsight.rows[0][0] and age_months < hindsight_until.value:
        for_whom = msg("completed weeks, up to %(until)s; a primary implant, for emmetropia at 5 years", until=hindsight_until.quantity(Unit.MONTHS))
        name = msg("Infant trial, primary implants in hindsight")
        yield Aim("aim-infant-trial-hindsight", hindsight.source_key, name, _at(hindsight, weeks, "aim"), for_whom, hindsight.status)


def _textbook(age_months: int) -> Iterator[Aim]:
    """A textbook's table (from memory)."""
    found = table("wilson-trivedi", "aims")
    yield Aim("aim-textbook", found.source_key, msg("Textbook table"), _at(found, age_months, "aim"), msg("completed months and years"), found.status)


def _at(found: Table, age: float, column: str) -> float:
    """The row that begins at this age or last before it."""
    ages = found.column(found.columns[0])
    return found.column(column)[max(n for n, first in enumerate(ages) if first <= age)]


def undercorrected_share(age_months: int) -> tuple[float, Status, str]:
    """The share of the power for emmetropia, in %, that one series left out at an age in completed months, with its status and source (2018, read).

    Raises `ClinicalInputError` naming `age_months` outside of 6 to 60 months: later ages are printed in D of a plane that was not seen.
    """
    found, below = table("undercorrection-2018", "share"), number("undercorrection-2018", "below_month")
    first = found.rows[0][0]
    if not first <= age_months < below.value:
        text = msg(
            "No share of the power is published at %(age)s: the table runs from %(first)s to %(last)s.",
            age=Quantity(age_months, Unit.MONTHS),
            first=Quantity(first, Unit.MONTHS),
            last=Quantity(below.value - 1, Unit.MONTHS),
        )
        raise ClinicalInputError("age_months", text)
    return _at(found, age_months, "share"), found.status, found.source_key


def published_results(age_months: int) -> tuple[Finding, ...]:
    """How far children ended from what was aimed at, as published, for an implant at an age in completed months."""
    return (_secondary_lenses(), _seven_years_on(), *_shift_seen(age_months))


def _secondary_lenses() -> Finding:
    error, until = number("vanderveen-2021", "error"), number("vanderveen-2021", "followed_to")
    text = msg(
        "Secondary lenses of one trial, at a median of %(age)s: mean absolute error %(error)s D from the aim; "
        "at %(until)s the eyes were at %(refraction)s (SD %(sd)s D).",
        age=number("vanderveen-2021", "median_age").quantity(Unit.YEARS),
        error=f"{error.value:g}",
        until=until.quantity(Unit.YEARS),
        refraction=number("vanderveen-2021", "refraction").quantity(Unit.DIOPTRE),
        sd=f"{number('vanderveen-2021', 'refraction_sd').value:g}",
    )
    return Finding("secondary-lens-results", text, error.status, (error.source_key,), error.quantity(Unit.DIOPTRE))


def _seven_years_on() -> Finding:
    error = number("sachdeva-2017", "error")
    text = msg(
        "Aimed by the rule of 7, eyes at %(age)s were a median of %(error)s D away: %(emmetropic)s emmetropic, %(myopic)s myopic, %(hyperopic)s hyperopic; "
        "operated on before 2 years they tended to hyperopia.",
        age=number("sachdeva-2017", "age").quantity(Unit.YEARS),
        error=f"{error.value:g}",
        emmetropic=number("sachdeva-2017", "emmetropic").quantity(Unit.PERCENT),
        myopic=number("sachdeva-2017", "myopic").quantity(Unit.PERCENT),
        hyperopic=number("sachdeva-2017", "hyperopic").quantity(Unit.PERCENT),
    )
    return Finding("rule-of-seven-results", text, error.status, (error.source_key,), error.quantity(Unit.DIOPTRE))


def _shift_seen(age_months: int) -> Iterator[Finding]:
    """Crouch 2002, by completed years at surgery; none before one year."""
    found, below = table("crouch-2002", "shift"), number("crouch-2002", "below_age")
    years = age_months // MONTHS_A_YEAR
    if found.rows[0][0] <= years < below.value:
        shift = Quantity(_at(found, years, "shift"), Unit.DIOPTRE)
        followed = number("crouch-2002", "followed").quantity(Unit.YEARS)
        text = msg("In another series, eyes implanted at this age had shifted by %(shift)s after a mean of %(followed)s.", shift=shift, followed=followed)
        yield Finding("shift-in-a-series", text, found.status, (found.source_key,), shift)
