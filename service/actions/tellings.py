"""Telling the clinic between visits: the same-day signs are asked first, and nothing told is ever lost."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from service.errors import ChangedMeanwhileError, NotAllowedError
from service.facts import Child, Staff, Subscription
from service.facts_of_tellings import About, Step
from service.store import children, tellings, trail
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.vocabulary import Laterality

LONGEST = 1000  # letters


@dataclass(frozen=True)
class Said:
    """`no_signs` answers whether there is none of the signs for which a family calls the same day; None: it was not asked."""

    about: About
    eye: Laterality | None
    text: str
    no_signs: bool | None
    client_key: str
    said_at: datetime | None = None


def tell(session: Session, by: Subscription, child: Child, said: Said, now: datetime) -> str:
    """Its public id. Raises `ClinicalInputError` in a family's words."""
    if said.about is not About.SIGNS and said.no_signs is not True:
        raise ClinicalInputError("no_signs", msg("Please look at the signs first: is there none of them?"))
    if said.about.of_a_lens and said.eye is None:
        raise ClinicalInputError("eye", msg("Of which eye is the lens?"))
    if said.about is About.QUESTION and not said.text:
        raise ClinicalInputError("text", msg("What would you like to ask?"))
    children.facts_changed(session, child.id)
    public_id = tellings.add(
        session,
        child,
        by,
        client_key=said.client_key,
        about=said.about,
        eye=said.eye if said.about.of_a_lens else None,
        text=said.text,
        said_at=said.said_at,
        now=now,
    )
    trail.audit(session, child.clinic_id, at=now, who=f"link:{by.public_id}", action="tell-clinic", subject=public_id, detail={"about": said.about})
    return public_id


def take(session: Session, staff: Staff, public_id: str, now: datetime) -> None:
    tellings.take_step(session, staff, public_id, Step.TAKEN, now)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="take-telling", subject=public_id)


def close(session: Session, staff: Staff, public_id: str, answer: str, note: str, now: datetime) -> None:
    """Raises `NotAllowedError` for a role that does not examine, `ClinicalInputError` where nothing says what was done."""
    if not staff.examines:
        raise NotAllowedError
    if not answer and not note:
        raise ClinicalInputError("answer", msg("Please say what was done: an answer to the family, or a note for the staff."))
    try:
        tellings.take_step(session, staff, public_id, Step.CLOSED, now, answer=answer, note=note)
    except ChangedMeanwhileError:
        raise ClinicalInputError("answer", msg("Somebody else has closed this meanwhile. What you wrote was not sent: it stands below.")) from None
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="close-telling", subject=public_id)
