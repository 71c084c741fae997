"""A visit as measured, beside what it was read as; the difference between the eyes; the change since last time."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.facts import Child, EyeFindings, Visit
from service.i18n import Words
from service.views.case import by_test
from service.views.shown import power_shown
from shared.acuity import Acuity, change_between, interocular_difference
from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.vocabulary import Laterality


@dataclass(frozen=True)
class EyeShown:
    eye: Laterality
    findings: EyeFindings
    read_as: str  # logMAR, and the Snellen or grating form of it
    change: str
    refraction: str
    over_refraction: str


@dataclass(frozen=True)
class VisitPage:
    child: Child
    visit: Visit
    eyes: tuple[EyeShown, ...]
    difference: str
    difference_of: str


def view(child: Child, visits: Sequence[Visit], visit: Visit, words: Words) -> VisitPage:
    eyes = tuple(_eye(visits, visit, eye, words) for eye in Laterality)
    first = child.amblyopic_eye.laterality or Laterality.RIGHT
    of = words.gettext("amblyopic minus fellow eye") if child.amblyopic_eye.laterality else words.gettext("right minus left eye")
    return VisitPage(child, visit, eyes, _difference(visit, first, words), of)


def read_as(acuity: Acuity, words: Words) -> str:
    if acuity.logmar is None:
        return words.gettext("no logMAR is defined for this")
    parts = [words.quantity(Quantity(acuity.logmar, Unit.LOGMAR))]
    if acuity.cycles_per_degree is not None:
        parts.append(words.gettext("by a grating"))
    elif acuity.snellen_metres and acuity.snellen_feet:
        parts.append(f"{acuity.snellen_metres} ({acuity.snellen_feet})")
    return ", ".join(parts)


def _eye(visits: Sequence[Visit], visit: Visit, eye: Laterality, words: Words) -> EyeShown:
    f = visit.eyes[eye]
    return EyeShown(
        eye=eye,
        findings=f,
        read_as=read_as(f.acuity, words) if f.acuity else "",
        change=_change(visits, visit, f, words),
        refraction=power_shown(f.refraction, words) if f.refraction else "",
        over_refraction=power_shown(f.over_refraction, words) if f.over_refraction else "",
    )


def _change(visits: Sequence[Visit], visit: Visit, f: EyeFindings, words: Words) -> str:
    if f.acuity is None or f.acuity_method is None:
        return ""
    before = [found for on, found in by_test(visits, f.eye).get(f.acuity_method, []) if on < visit.on]
    if not before or before[-1].acuity is None:
        return words.gettext("first time with this test")
    try:
        change = change_between(before[-1].acuity, f.acuity)
    except ClinicalInputError as e:
        return words.text(e.message)
    if change.value == 0:
        return words.gettext("no change since last time")
    form = msg("%(change)s since last time, worse", change=change) if change.value > 0 else msg("%(change)s since last time, better", change=change)
    return words.text(form)


def _difference(visit: Visit, first: Laterality, words: Words) -> str:
    one, other = visit.eyes[first], visit.eyes[first.other]
    if one.acuity is None or other.acuity is None:
        return words.gettext("needs an acuity of each eye")
    if one.acuity_method is not other.acuity_method:
        return words.gettext("none: the eyes were measured with different tests")
    try:
        return words.quantity(interocular_difference(one.acuity, other.acuity))
    except ClinicalInputError as e:
        return words.text(e.message)
