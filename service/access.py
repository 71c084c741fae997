"""Who is asking, and may they. The one access check: a child of another clinic does not exist."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated
from urllib.parse import urlsplit

from fastapi import Depends, Request
from sqlmodel import Session
from starlette.datastructures import UploadFile

from service.db import reading
from service.errors import NotAllowedError, NotSignedInError, RefusedRequestError
from service.facts import Child, Clinic, Role, SignedKind, Staff
from service.forms import Form
from service.i18n import Words, words
from service.store import children, people
from service.tokens import same, signature
from service.wiring import wiring
from shared.lens_words import LensState

SESSION_COOKIE = "occlusion_dose"
SESSION_LASTS = timedelta(hours=12)

# What a role may do besides signing (which the clinic sets, as rows).
_REGISTRARS = frozenset(Role)
_RANGE_KEEPERS = frozenset({Role.ADMINISTRATOR, Role.OPTOMETRIST})


@dataclass(frozen=True)
class Visitor:
    """A signed-in member of staff, their clinic, the words they read, and the secret of their forms."""

    staff: Staff
    clinic: Clinic
    words: Words
    form_token: str

    def form(self, **values: object) -> Form:
        """An empty form, prefilled with what is known."""
        return Form(self.words, self.form_token, {k: as_typed(v) for k, v in values.items()})

    @property
    def may_record(self) -> bool:
        return self.staff.examines

    @property
    def administers(self) -> bool:
        return self.staff.role is Role.ADMINISTRATOR

    @property
    def may_register(self) -> bool:
        return self.staff.role in _REGISTRARS

    @property
    def may_keep_ranges(self) -> bool:
        return self.staff.role in _RANGE_KEEPERS


def as_typed(value: object) -> str:
    """A stored value as a person would have typed it: 84, not 84.0."""
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def require_recorder(staff: Staff) -> None:
    """Raises `NotAllowedError` for a role that does not examine children."""
    if not staff.examines:
        raise NotAllowedError


def require_registrar(staff: Staff) -> None:
    """Raises `NotAllowedError` for a role that does not register children or give links."""
    if staff.role not in _REGISTRARS:
        raise NotAllowedError


def require_administrator(staff: Staff) -> None:
    """Raises `NotAllowedError` for everybody else."""
    if staff.role is not Role.ADMINISTRATOR:
        raise NotAllowedError


def require_range_keeper(staff: Staff) -> None:
    """Raises `NotAllowedError` for a role that does not keep the clinic's lens ranges."""
    if staff.role not in _RANGE_KEEPERS:
        raise NotAllowedError


def may_enter_lens_state(staff: Staff, state: LensState) -> bool:
    """Whoever examines keeps the ledger of lenses; reception may only say that a lens has arrived."""
    return staff.examines or (staff.role is Role.RECEPTION and state is LensState.ARRIVED)


def signed_in(request: Request) -> Visitor:
    w = wiring(request)
    token = request.cookies.get(SESSION_COOKIE, "")
    with reading(w.engine) as session:
        staff = people.staff_of_session(session, token, w.clock.now()) if token else None
        if staff is None:
            raise NotSignedInError
        clinic = people.clinic(session, staff.clinic_id)
    request.state.words = words(clinic.locale)
    return Visitor(staff, clinic, request.state.words, signature(w.settings.secret_key, "form", token))


SignedIn = Annotated[Visitor, Depends(signed_in)]


async def posted_fields(request: Request) -> dict[str, str]:
    refuse_foreign_origin(request)
    data = await request.form()
    return {k: v for k, v in data.items() if not isinstance(v, UploadFile)}


def refuse_foreign_origin(request: Request) -> None:
    """A browser says where an unsafe request comes from; another site's is refused. The form token is the second lock."""
    origin = request.headers.get("origin")
    if origin is None:
        return
    try:
        host = urlsplit(origin).netloc
    except ValueError:
        raise RefusedRequestError from None
    if host not in (request.headers.get("host"), urlsplit(wiring(request).settings.public_url).netloc):
        raise RefusedRequestError


PostedFields = Annotated[dict[str, str], Depends(posted_fields)]


def staff_form(visitor: SignedIn, data: PostedFields) -> Form:
    if not same(data.get("form_token", ""), visitor.form_token):
        raise RefusedRequestError
    return Form.posted(visitor.words, visitor.form_token, data)


StaffForm = Annotated[Form, Depends(staff_form)]


def child_of(session: Session, staff: Staff, public_id: str) -> Child:
    """Raises `NotFoundError` alike for a child that is not there and for one of another clinic."""
    return children.child(session, staff.clinic_id, public_id)


def require_signature(session: Session, staff: Staff, kind: SignedKind) -> None:
    if not people.may_sign(session, staff, kind):
        raise NotAllowedError
