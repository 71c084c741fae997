"""The demo's outbox: what would have been sent. Outside the demo there is no such page."""

from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.actions.wear import open_days
from service.clock import local_today
from service.db import reading
from service.errors import NotFoundError
from service.i18n import words
from service.messages.channel import Outgoing
from service.messages.compose import compose
from service.store import children, contacts, links, outbox
from service.views.languages import words_of
from service.wiring import wiring

router = APIRouter()
SHOWN = 50


@dataclass(frozen=True)
class SentLine:
    message: Outgoing
    caregiver: str
    sent_at: datetime
    time_zone: str
    opens: bool  # its day can still be noted


@router.get("/outbox")
def outbox_page(request: Request) -> Response:
    w = wiring(request)
    if not w.settings.demo:
        raise NotFoundError
    lines = []
    with reading(w.engine) as session:
        for d in outbox.sent(session, SHOWN):
            if d.contact_id is None or d.sent_at is None:
                continue
            subscription, child = links.subscription_by_id(session, d.subscription_id), children.child_by_id(session, d.child_id)
            on = local_today(d.sent_at, child.time_zone)
            message = compose(w.settings, w.renderer, d, subscription, contacts.by_id(session, d.contact_id), words_of(session, subscription), on, d.sent_at)
            opens = (d.on or on) in open_days(local_today(w.clock.now(), child.time_zone))
            lines.append(SentLine(message, subscription.caregiver, d.sent_at, child.time_zone, opens))
    return w.renderer.page(words("en"), "outbox.html", {"visitor": None, "lines": lines})
