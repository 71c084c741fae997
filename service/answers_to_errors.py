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

from service.errors import AskFirstError, ChangedMeanwhileError, NotAllowedError, NotFoundError, NotSignedInError, RefusedRequestError
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
    app.add_exception_handler(AskFirstError, _asked_first)


def _answering(status: int, title: Message, detail: Message) -> Callable[[Request, Exception], Response]:
    return lambda request, _: _answer(request, status, title, detail)


def _answer(request: Request, status: int, title: Message, detail: Message) -> Response:
    speak = words(LOCALE)
    if _for_api(request):
        return problem(status, speak.text(title), speak.text(detail))
    context = {"visitor": None, "title": speak.text(title), "detail": speak.text(detail)}
    return wiring(request).renderer.page(speak, "error.html", context, status)


def _for_api(request: Request) -> bool:
    return request.url.path.startswith("/api/")


def problem(status: int, title: str, detail: str, **more: Any) -> Response:
    return JSONResponse({"type": "about:blank", "title": title, "status": status, "detail": detail, **more}, status, media_type="application/problem+json")


def _not_signed_in(request: Request, _: Exception) -> Response:
    if _for_api(request):
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
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    path = [str(part) for part in first["loc"] if isinstance(part, str) and part not in ("body", "query", "path")]
    field = path[0] if path else "body"
    return problem(422, "Unprocessable Content", f"{field}: {first['msg']}", field=field, errors=[_error(e) for e in error.errors()])


def _error(e: Any) -> dict[str, str]:
    return {"field": ".".join(str(part) for part in e["loc"] if part != "body"), "detail": e["msg"]}


def _clinical(request: Request, error: Exception) -> Response:
    assert isinstance(error, ClinicalInputError)
    return problem(422, "Unprocessable Content", words(LOCALE).text(error.message), field=error.field)


def _asked_first(request: Request, error: Exception) -> Response:
    assert isinstance(error, AskFirstError)
    speak = words(LOCALE)
    detail = speak.text(msg("This looks like a slip of the pen; nothing was saved. If it is right, send it again with this “as_typed”."))
    return problem(409, speak.text(msg("Please look again")), detail, questions=[speak.text(q) for q in error.questions], as_typed=error.key)


def answer_bug(request: Request, _: Exception) -> Response:
    request_id = getattr(request.state, "request_id", "")
    detail = msg("What you entered may not be saved. Quote this to the people who run the service: %(request)s", request=request_id)
    return _answer(request, 500, msg("Something broke on our side"), detail)
