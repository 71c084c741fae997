"""What a device sends that had no network: as a page would, but it asks for JSON.

`state` says whether it was noted, waits for an answer of the family (`ask`, with the names of what is open) or cannot be (`refused`), `message` why.
`X-Sent-At`, or the field `sent_at` of a form sent as it is, is the device's clock at the sending, so that a wrong clock moves no time.
"""

from datetime import UTC, datetime, timedelta

from fastapi import Request
from fastapi.responses import JSONResponse, Response

from service.actions.wear import DAYS_BACK
from service.forms import Form
from shared.findings import Message, msg

OLDEST = timedelta(days=DAYS_BACK + 1)
_STATUS = {"noted": 200, "ask": 409, "refused": 422}


def told(request: Request, state: str, form: Form, message: Message | None = None, see: str | None = None) -> Response | None:
    """For a program; None for a person, who gets a page. A `message` of its own asks for `more` alone; `see` is where what was noted stands."""
    if "application/json" not in request.headers.get("accept", ""):
        return None
    said = form.words.text(message) if message else " ".join(form.errors.values())
    asks = [] if state != "ask" else ["more"] if message else sorted(form.errors)
    return JSONResponse({"state": state, "message": said, "asks": asks} | ({"see": see} if see else {}), _STATUS[state], headers={"Cache-Control": "no-store"})


def device_time(request: Request, form: Form, name: str, now: datetime, *, needed: bool = False) -> datetime | None:
    """By the device's clock, put right by what that clock showed at the sending; None where there is none or it cannot be meant.

    `needed`: what cannot be meant is refused in the form, for something rests on it.
    """
    said, sent = _instant(form.raw(name)), _instant(request.headers.get("x-sent-at", "") or form.raw("sent_at"))
    try:
        at = said and (said + (now - sent) if sent else said).replace(microsecond=0)
    except OverflowError:
        at = None
    if at is not None and now - OLDEST <= at <= now:
        return at
    if needed and form.raw(name):
        form.refuse(name, msg("By the phone's clock this was more than a week ago, or is still to come. Please choose the day and note the minutes yourself."))
    return None


def _instant(text: str) -> datetime | None:
    try:
        at = datetime.fromisoformat(text)
        return at.astimezone(UTC) if at.tzinfo else None
    except (ValueError, OverflowError):
        return None
