"""Whether an implant's power is plausible for an aim: a band, never an order."""

from collections.abc import Iterator
from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.implants.implant_aims import undercorrected_share
from shared.implants.srkt import MeasuredEye, implant_power, other_power, refraction_with
from shared.sources import number
from shared.vocabulary import Status


@dataclass(frozen=True)
class Plausible:
    """Powers in D: for the aim, its edges by the published error, for emmetropia, by SRK II too; `weaker` is None outside its table."""

    for_aim: float
    low: float
    high: float
    for_emmetropia: float
    by_another_formula: float
    weaker: "Weaker | None"
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Weaker:
    """A published share in % left out of the power for emmetropia: the power in D, and the refraction in D that the formula gives with it."""

    share_percent: float
    power: float
    refraction: float


def plausible_power(eye: MeasuredEye, aim_dioptres: float, age_months: int) -> Plausible:
    """SRK/T's power for an aim in D, as a band: the aim missed by the mean absolute error of secondary lenses to either side (VanderVeen 2021, read).

    Raises `ClinicalInputError` naming `refraction_dioptres` where the aim cannot be.
    """
    error = number("vanderveen-2021", "error")
    low, high = sorted(implant_power(eye, aim_dioptres + side * error.value) for side in (1, -1))
    for_aim, for_emmetropia = implant_power(eye, aim_dioptres), implant_power(eye)
    found = (_band(for_aim, low, high, aim_dioptres), _formula(), *_short_eye(eye), *_without_table(age_months))
    return Plausible(for_aim, low, high, for_emmetropia, other_power(eye), _weaker(eye, for_emmetropia, age_months), found)


def _weaker(eye: MeasuredEye, for_emmetropia: float, age_months: int) -> Weaker | None:
    try:
        share, _, _ = undercorrected_share(age_months)
    except ClinicalInputError:
        return None
    power = for_emmetropia * (1 - share / 100)
    return Weaker(share, power, refraction_with(eye, power))


def _band(for_aim: float, low: float, high: float, aim_dioptres: float) -> Finding:
    error, formula = number("vanderveen-2021", "error"), number("retzlaff-1990", "vertex")
    text = msg(
        "For %(aim)s after the operation, %(low)s to %(high)s would be plausible. No order: the surgeon's own biometer, formula and constant come first.",
        aim=Quantity(aim_dioptres, Unit.DIOPTRE),
        low=Quantity(low, Unit.DIOPTRE),
        high=Quantity(high, Unit.DIOPTRE),
    )
    working = (
        msg("SRK/T with the constant given: %(power)s", power=Quantity(for_aim, Unit.DIOPTRE)),
        msg("band: the aim missed by %(error)s D, the mean absolute error of secondary lenses", error=f"{error.value:g}"),
    )
    sources = (error.source_key, formula.source_key)
    return Finding("implant-plausible", text, Status.weakest(error.status, formula.status), sources, Quantity(for_aim, Unit.DIOPTRE), working, Weight.CHECK)


def _formula() -> Finding:
    share = number("shuaib-2021", "share_within")
    text = msg(
        "In children this formula came within %(within)s D in %(share)s of eyes only.",
        within=f"{number('shuaib-2021', 'within').value:g}",
        share=share.quantity(Unit.PERCENT),
    )
    return Finding("implant-formula", text, share.status, (share.source_key,), share.quantity(Unit.PERCENT))


def _short_eye(eye: MeasuredEye) -> Iterator[Finding]:
    below = number("vanderveen-2012", "error_below_mm")
    if eye.axial_length_mm < below.value:
        text = msg("Predictions were worse in eyes shorter than %(below)s.", below=below.quantity(Unit.MILLIMETRE))
        yield Finding("implant-short-eye", text, below.status, (below.source_key,), weight=Weight.CHECK)


def _without_table(age_months: int) -> Iterator[Finding]:
    """Where no share is published, that is said; where one is, whose it is."""
    try:
        share, status, key = undercorrected_share(age_months)
    except ClinicalInputError as e:
        yield Finding("implant-undercorrection", e.message, Status.READ)
        return
    text = msg("At this age one series left out %(share)s of the power for emmetropia.", share=Quantity(share, Unit.PERCENT))
    yield Finding("implant-undercorrection", text, status, (key,), Quantity(share, Unit.PERCENT))
