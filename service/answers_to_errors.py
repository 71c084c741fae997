"""Every error's answer: a page for people, problem details (RFC 9457) for the API."""

from collections.abc import Callable
from http import HTTPStatus
from typing import Any
from urllib.parse import quote

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from service.api.problems import MEDIA_TYPE, UNPROCESSABLE, ProblemError, body_path, json_path
from service.errors import (
    AskFirstError,
    ChangedMeanwhileError,
    ChangedSinceSeenError,
    NotAllowedError,
    NotFoundError,
    NotSignedInError,
    RefusedRequestError,
)
from service.i18n import words
from service.wiring import wiring
from shared.errors import ClinicalInputError
from shared.findings import Message, msg

LOCALE = "en"

_ANSWERS: dict[type[Exception], tuple[int, Message, Message]] = {
    NotFoundError: (404, msg("There is nothing here"), msg("The address may be mistyped, or the link was closed.")),
    NotAllowedError: (403, msg("Your role may not do this"), msg("Please ask somebody who may; nothing was changed.")),
    RefusedRequestError: (403, msg("This form is out of date"), msg("Nothing was saved. Please go back, load the page again and repeat.")),
    ChangedMeanwhileError: (409, msg("Somebody else saved first"), msg("Nothing of theirs was overwritten. Please load the page again and decide anew.")),
}


def install(app: FastAPI) -> None:
    for kind, (status, title, detail) in _ANSWERS.items():
        app.add_exception_handler(kind, _answering(status, title, detail))
    app.add_exception_handler(NotSignedInError, _not_signed_in)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(RequestValidationError, _malformed)
    app.add_exception_handler(ClinicalInputError, _clinical)
    app.add_exception_handler(ChangedSinceSeenError, _changed_since_seen)
    app.add_exception_handler(AskFirstError, _asked_first)
    app.add_exception_handler(ProblemError, _problem)


def _answering(status: int, title: Message, detail: Message) -> Callable[[Request, Exception], Response]:
    return lambda request, _: _answer(request, status, title, detail)


def _answer(request: Request, status: int, title: Message, detail: Message) -> Response:
    speak = words(LOCALE)
    if for_api(request.url.path):
        return problem(status, speak.text(title), speak.text(detail))
    context = {"visitor": None, "title": speak.text(title), "detail": speak.text(detail)}
    return wiring(request).renderer.page(speak, "error.html", context, status)


def for_api(path: str) -> bool:
    return path.startswith("/api/")


def problem(status: int, title: str, detail: str, **more: Any) -> Response:
    return JSONResponse({"type": "about:blank", "title": title, "status": status, "detail": detail, **more}, status, media_type=MEDIA_TYPE)


def _not_signed_in(request: Request, _: Exception) -> Response:
    if for_api(request.url.path):
        answer = problem(401, "Unauthorized", "A bearer token of a member of staff is needed.")
        answer.headers["WWW-Authenticate"] = "Bearer"
        return answer
    wanted = request.url.path if request.method == "GET" else "/"
    return RedirectResponse(f"/sign-in?next={quote(wanted)}", 303)


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        return _answer(request, *_ANSWERS[NotFoundError])
    answer = _answer(request, error.status_code, msg("This did not work"), Message(HTTPStatus(error.status_code).phrase))
    for name, value in (error.headers or {}).items():
        answer.headers[name] = value
    return answer


def _malformed(request: Request, error: Exception) -> Response:
    """Unreadable, or of the wrong shape. A header that is missing or none is a bad request: it says how, not what."""
    assert isinstance(error, RequestValidationError)
    errors = [_error(e, error.body) for e in error.errors()]
    status, title = (400, "Bad Request") if error.errors()[0]["loc"][0] == "header" else (422, UNPROCESSABLE)
    return problem(status, title, f"{errors[0]['field']}: {errors[0]['detail']}", field=errors[0]["field"], errors=errors)


def _error(e: Any, body: Any) -> dict[str, str]:
    place, *path = e["loc"]
    cause = e.get("ctx", {}).get("error")
    detail = words(LOCALE).text(cause.message) if isinstance(cause, ClinicalInputError) else e["msg"]
    if e["type"] == "json_invalid":
        return {"field": "body", "detail": f"{detail} at character {path[0]}: {cause}"}
    return {"field": body_path(path, body) if place == "body" else str(path[0]), "detail": detail}


def _clinical(request: Request, error: Exception) -> Response:
    assert isinstance(error, ClinicalInputError)
    return problem(422, UNPROCESSABLE, words(LOCALE).text(error.message), field=json_path(error.field))


def _changed_since_seen(request: Request, _: Exception) -> Response:
    speak = words(LOCALE)
    changed = msg("This has changed since it was shown, or it is not what was shown; nothing was signed. Please look at the preview again.")
    return problem(409, speak.text(msg("Not what was seen")), speak.text(changed), field="seen")


def _asked_first(request: Request, error: Exception) -> Response:
    assert isinstance(error, AskFirstError)
    speak = words(LOCALE)
    detail = speak.text(msg("This looks like a slip of the pen; nothing was saved. If it is right, send it again with this “as_typed”."))
    return problem(409, speak.text(msg("Please look again")), detail, questions=[speak.text(q) for q in error.questions], as_typed=error.key)


def _problem(request: Request, error: Exception) -> Response:
    assert isinstance(error, ProblemError)
    return problem(error.status, error.title, error.detail, **error.more)


def answer_bug(request: Request, _: Exception) -> Response:
    request_id = getattr(request.state, "request_id", "")
    detail = msg("What you entered may not be saved. Quote this to the people who run the service: %(request)s", request=request_id)
    return _answer(request, 500, msg("Something broke on our side"), detail)
