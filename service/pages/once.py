"""A form is taken once: the same submission key again leads to what the first one made."""

from collections.abc import Callable
from datetime import datetime

from sqlmodel import Session

from service.access import Visitor
from service.forms import Form
from service.store import trail


def once(session: Session, visitor: Visitor, form: Form, action: str, now: datetime, deed: Callable[[], str]) -> str:
    """The address that shows the result of `deed`, which runs only if this submission was not taken before."""
    key = form.deed_key(action)
    made = trail.claim(session, visitor.clinic.id, key, action, now)
    if made is not None:
        return made
    address = deed()
    trail.settle_claim(session, visitor.clinic.id, key, address)
    return address
