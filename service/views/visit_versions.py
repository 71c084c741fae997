"""The versions of a visit, field by field where a correction changed something: what stood before, what stands now, who, when and why."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from service.asked import EYE_GROUPS, VISIT_GROUPS
from service.facts_of_visits import AcuityReading, AcuityTest, EyeFindings, Visit
from service.i18n import Words
from service.views.asked_page import noted
from service.views.shown import power_shown
from shared.findings import Message, Quantity, Unit, msg
from shared.vocabulary import TestedEye

_TESTS = (msg("First test"), msg("Second test"))
_EYES = {TestedEye.RIGHT: msg("Right eye"), TestedEye.LEFT: msg("Left eye"), TestedEye.BOTH: msg("Both eyes together")}


@dataclass(frozen=True)
class Changed:
    what: str
    before: str
    now: str


@dataclass(frozen=True)
class VersionShown:
    number: int
    recorded_by: str
    recorded_at: datetime
    reason: str
    changes: tuple[Changed, ...]


def corrections(versions: Sequence[Visit], words: Words) -> tuple[VersionShown, ...]:
    """Each correction of `versions` (oldest first), the newest first."""
    pairs = list(pairwise(versions))
    return tuple(VersionShown(v.version, v.recorded_by, v.recorded_at, v.reason or "", changes(before, v, words)) for before, v in reversed(pairs))


def changes(before: Visit, now: Visit, words: Words) -> tuple[Changed, ...]:
    old, new = _fields(before, words), _fields(now, words)
    return tuple(Changed(what, old.get(what, "–"), new.get(what, "–")) for what in {**new, **old} if old.get(what) != new.get(what))


def refraction_shown(f: EyeFindings, words: Words) -> str:
    """As `+14.00 D sphere, gross at 67 cm, vertex distance 12 mm`."""
    parts = []
    if f.refraction:
        kind = msg("gross at %(distance)s", distance=Quantity(f.working_distance_cm, Unit.CENTIMETRE)) if f.working_distance_cm else msg("net")
        parts = [power_shown(f.refraction, words), words.text(kind)]
    return ", ".join([*parts, *_vertex(f.refraction_vertex_distance_mm, words)])


def over_refraction_shown(f: EyeFindings, words: Words) -> str:
    """As `lens +29.00 D, over-refraction +2.50 D sphere, vertex distance 12 mm`."""
    parts = []
    if f.trial_lens_dioptres is not None:
        parts.append(words.text(msg("lens %(power)s", power=Quantity(f.trial_lens_dioptres, Unit.DIOPTRE))))
    if f.over_refraction:
        parts.append(words.text(msg("over-refraction %(power)s", power=power_shown(f.over_refraction, words))))
    return ", ".join([*parts, *_vertex(f.over_vertex_distance_mm, words)])


def _vertex(mm: float | None, words: Words) -> list[str]:
    return [] if mm is None else [words.text(msg("vertex distance %(distance)s", distance=Quantity(mm, Unit.MILLIMETRE)))]


def _fields(visit: Visit, words: Words) -> dict[str, str]:
    """Everything that was entered, each under its own name, in the order of the form."""
    together = visit.together
    found = {words.gettext("Date of the visit"): words.date(visit.on)}
    if visit.tester:
        found[words.gettext("Examined by")] = visit.tester
    if together.fixation_preference:
        found[words.gettext("Fixation preference")] = words.label(together.fixation_preference)
    for name, test in zip(_TESTS, visit.tests, strict=False):
        found |= _within(name, _test(test, words), words)
        for tested, r in test.readings.items():
            found |= _within(msg("%(test)s, %(eye)s", test=name, eye=_EYES[tested]), _reading(r, words), words)
    for eye, f in visit.eyes.items():
        powers = {words.gettext("Refraction"): refraction_shown(f, words), words.gettext("Over a trial contact lens"): over_refraction_shown(f, words)}
        found |= _within(_EYES[TestedEye(eye.value)], {**powers, **noted(words, f, EYE_GROUPS)}, words)
    return found | noted(words, together, VISIT_GROUPS)


def _within(where: Message, fields: dict[str, str], words: Words) -> dict[str, str]:
    return {words.text(msg("%(where)s: %(what)s", where=where, what=what)): value for what, value in fields.items() if value}


def _test(t: AcuityTest, words: Words) -> dict[str, str]:
    yes = words.gettext("yes")
    return {
        words.gettext("Test"): words.label(t.method) if t.method else "",
        words.gettext("Test distance"): words.quantity(Quantity(t.distance_cm, Unit.CENTIMETRE)) if t.distance_cm else "",
        words.gettext("Letters a line"): str(t.letters_per_line or ""),
        words.gettext("Tested first"): words.label(t.tested_first) if t.tested_first else "",
        words.gettext("The patch came off just before"): yes if t.patched_beforehand else "",
        words.gettext("Under cycloplegia"): yes if t.cycloplegia else "",
    }


def _reading(r: AcuityReading, words: Words) -> dict[str, str]:
    return {
        words.gettext("As measured"): r.acuity.typed if r.acuity else words.gettext("not testable"),
        words.gettext("Correction worn"): words.label(r.correction_worn) if r.correction_worn else "",
        words.gettext("Reliability"): words.label(r.reliability) if r.reliability else "",
    }
