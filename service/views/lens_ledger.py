"""The ledger of a child's lenses, eye by eye, and one lens with all that became of it."""

from dataclasses import dataclass

from service.access import may_enter_lens_state
from service.facts import Child, Staff
from service.facts_of_lenses import LedgerLens
from service.i18n import Words
from service.views import in_force
from service.views.case import Case
from service.views.correction_history import StandingShown, standing_shown
from service.views.eye_courses import courses, ledger, trusted_until
from service.views.shown import FindingShown, finding_shown
from shared.findings import Finding, Quantity, Unit, msg
from shared.lens_words import LensState
from shared.optics.ledger import IN_HAND, MAY_FOLLOW, SPARE_TRUSTED_MONTHS, ledger_findings
from shared.optics.lens_choice import lenses_in_first_year
from shared.vocabulary import Laterality

# what is looked for first stands first
_ORDER = [
    LensState.IN_USE,
    LensState.ARRIVED,
    LensState.TAKEN_OUT,
    LensState.FOUND,
    LensState.ORDERED,
    LensState.LOST,
    LensState.BROKEN,
    LensState.OUT_OF_DATE,
]


@dataclass(frozen=True)
class LensShown:
    lens: LedgerLens
    power: str
    plane: str
    sizes: str
    state: str
    trusted: str  # until when a spare is, or ""
    standing: StandingShown  # of the document it was ordered by


@dataclass(frozen=True)
class LedgerPage:
    child: Child
    eyes: tuple[tuple[str, tuple[LensShown, ...]], ...]
    findings: tuple[FindingShown, ...]
    orderable: tuple[tuple[str, str], ...]  # a document in force and an eye
    trusted_months: str  # where there is no forecast
    lens_off: str  # the clinic's limit


@dataclass(frozen=True)
class LensPage:
    child: Child
    eye: str
    shown: LensShown
    next_states: tuple[tuple[str, str], ...]


def view(c: Case, words: Words) -> LedgerPage:
    return LedgerPage(
        child=c.child,
        eyes=tuple((words.label(eye), _lenses(c, eye, words)) for eye in Laterality),
        findings=tuple(finding_shown(f, words) for f in _found(c)),
        orderable=_orderable(c, words),
        trusted_months=words.quantity(Quantity(SPARE_TRUSTED_MONTHS, Unit.MONTHS)),
        lens_off=words.quantity(Quantity(c.rules.limits.lens_off_dioptres, Unit.DIOPTRE)),
    )


def _found(c: Case) -> list[Finding]:
    lens_eyes = in_force.lens_eyes(c)
    found = [*ledger_findings(lens_eyes, ledger(c), c.today), *(lenses_in_first_year(c.age_months) if lens_eyes else ())]
    return [f for f in found if f.rule not in c.rules.limits.rules_off]


def _lenses(c: Case, eye: Laterality, words: Words) -> tuple[LensShown, ...]:
    of_eye = sorted((lens for lens in c.ledger if lens.made.eye is eye), key=lambda lens: lens.last.recorded_at, reverse=True)
    return tuple(_shown(c, lens, words) for lens in sorted(of_eye, key=lambda lens: _ORDER.index(lens.last.state)))


def _shown(c: Case, lens: LedgerLens, words: Words) -> LensShown:
    made, state = lens.made, lens.last.state
    document = next(d for d in c.corrections if d.public_id == made.correction_id)
    sizes = [words.quantity(Quantity(mm, Unit.MILLIMETRE)) for mm in (made.base_curve_mm, made.diameter_mm) if mm]
    trusted = words.date(trusted_until(c, lens, courses(c))) if state in IN_HAND or state is LensState.ORDERED else ""
    return LensShown(
        lens=lens,
        power=words.dioptres(made.power),
        plane=words.label(made.power_plane),
        sizes=" / ".join(sizes) or "–",
        state=words.label(state),
        trusted=trusted,
        standing=standing_shown(c, document, made.eye, words),
    )


def _orderable(c: Case, words: Words) -> tuple[tuple[str, str], ...]:
    found = []
    for eye, document in in_force.lens_documents(c).items():
        power = Quantity(document.content["eyes"][eye]["power"], Unit.DIOPTRE)
        text = msg("%(eye)s eye: %(power)s, signed %(on)s", eye=eye, power=power, on=words.day_of(document.signed_at, c.child.time_zone))
        found.append((f"{document.public_id}:{eye}", words.text(text)))
    return tuple(found)


def lens_view(c: Case, lens: LedgerLens, staff: Staff, words: Words) -> LensPage:
    following = MAY_FOLLOW[lens.last.state]
    states = [state for state in LensState if state in following and may_enter_lens_state(staff, state)]
    return LensPage(c.child, words.label(lens.made.eye), _shown(c, lens, words), tuple((state.value, words.label(state)) for state in states))
