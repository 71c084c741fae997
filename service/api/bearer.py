"""Bearer tokens, one or more a member of staff, and what the person behind one may do."""

from typing import Annotated

from fastapi import Depends, Request
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer

from service.access import require_administrator, require_range_keeper, require_recorder, require_registrar
from service.db import reading
from service.errors import NotSignedInError
from service.facts import Staff
from service.store import people
from service.wiring import wiring

_bearer = HTTPBearer(auto_error=False, description="A token of your own; `make demo` prints one as `api-token:`.")


def api_staff(request: Request, credentials: Annotated[HTTPAuthorizationCredentials | None, Depends(_bearer)]) -> Staff:
    with reading(wiring(request).engine) as session:
        staff = people.staff_of_api_token(session, credentials.credentials) if credentials else None
    if staff is None:
        raise NotSignedInError
    return staff


ApiStaff = Annotated[Staff, Depends(api_staff)]


def recorder(staff: ApiStaff) -> Staff:
    require_recorder(staff)
    return staff


def registrar(staff: ApiStaff) -> Staff:
    require_registrar(staff)
    return staff


def range_keeper(staff: ApiStaff) -> Staff:
    require_range_keeper(staff)
    return staff


def administrator(staff: ApiStaff) -> Staff:
    require_administrator(staff)
    return staff


ApiRecorder = Annotated[Staff, Depends(recorder)]
ApiRegistrar = Annotated[Staff, Depends(registrar)]
ApiRangeKeeper = Annotated[Staff, Depends(range_keeper)]
ApiAdministrator = Annotated[Staff, Depends(administrator)]
