"""The calendar feed on a plain route: no framework, no negotiation, the same bytes for the same facts."""

from email.utils import format_datetime, parsedate_to_datetime
from hashlib import sha256
from typing import cast

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from service.actions import feed
from service.tokens import token_hash
from service.wiring import Wiring

HEADERS = {
    "Cache-Control": "private, no-cache",
    "Content-Disposition": 'inline; filename="plan.ics"',
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex",
}


def plan(request: Request) -> Response:
    request.scope["route"] = ROUTE  # a plain route does not name itself, and the log names nothing but routes
    w = cast(Wiring, request.app.state.wiring)
    now = w.clock.now()
    token = request.path_params["token"]
    try:
        found = feed.current_feed(w.engine, w.settings, token, now)
    except feed.FeedGoneError:
        return PlainTextResponse("Gone\n", 410, headers=HEADERS)
    if found is None:
        return PlainTextResponse("Not found\n", 404, headers=HEADERS)
    wait = w.feed_budget.seconds_to_wait(token_hash(token), now)
    if wait:
        return PlainTextResponse("Too many requests\n", 429, headers=HEADERS | {"Retry-After": str(wait)})
    if found.subscription is not None:
        feed.note_fetch(w.engine, found.subscription, request.headers.get("user-agent", ""), now)
    changed_at = found.state.changed_at
    etag = f'"{sha256(found.state.body).hexdigest()[:32]}"'
    headers = HEADERS | {"ETag": etag, "Last-Modified": format_datetime(changed_at, usegmt=True)}
    if _unchanged(request, etag, int(changed_at.timestamp())):
        return Response(status_code=304, headers=headers)
    return Response(found.state.body, headers=headers, media_type="text/calendar; charset=utf-8")


def _unchanged(request: Request, etag: str, changed_at: int) -> bool:
    """If-None-Match decides alone where it is sent (RFC 9110, 13.1.3); the date serves clients that send nothing else."""
    tags = request.headers.get("if-none-match")
    if tags is not None:
        return tags.strip() == "*" or etag in [t.strip().removeprefix("W/") for t in tags.split(",")]
    try:
        return changed_at <= int(parsedate_to_datetime(request.headers.get("if-modified-since", "")).timestamp())
    except (ValueError, OverflowError):
        return False


ROUTE = Route("/feed/{token}/plan.ics", plan, methods=["GET", "HEAD"])
