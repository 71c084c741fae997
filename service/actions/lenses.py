"""The ledger of lenses: ordering by a signed correction, and what becomes of each lens. Entries are only ever added."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from service.access import may_enter_lens_state, require_recorder
from service.errors import NotAllowedError, NotFoundError
from service.facts import Staff
from service.facts_of_lenses import LedgerLens, NewLens
from service.store import lenses, trail
from service.views.case import Case
from service.views.in_force import Standing, lens_documents, lens_standing
from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.lens_words import LensState, PowerPlane
from shared.optics.ledger import check_step
from shared.vocabulary import Laterality

LABEL_LIMITS_DIOPTRES = (-40, 60)  # what a label may say
# Front and back vertex power of one lens differ by less than 3 D up to +40 D (thick-lens arithmetic, textbook from memory): more is a slip of the pen.
PLANES_APART_DIOPTRES = 4.0


@dataclass(frozen=True)
class LensOrder:
    """`front_vertex_power` in D is what the label will say where the maker states that plane; None: the signed power, at the back vertex."""

    correction_id: str
    eye: Laterality
    count: int
    front_vertex_power: float | None
    on: date
    note: str


@dataclass(frozen=True)
class Step:
    state: LensState
    on: date
    note: str


def order(session: Session, staff: Staff, c: Case, wanted: LensOrder, now: datetime) -> list[str]:
    """The public ids of so many lenses of one document. Raises `ClinicalInputError` naming the field, `NotAllowedError` for a role that does not examine."""
    require_recorder(staff)
    document = lens_documents(c).get(wanted.eye)
    if document is None or document.public_id != wanted.correction_id:
        raise ClinicalInputError("lens", msg("This correction is no longer in force: choose one that is."))
    _check_day(c, wanted.on)
    signed = document.content["eyes"][wanted.eye]
    plane = PowerPlane.BACK_VERTEX if wanted.front_vertex_power is None else PowerPlane.FRONT_VERTEX
    power = signed["power"] if wanted.front_vertex_power is None else wanted.front_vertex_power
    if abs(power - signed["power"]) > PLANES_APART_DIOPTRES:
        apart = msg("%(label)s is too far from the signed %(signed)s.", label=Quantity(power, Unit.DIOPTRE), signed=Quantity(signed["power"], Unit.DIOPTRE))
        raise ClinicalInputError("front_vertex_power", apart)
    made = NewLens(document.public_id, wanted.eye, power, plane, signed.get("base_curve_mm"), signed.get("diameter_mm"))
    ordered = [lenses.add_lens(session, c.child, made) for _ in range(wanted.count)]
    for lens_id in ordered:
        _enter(session, staff, c, lens_id, 1, Step(LensState.ORDERED, wanted.on, wanted.note), now)
    return ordered


def step(session: Session, staff: Staff, c: Case, lens_id: str, taken: Step, now: datetime) -> None:
    """What has become of one lens. Raises `ClinicalInputError` naming `state` or `on`, `NotAllowedError`, `NotFoundError`."""
    if not may_enter_lens_state(staff, taken.state):
        raise NotAllowedError
    lens = lens_of(c, lens_id)
    _check_day(c, taken.on)
    check_step(lens.last.state, taken.state, lens.last.on, taken.on)
    if taken.state is LensState.IN_USE:
        _check_may_be_worn(c, lens)
    _enter(session, staff, c, lens_id, len(lens.entries) + 1, taken, now)


def lens_of(c: Case, lens_id: str) -> LedgerLens:
    found = next((lens for lens in c.ledger if lens.public_id == lens_id), None)
    if found is None:
        raise NotFoundError
    return found


def _check_day(c: Case, on: date) -> None:
    if on > c.today:
        raise ClinicalInputError("on", msg("%(on)s lies in the future.", on=on))


def _check_may_be_worn(c: Case, lens: LedgerLens) -> None:
    eye = lens.made.eye
    if lens_standing(c, lens) is Standing.BARRED:
        raise ClinicalInputError("state", msg("The %(eye)s eye was operated on since this lens was measured: it is not put in use.", eye=eye))
    worn = next((other for other in c.ledger if other.made.eye is eye and other.last.state is LensState.IN_USE), None)
    if worn:
        power = Quantity(worn.made.power, Unit.DIOPTRE)
        raise ClinicalInputError("state", msg("A lens of %(power)s is in use for the %(eye)s eye: say first what became of it.", power=power, eye=eye))


def _enter(session: Session, staff: Staff, c: Case, lens_id: str, number: int, taken: Step, now: datetime) -> None:
    lenses.add_entry(session, c.child, lens_id, number, staff, taken.state, taken.on, taken.note, now)
    detail = {"state": taken.state, "on": taken.on.isoformat()}
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="lens-entry", subject=lens_id, detail=detail)
