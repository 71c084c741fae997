"""A visit as measured, beside what it was read as; the difference between the eyes; the change since last time."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.asked import EYE_GROUPS, VISIT_GROUPS, asked
from service.facts import Child
from service.facts_of_visits import AcuityReading, AcuityTest, EyeFindings, Visit
from service.i18n import Words
from service.views.asked_page import noted
from service.views.case import by_test
from service.views.norms import norm_finding
from service.views.shown import FindingShown, finding_shown
from service.views.visit_versions import VersionShown, corrections, over_refraction_shown, refraction_shown
from shared.errors import ClinicalInputError
from shared.findings import Finding, Quantity, Unit, msg
from shared.sight.acuity import Acuity, change_between, interocular_difference
from shared.sight.acuity_repeatability import as_said, way
from shared.vocabulary import AcuityMethod, Laterality, TestedEye


@dataclass(frozen=True)
class ReadingShown:
    eye: str
    reading: AcuityReading
    read_as: str  # logMAR, and the Snellen or grating form of it
    change: str
    norm: FindingShown | None  # against the norm of the age, where one was published for this test


@dataclass(frozen=True)
class TestShown:
    __test__ = False
    test: AcuityTest
    readings: tuple[ReadingShown, ...]
    difference: str


@dataclass(frozen=True)
class EyeShown:
    eye: Laterality
    refraction: str
    over_refraction: str
    noted: dict[str, str]


@dataclass(frozen=True)
class VisitPage:
    child: Child
    visit: Visit
    tests: tuple[TestShown, ...]
    eyes: tuple[EyeShown, ...]
    difference_of: str
    noted: dict[str, str]
    noted_labels: tuple[str, ...]  # of either eye, in the order of the form
    corrections: tuple[VersionShown, ...]


def view(child: Child, visits: Sequence[Visit], versions: Sequence[Visit], rules_off: frozenset[str], words: Words) -> VisitPage:
    """`versions` are the visit's own, oldest first; the newest is shown, and what each correction changed."""
    visit = versions[-1]
    first = child.amblyopic_eye.laterality or Laterality.RIGHT
    of = words.gettext("amblyopic minus fellow eye") if child.amblyopic_eye.laterality else words.gettext("right minus left eye")

    def readings(t: AcuityTest) -> tuple[ReadingShown, ...]:
        return tuple(_reading(visits, visit, t, eye, r, _norm(child, visit, t, eye, rules_off), words) for eye, r in _in_order(t))

    tests = tuple(TestShown(t, readings(t), _difference(t, first, words)) for t in visit.tests)
    eyes = tuple(_eye(visit.eyes[eye], words) for eye in Laterality)
    labels = tuple(dict.fromkeys(words.text(a.label) for a in asked(EYE_GROUPS) if any(words.text(a.label) in e.noted for e in eyes)))
    return VisitPage(child, visit, tests, eyes, of, noted(words, visit.together, VISIT_GROUPS), labels, corrections(versions, words))


def read_as(acuity: Acuity, words: Words) -> str:
    if acuity.logmar is None:
        return words.gettext("no logMAR is defined for this")
    parts = [words.quantity(Quantity(acuity.logmar, Unit.LOGMAR))]
    if acuity.cycles_per_degree is not None:
        parts.append(words.gettext("by a grating"))
    elif acuity.snellen_metres and acuity.snellen_feet:
        parts.append(f"{acuity.snellen_metres} ({acuity.snellen_feet})")
    return ", ".join(parts)


def _eye(f: EyeFindings, words: Words) -> EyeShown:
    return EyeShown(f.eye, refraction_shown(f, words), over_refraction_shown(f, words), noted(words, f, EYE_GROUPS))


def _in_order(t: AcuityTest) -> list[tuple[TestedEye, AcuityReading]]:
    """As they were tested, as far as it is known; cards begin with both eyes together (common practice)."""
    first = t.tested_first or (TestedEye.BOTH if t.method is AcuityMethod.GRATING_CARDS else None)
    return sorted(t.readings.items(), key=lambda reading: reading[0] is not first)


def _norm(child: Child, visit: Visit, test: AcuityTest, eye: TestedEye, rules_off: frozenset[str]) -> Finding | None:
    """The norms are of one eye."""
    return None if eye is TestedEye.BOTH else norm_finding(child, visit.on, test, Laterality(eye.value), rules_off)


def _reading(visits: Sequence[Visit], visit: Visit, test: AcuityTest, eye: TestedEye, r: AcuityReading, norm: Finding | None, words: Words) -> ReadingShown:
    shown = read_as(r.acuity, words) if r.acuity else ""
    change = "" if eye is TestedEye.BOTH else _change(visits, visit, test, Laterality(eye.value), words)
    return ReadingShown(words.label(eye), r, shown, change, finding_shown(norm, words) if norm else None)


def _change(visits: Sequence[Visit], visit: Visit, test: AcuityTest, eye: Laterality, words: Words) -> str:
    now = test.acuity(eye)
    method = test.series(eye)
    if now is None or method is None:
        return ""
    before = [t.acuity(eye) for on, t in by_test(visits, eye).get(method, []) if on < visit.on]
    if not before or before[-1] is None:
        return words.gettext("first time with this test")
    try:
        change = change_between(before[-1], now)
    except ClinicalInputError as e:
        return words.text(e.message)
    if change.value == 0:
        return words.gettext("no change since last time")
    return words.text(msg("%(change)s since last time, %(way)s", change=as_said(change), way=way(change)))


def _difference(test: AcuityTest, first: Laterality, words: Words) -> str:
    one, other = test.acuity(first), test.acuity(first.other)
    if one is None or other is None:
        return words.gettext("none: it needs an acuity of each eye with one test")
    try:
        return words.quantity(interocular_difference(one, other))
    except ClinicalInputError as e:
        return words.text(e.message)
