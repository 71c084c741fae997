"""The working of a correction: exact and rounded, step by step, and what the near rule proposes."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.actions.corrections import Order, PowerSource, WorkedEye, digest, near_rule, power_sources
from service.facts import Child, Visit
from service.i18n import Words
from service.views.shown import FindingShown, finding_shown, power_shown
from shared.aphakia import BUILT_IN_RANGE, segment_advice, spectacle_magnification
from shared.findings import Quantity, Unit, msg
from shared.vocabulary import CorrectionKind, Laterality, OpticalStatus


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


@dataclass(frozen=True)
class CorrectionPage:
    child: Child
    visit: Visit
    order: Order
    choices: tuple[SourceChoice, ...]
    worked: tuple[WorkedShown, ...]
    lens_range: str
    digest: str  # stands for what is shown; "" where nothing is
    may_sign: bool
    nothing_measured: bool
    magnification: FindingShown | None  # one aphakic eye in spectacles
    segment: FindingShown | None  # where a bifocal's segment begins
    provisional: tuple[str, ...]  # eyes refracted with stitches in


def view(
    child: Child, visit: Visit, order: Order, worked: Sequence[WorkedEye] | None, provisional: Sequence[Laterality], may_sign: bool, words: Words
) -> CorrectionPage:
    return CorrectionPage(
        child=child,
        visit=visit,
        order=order,
        choices=tuple(_choice(child, visit, eye, order.kind, words) for eye in Laterality),
        worked=tuple(_worked(w, words) for w in worked or ()),
        digest=digest(visit, order, worked, provisional) if worked else "",
        lens_range=words.gettext(BUILT_IN_RANGE.name),
        may_sign=may_sign,
        nothing_measured=not any(power_sources(visit.eyes[eye], order.kind) for eye in Laterality),
        segment=finding_shown(segment_advice(), words) if order.bifocal else None,
        provisional=tuple(words.label(eye) for eye in provisional if eye in order.eyes),
        magnification=finding_shown(spectacle_magnification(), words) if order.kind is CorrectionKind.SPECTACLES and _unilateral(child, visit) else None,
    )


def _unilateral(child: Child, visit: Visit) -> bool:
    return [child.status(eye, visit.on) for eye in Laterality].count(OpticalStatus.APHAKIC) == 1


def _choice(child: Child, visit: Visit, eye: Laterality, kind: CorrectionKind, words: Words) -> SourceChoice:
    names = {
        PowerSource.REFRACTION: words.gettext("the refraction"),
        PowerSource.TRIAL_LENS: words.gettext("the trial lens and its over-refraction"),
        PowerSource.OVER_LENS: words.gettext("the over-refraction alone, over the lens that is worn"),
    }
    options = [("", words.gettext("leave this eye out"))] + [(s.value, names[s]) for s in power_sources(visit.eyes[eye], kind)]
    return SourceChoice(eye, tuple(options), finding_shown(near_rule(child, visit, eye), words))


def _worked(w: WorkedEye, words: Words) -> WorkedShown:
    exact = power = residual = ""
    if w.lens:
        exact, power, residual = words.dioptres(w.lens.exact_with_near), words.dioptres(w.lens.power), words.dioptres(w.lens.residual)
    elif w.spectacles:
        exact, power = power_shown(w.spectacles.exact, words), power_shown(w.spectacles.rounded, words)
        if w.spectacles.addition:
            power = words.text(msg("%(power)s, addition %(near)s", power=power, near=Quantity(w.spectacles.addition, Unit.DIOPTRE)))
    return WorkedShown(words.label(w.eye), power_shown(w.at_cornea, words), exact, power, residual, tuple(map(words.text, w.steps)))
