"""A form that enters a version of what a clinic keeps: taken once, shown again with what is amiss."""

from collections.abc import Callable

from fastapi import Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import Visitor
from service.db import writing
from service.errors import ChangedMeanwhileError
from service.forms import Form, InvalidFormError
from service.pages.answers import go
from service.pages.once import once
from service.wiring import wiring
from shared.findings import msg


def take(
    request: Request, visitor: Visitor, form: Form, action: str, day: str, address: str, deed: Callable[[Session], object], again: Callable[[int], Response]
) -> Response:
    """`day` is the field that says from when, `address` the list of versions, `again` shows the form with a status."""
    w = wiring(request)
    try:
        form.check()
        with form.catching({"from_on": day}), writing(w.engine) as session:

            def done() -> str:
                deed(session)
                return address

            there = once(session, visitor, form, action, w.clock.now(), done)
        form.check()
    except InvalidFormError:
        return again(422)
    except ChangedMeanwhileError:
        form.refuse(day, msg("Somebody else has entered this meanwhile; nothing of theirs was overwritten. See the list first."))
        return again(409)
    return go(there)
