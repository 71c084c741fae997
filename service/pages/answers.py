"""How a page answers: rendered with its view and the person it is for."""

from typing import Any

from fastapi import Request
from fastapi.responses import RedirectResponse, Response

from service.access import Visitor
from service.wiring import wiring


def page(request: Request, visitor: Visitor, template: str, status: int = 200, **context: Any) -> Response:
    return wiring(request).renderer.page(visitor.words, template, {"visitor": visitor, **context}, status)


def go(address: str) -> Response:
    """After a deed: see the page that shows it. 303 so that a reload repeats nothing."""
    return RedirectResponse(address, 303)
