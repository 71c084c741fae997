"""Is it amblyopia, is it resolved: publications differ, so each answer belongs to a named set, and all of them stand side by side.

Letters are compared in chart steps, gratings in octaves.
"""

from dataclasses import dataclass
from enum import StrEnum

from shared.dates import MONTHS_A_YEAR
from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Quantity, Unit, msg
from shared.optics.refraction import SpheroCylinder
from shared.rounding import round_half_up
from shared.sight.acuity import Acuity, in_steps, interocular_difference
from shared.sources import Published, number
from shared.vocabulary import AcuityFamily, Status

_TOLERANCE = 1e-9


class Verdict(StrEnum):
    """Whether a set's condition holds; not judged where what it asks for is missing or was measured by another kind of test."""

    MET = "met"
    NOT_MET = "not-met"
    NOT_JUDGED = "not-judged"


@dataclass(frozen=True)
class Judged:
    """One set's answer; the finding's rule is the set's id."""

    title: Message
    verdict: Verdict
    finding: Finding


@dataclass(frozen=True)
class Eyes:
    """Best corrected acuity of both eyes by one test, and what some sets ask besides; refractions in D at the spectacles."""

    amblyopic: Acuity
    fellow: Acuity
    age_months: int | None = None
    binocular: Acuity | None = None
    amblyopic_refraction: SpheroCylinder | None = None
    fellow_refraction: SpheroCylinder | None = None


@dataclass(frozen=True)
class _Apart:
    """How far the amblyopic eye is behind: lines in chart steps for letters, octaves for gratings."""

    lines: float | None
    octaves: float | None

    @property
    def quantity(self) -> Quantity:
        return Quantity(self.lines, Unit.LINES) if self.lines is not None else Quantity(self.octaves or 0.0, Unit.OCTAVES)


def _apart(amblyopic: Acuity, fellow: Acuity) -> _Apart:
    try:
        exact = interocular_difference(amblyopic, fellow)
    except ClinicalInputError as none:
        raise ClinicalInputError("fellow_acuity", none.message) from none
    if exact.unit is Unit.OCTAVES:
        return _Apart(None, exact.value)
    return _Apart(in_steps(amblyopic) - in_steps(fellow), None)


def _judged(rule: str, title: Message, met: bool | None, said: Message, limits: tuple[Published, ...], value: Quantity | None = None) -> Judged:
    if met is None:
        verdict, text = Verdict.NOT_JUDGED, msg("Not judged: %(said)s", said=said)
    else:
        verdict, text = (Verdict.MET, msg("Met: %(said)s", said=said)) if met else (Verdict.NOT_MET, msg("Not met: %(said)s", said=said))
    sources = tuple(dict.fromkeys(limit.source_key for limit in limits))
    return Judged(title, verdict, Finding(rule, text, Status.weakest(*(limit.status for limit in limits)), sources, value))


def criteria(eyes: Eyes) -> tuple[Judged, ...]:
    """Every named set of criteria. Raises `ClinicalInputError` naming `fellow_acuity` where the eyes have no difference."""
    apart = _apart(eyes.amblyopic, eyes.fellow)
    return (
        _by_difference("criteria-wallace-2013", msg("Interocular difference, monitored-wear studies"), apart, number("wallace-2013", "amblyopia_from")),
        _by_difference("criteria-eupatch", msg("Interocular difference, EuPatch"), apart, number("eupatch", "amblyopia_from")),
        _usual_entry(eyes, apart),
        _ppp_unilateral(apart),
        _ppp_bilateral(eyes),
        _bilateral_refractive(eyes),
    )


_BY_LETTERS = msg("this set is of letters or pictures; these eyes were measured with gratings.")


def _by_difference(rule: str, title: Message, apart: _Apart, limit: Published) -> Judged:
    if apart.lines is None:
        return _judged(rule, title, None, _BY_LETTERS, (limit,))
    least = round_half_up(limit.value * 10)
    said = msg("the eyes are %(here)s apart; it begins at %(least)s.", here=apart.quantity, least=Quantity(least, Unit.LINES))
    return _judged(rule, title, apart.lines >= least, said, (limit,), apart.quantity)


def _usual_entry(eyes: Eyes, apart: _Apart) -> Judged:
    rule, title = "criteria-usual-trial-entry", msg("Usual entry of the treatment trials")
    limits = least, fellow = number("pedig-entry", "interocular_difference"), number("pedig-entry", "fellow_no_worse_than")
    if apart.lines is None:
        return _judged(rule, title, None, _BY_LETTERS, limits)
    lines, seen = round_half_up(least.value * 10), in_steps(eyes.fellow)
    said = msg(
        "the eyes are %(here)s apart, asked are %(least)s; the fellow eye has %(fellow)s, asked is %(limit)s or better.",
        here=apart.quantity,
        least=Quantity(lines, Unit.LINES),
        fellow=Quantity(seen / 10, Unit.LOGMAR),
        limit=fellow.quantity(Unit.LOGMAR),
    )
    return _judged(rule, title, apart.lines >= lines and seen <= round_half_up(fellow.value * 10), said, limits, apart.quantity)


def _ppp_unilateral(apart: _Apart) -> Judged:
    limit = number("aao-ppp-2022", "unilateral_octaves") if apart.lines is None else number("aao-ppp-2022", "unilateral_lines")
    said = msg(
        "the eyes are %(here)s apart; it begins at %(least)s, the better eye being normal.",
        here=apart.quantity,
        least=Quantity(limit.value, apart.quantity.unit),
    )
    met = apart.quantity.value >= limit.value - _TOLERANCE
    return _judged("criteria-ppp-unilateral", msg("Practice pattern, one eye"), met, said, (limit,), apart.quantity)


def _ppp_bilateral(eyes: Eyes) -> Judged:
    """By completed years: up to three, four, five and more."""
    rule, title, five = "criteria-ppp-bilateral", msg("Practice pattern, both eyes"), number("aao-ppp-2022", "bilateral_from_five")
    if eyes.amblyopic.family is not AcuityFamily.OPTOTYPE:
        return _judged(rule, title, None, _BY_LETTERS, (five,))
    if eyes.age_months is None:
        return _judged(rule, title, None, msg("it goes by age, which was not given."), (five,))
    years = eyes.age_months // MONTHS_A_YEAR
    limit = five if years > 4 else number("aao-ppp-2022", "bilateral_at_four") if years > 3 else number("aao-ppp-2022", "bilateral_to_three")
    seen, least = min(in_steps(eyes.amblyopic), in_steps(eyes.fellow)), round_half_up(limit.value * 10)
    said = msg(
        "the better eye has %(seen)s; at %(years)s years both eyes are worse than %(limit)s.",
        seen=Quantity(seen / 10, Unit.LOGMAR),
        years=years,
        limit=limit.quantity(Unit.LOGMAR),
    )
    return _judged(rule, title, seen > least, said, (limit,), Quantity(seen / 10, Unit.LOGMAR))


def _bilateral_refractive(eyes: Eyes) -> Judged:
    """Hypermetropia by the spherical equivalent (our reading), astigmatism by the cylinder, in each eye one or the other."""
    rule, title = "criteria-ats7-bilateral", msg("Bilateral refractive amblyopia, the trial of spectacles (ATS7)")
    limits = low, high, plus, cylinder = (
        number("ats7", "binocular_from"),
        number("ats7", "binocular_to"),
        number("ats7", "hypermetropia_from"),
        number("ats7", "astigmatism_from"),
    )
    both = eyes.binocular
    if both is None or both.family is not AcuityFamily.OPTOTYPE or eyes.amblyopic_refraction is None or eyes.fellow_refraction is None:
        return _judged(rule, title, None, msg("it asks for the acuity of both eyes together, by letters, and the refraction of each."), limits)
    refractions = (eyes.amblyopic_refraction, eyes.fellow_refraction)
    ametropic = all(rx.spherical_equivalent >= plus.value or abs(rx.cylinder) >= cylinder.value for rx in refractions)
    seen = in_steps(both)
    said = msg(
        "together %(seen)s, asked is %(low)s to %(high)s; each eye has %(plus)s of hypermetropia (spherical equivalent) or %(cylinder)s of astigmatism, "
        "or more: %(answer)s.",
        seen=Quantity(seen / 10, Unit.LOGMAR),
        low=low.quantity(Unit.LOGMAR),
        high=high.quantity(Unit.LOGMAR),
        plus=plus.quantity(Unit.DIOPTRE),
        cylinder=f"{cylinder.value:.2f} D",
        answer=msg("yes") if ametropic else msg("no"),
    )
    return _judged(rule, title, ametropic and round_half_up(low.value * 10) <= seen <= round_half_up(high.value * 10), said, limits)


def resolution(amblyopic: Acuity, fellow: Acuity, amblyopic_at_start: Acuity | None = None) -> tuple[Judged, ...]:
    """Every named definition of success on one day's readings with one test; the responder's also needs the reading at the start.

    Raises `ClinicalInputError` naming `amblyopic_acuity` for gratings, `fellow_acuity` where the eyes have no difference.
    """
    apart = _apart(amblyopic, fellow)
    if apart.lines is None:
        raise ClinicalInputError("amblyopic_acuity", msg("“%(typed)s”: every definition of resolution is of letters or pictures.", typed=amblyopic.typed))
    within, eupatch = number("cotter-2006", "resolved_within"), number("eupatch", "resolved_within")
    return (
        _within("resolution-cotter-2006", msg("Within a line (Cotter 2006)"), apart, within),
        _success_ats4(amblyopic, apart.lines),
        _success_run_in(amblyopic, apart.lines),
        _within("resolution-eupatch", msg("Within two lines (EuPatch)"), apart, eupatch),
        _responder(amblyopic, amblyopic_at_start),
    )


def _within(rule: str, title: Message, apart: _Apart, limit: Published) -> Judged:
    most = Quantity(round_half_up(limit.value * 10), Unit.LINES)
    said = msg("the eyes are %(here)s apart, at most %(most)s are allowed.", here=apart.quantity, most=most)
    return _judged(rule, title, apart.quantity.value <= most.value, said, (limit,), apart.quantity)


def _success_ats4(amblyopic: Acuity, lines: float) -> Judged:
    limit = number("ats4", "success")
    seen = in_steps(amblyopic)
    said = msg(
        "the amblyopic eye has %(seen)s, asked is %(limit)s or better, or no worse than the fellow eye.",
        seen=Quantity(seen / 10, Unit.LOGMAR),
        limit=limit.quantity(Unit.LOGMAR),
    )
    return _judged("resolution-ats4", msg("ATS4"), seen <= round_half_up(limit.value * 10) or lines <= 0, said, (limit,))


def _success_run_in(amblyopic: Acuity, lines: float) -> Judged:
    limits = limit, within = number("two-hour-run-in", "resolved"), number("two-hour-run-in", "resolved_within")
    seen = in_steps(amblyopic)
    said = msg(
        "the amblyopic eye has %(seen)s, asked is %(limit)s or better and within %(within)s of the fellow eye; the eyes are %(here)s apart.",
        seen=Quantity(seen / 10, Unit.LOGMAR),
        limit=limit.quantity(Unit.LOGMAR),
        within=within.quantity(Unit.LINES),
        here=Quantity(lines, Unit.LINES),
    )
    return _judged("resolution-two-hour-run-in", msg("Two-hour run-in"), seen <= round_half_up(limit.value * 10) and lines <= within.value, said, limits)


def _responder(amblyopic: Acuity, at_start: Acuity | None) -> Judged:
    rule, title, limit = "resolution-ats3-responder", msg("Responder (ATS3)"), number("ats3", "responder_lines")
    if at_start is None or at_start.family is not AcuityFamily.OPTOTYPE:
        return _judged(rule, title, None, msg("it needs the amblyopic eye's acuity at the start, by letters or pictures."), (limit,))
    gained = Quantity(in_steps(at_start) - in_steps(amblyopic), Unit.LINES)
    said = msg("gained %(gained)s since the start, asked are %(least)s; a gain, not a resolution.", gained=gained, least=limit.quantity(Unit.LINES))
    return _judged(rule, title, gained.value >= limit.value, said, (limit,), gained)
