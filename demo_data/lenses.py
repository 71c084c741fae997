"""What becomes of the lenses: a pair from the clinic's stock on the day it is signed for, one to wear and one for the bag."""

from collections.abc import Iterable
from datetime import date, datetime

from sqlmodel import Session

from demo_data.clinic import DemoClinic
from service.actions import lenses
from service.actions.lenses import LensOrder, Step
from service.facts import Child, Role
from service.facts_of_lenses import LedgerLens
from service.views import case, in_force
from shared.lens_words import LensState
from shared.optics.ledger import MAY_FOLLOW
from shared.vocabulary import Laterality


def fit(session: Session, clinic: DemoClinic, child: Child, eyes: Iterable[Laterality], on: date, now: datetime) -> None:
    """A new pair for each of the eyes; whatever they had before is out of date."""

    def known() -> case.Case:
        return case.load(session, child, now)

    def enter(lens: LedgerLens, state: LensState, by: Role = Role.OPTOMETRIST) -> None:
        lenses.step(session, clinic.staff[by], known(), lens.public_id, Step(state, on, ""), now)

    for eye in eyes:
        before = [lens for lens in known().ledger if lens.made.eye is eye]
        for lens in before:
            if MAY_FOLLOW[lens.last.state]:
                enter(lens, LensState.OUT_OF_DATE)
        document = in_force.lens_documents(known())[eye]
        wanted = LensOrder(document.public_id, eye, count=2, front_vertex_power=None, on=on, note="")
        lenses.order(session, clinic.staff[Role.OPTOMETRIST], known(), wanted, now)
        worn, spare = [lens for lens in known().ledger if lens.made.eye is eye][len(before) :]
        for lens in (worn, spare):
            enter(lens, LensState.ARRIVED, Role.RECEPTION)
        enter(worn, LensState.IN_USE)
