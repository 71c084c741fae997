"""Around every request: security headers, and a log line that names the route's template, never the address (addresses hold secrets)."""

import logging
import time
from collections.abc import Callable
from secrets import token_hex

from starlette.datastructures import MutableHeaders
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.answers_to_errors import for_api, problem

log = logging.getLogger("occlusion_dose.requests")

HEADERS = {
    "Content-Security-Policy": "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",  # no-referrer would make browsers send `Origin: null` with our own forms
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "private, no-cache",
}


class Guard:
    """`on_bug` answers whatever nobody expected; it stands here so that this answer, too, carries headers and a request id."""

    def __init__(self, app: ASGIApp, hsts: bool, on_bug: Callable[[Request, Exception], Response]) -> None:
        self._app = app
        self._on_bug = on_bug
        self._headers = HEADERS | ({"Strict-Transport-Security": "max-age=31536000"} if hsts else {})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        if "\x00" in scope["path"] or b"%00" in scope["query_string"]:
            refused = problem(400, "Bad Request", "An address holds no NUL.") if for_api(scope["path"]) else PlainTextResponse("Bad request\n", 400)
            await refused(scope, receive, send)  # no address of ours holds one, and PostgreSQL refuses it
            return
        request_id, began, status, started = token_hex(8), time.perf_counter(), 500, False
        scope.setdefault("state", {})["request_id"] = request_id

        async def send_with_headers(message: Message) -> None:
            nonlocal status, started
            if message["type"] == "http.response.start":
                status, started = message["status"], True
                headers = MutableHeaders(scope=message)
                for name, value in self._headers.items():
                    headers.setdefault(name, value)
                headers["X-Request-Id"] = request_id
                if scope["path"].startswith("/static/") and status == 200:
                    headers["Cache-Control"] = "public, max-age=31536000, immutable"
            await send(message)

        try:
            await self._app(scope, receive, send_with_headers)
        except ClientDisconnect:
            status = 499  # in the log alone: nobody is there to be answered
        except Exception as error:  # whatever it is, the person gets a page and we get the trace
            log.exception("%s unexpected error", request_id)
            if started:
                raise
            await self._on_bug(Request(scope), error)(scope, receive, send_with_headers)
        finally:
            route = getattr(scope.get("route"), "path", None) or ("/static" if scope["path"].startswith("/static/") else "-")
            log.info("%s %s %s %s %.0fms", request_id, scope["method"], route, status, (time.perf_counter() - began) * 1000)
