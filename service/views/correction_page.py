"""The working of a correction: exact and rounded, step by step, and what the near rule proposes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.actions.corrections import Order, PowerSource, WorkedEye, digest, near_rule, power_sources, provisional_eyes
from service.facts import Child
from service.facts_of_visits import Visit
from service.i18n import Words
from service.views.shown import FindingShown, finding_shown, power_shown, shown_unless_off
from shared.dates import completed_months
from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.optics.aphakia import segment_advice, spectacle_magnification
from shared.optics.lens_choice import base_curve
from shared.optics.lens_range import LensRange
from shared.optics.refraction import keratometric_radius
from shared.vocabulary import CorrectionKind, Laterality, OpticalStatus

SOURCE_NAMES = {
    PowerSource.REFRACTION: msg("the refraction"),
    PowerSource.TRIAL_LENS: msg("the trial lens and its over-refraction"),
    PowerSource.OVER_LENS: msg("the over-refraction alone, over the lens that is worn"),
}


@dataclass(frozen=True)
class WorkedShown:
    eye: str
    at_cornea: str
    exact: str
    power: str
    residual: str  # "" for spectacles, whose steps are a quarter dioptre
    steps: tuple[str, ...]


@dataclass(frozen=True)
class SourceChoice:
    eye: Laterality
    options: tuple[tuple[str, str], ...]
    near: FindingShown
    base_curves: tuple[tuple[str, str], ...]
    diameters: tuple[tuple[str, str], ...]
    keratometry: str  # "" where it was never measured
    base_curve: FindingShown | None  # which curve of the range this cornea asks for, of an aphakic eye


@dataclass(frozen=True)
class CorrectionPage:
    child: Child
    visit: Visit
    order: Order
    choices: tuple[SourceChoice, ...]
    worked: tuple[WorkedShown, ...]
    ranges: tuple[tuple[str, str], ...]  # the clinic's own, in force today
    lens_range: str
    digest: str  # stands for what is shown; "" where nothing is
    may_sign: bool
    nothing_measured: bool
    magnification: FindingShown | None  # one aphakic eye in spectacles
    segment: FindingShown | None  # where a bifocal's segment begins
    provisional: tuple[str, ...]  # eyes refracted with stitches in


def view(
    child: Child,
    visits: Sequence[Visit],
    visit: Visit,
    order: Order,
    worked: Sequence[WorkedEye] | None,
    ranges: Sequence[tuple[str, str]],
    may_sign: bool,
    rules_off: frozenset[str],
    words: Words,
) -> CorrectionPage:
    provisional = provisional_eyes(visits, visit)
    before = [v for v in visits if v.on <= visit.on]
    return CorrectionPage(
        child=child,
        visit=visit,
        order=order,
        choices=tuple(_choice(child, visit, before, eye, order, rules_off, words) for eye in Laterality),
        worked=tuple(_worked(w, words) for w in worked or ()),
        digest=digest(visit, order, worked, provisional) if worked else "",
        ranges=tuple(ranges),
        lens_range=words.gettext(order.lens_range.name),
        may_sign=may_sign,
        nothing_measured=not any(power_sources(visit.eyes[eye], order.kind) for eye in Laterality),
        segment=shown_unless_off(segment_advice(), rules_off, words) if order.bifocal else None,
        provisional=tuple(words.label(eye) for eye in provisional if eye in order.eyes),
        magnification=shown_unless_off(spectacle_magnification(), rules_off, words) if _magnified(child, visit, order) else None,
    )


def _magnified(child: Child, visit: Visit, order: Order) -> bool:
    """Spectacles over one aphakic eye."""
    return order.kind is CorrectionKind.SPECTACLES and [child.status(eye, visit.on) for eye in Laterality].count(OpticalStatus.APHAKIC) == 1


def _choice(child: Child, visit: Visit, before: Sequence[Visit], eye: Laterality, order: Order, rules_off: frozenset[str], words: Words) -> SourceChoice:
    options = [("", words.gettext("leave this eye out"))] + [(s.value, words.text(SOURCE_NAMES[s])) for s in power_sources(visit.eyes[eye], order.kind)]
    wanted = order.eyes.get(eye)
    return SourceChoice(
        eye,
        tuple(options),
        finding_shown(near_rule(child, visit, eye, order.near_table), words),
        _sizes(order.lens_range.base_curves_mm, wanted.base_curve_mm if wanted else None, words),
        _sizes(order.lens_range.diameters_mm, wanted.diameter_mm if wanted else None, words),
        _keratometry(before, eye, words),
        _base_curve(child, visit, before, eye, order.lens_range, rules_off, words),
    )


def _sizes(had: Sequence[float], chosen: float | None, words: Words) -> tuple[tuple[str, str], ...]:
    """What the range has; a size that it has not stays in sight, with its error beside it. Empty: there is nothing to choose."""
    sizes = sorted({*had, *([chosen] if chosen is not None else [])})
    shown = [(f"{size:g}", words.quantity(Quantity(size, Unit.MILLIMETRE))) for size in sizes]
    return (("", words.gettext("left open")), *shown) if shown else ()


def _newest_keratometry(before: Sequence[Visit], eye: Laterality) -> tuple[date, list[float]] | None:
    """Up to this visit, in D."""
    for v in reversed(before):
        powers = [k for k in (v.eyes[eye].k1_dioptres, v.eyes[eye].k2_dioptres) if k is not None]
        if powers:
            return v.on, powers
    return None


def _keratometry(before: Sequence[Visit], eye: Laterality, words: Words) -> str:
    """As powers and as radii."""
    found = _newest_keratometry(before, eye)
    if found is None:
        return ""
    shown = [f"{words.dioptres(k)} ({words.quantity(Quantity(keratometric_radius(k), Unit.MILLIMETRE))})" for k in found[1]]
    return words.text(msg("Keratometry of %(on)s: %(powers)s", on=found[0], powers=" / ".join(shown)))


def _base_curve(
    child: Child, visit: Visit, before: Sequence[Visit], eye: Laterality, lens_range: LensRange, rules_off: frozenset[str], words: Words
) -> FindingShown | None:
    found = _newest_keratometry(before, eye)
    if found is None or not lens_range.base_curves_mm or child.status(eye, visit.on) is not OpticalStatus.APHAKIC:
        return None
    try:
        return shown_unless_off(base_curve(lens_range, sum(found[1]) / len(found[1]), completed_months(child.born_on, visit.on)), rules_off, words)
    except ClinicalInputError:  # a cornea that was doubted when it was measured
        return None


def _worked(w: WorkedEye, words: Words) -> WorkedShown:
    exact = power = residual = ""
    if w.lens:
        exact, power, residual = words.dioptres(w.lens.exact_with_near), words.dioptres(w.lens.power), words.dioptres(w.lens.residual)
    elif w.spectacles:
        exact, power = power_shown(w.spectacles.exact, words), power_shown(w.spectacles.rounded, words)
        if w.spectacles.addition:
            power = words.text(msg("%(power)s, addition %(near)s", power=power, near=Quantity(w.spectacles.addition, Unit.DIOPTRE)))
    return WorkedShown(words.label(w.eye), power_shown(w.at_cornea, words), exact, power, residual, tuple(map(words.text, w.steps)))
