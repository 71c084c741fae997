"""Problem details (RFC 9457): how they are described, and which part of a body they name."""

from collections.abc import Sequence
from typing import Any

from service.actions.visits import TEST_NAMES
from service.facts import Role
from shared.vocabulary import Laterality, TestedEye

MEDIA_TYPE = "application/problem+json"
UNPROCESSABLE = "Unprocessable Content"  # RFC 9110; Python 3.11 still has the older name
_RENAMED = {
    "near": "near_dioptres",
    "over_sphere": "over_refraction",
    "minutes": "own_minutes",
    "doses": "own_minutes",
    "extend_to": "review_on",
    "weekdays": "own_weekdays",
    "lens": "correction_id",
}
_MEANING = {
    400: "The Idempotency-Key is missing, or is none",
    401: "No token, or one that is not known",
    403: "Your role may not do this",
    404: "There is nothing here, or it is not yours",
    409: "It needs another look: it was changed meanwhile, it is not what was seen, or it looks odd",
    422: "Something in it cannot be; `field` names it",
}
_PATH = {"type": "string", "description": "the path of what is wrong, as eyes.left.k1_dioptres"}
_SCHEMA = {
    "type": "object",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "field": _PATH,
        "errors": {"type": "array", "items": {"type": "object", "properties": {"field": _PATH, "detail": {"type": "string"}}}},
        "questions": {"type": "array", "items": {"type": "string"}, "description": "what looks odd"},
        "as_typed": {"type": "string", "description": "answers these questions when it is sent with the same again"},
    },
}


class ProblemError(Exception):
    """An answer of the API alone: the pages have another way to say it."""

    def __init__(self, status: int, title: str, detail: str, **more: Any) -> None:
        super().__init__(detail)
        self.status, self.title, self.detail, self.more = status, title, detail, more


def problems(*statuses: int) -> dict[int | str, dict[str, Any]]:
    return {status: {"description": _MEANING[status], "content": {MEDIA_TYPE: {"schema": _SCHEMA}}} for status in statuses}


def json_path(field: str) -> str:
    """The place in a body of what an action calls by the name of a form's field: `left_k1_dioptres` stands at `eyes.left.k1_dioptres`."""
    head, _, rest = field.partition("_")
    if head in list(Laterality) and rest:
        return f"eyes.{head}.{_RENAMED.get(rest, rest)}"
    if head in TEST_NAMES and rest:
        eye, _, what = rest.partition("_")
        where = f"tests.{TEST_NAMES.index(head)}"
        return f"{where}.readings.{eye}.{what}" if eye in list(TestedEye) else f"{where}.{rest}"
    if head in list(Role) and rest:
        return "sign_rights"
    return _RENAMED.get(field, field)


def body_path(loc: Sequence[int | str], body: Any) -> str:
    """Where in `body` an error stands. The validator's own steps between (members of a union) are left out."""
    path: list[str] = []
    here: Any = body
    for n, part in enumerate(loc):
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            if not isinstance(here, dict) or n < len(loc) - 1:
                continue
        path.append(str(part).encode(errors="replace").decode())
    return ".".join(path) or "body"
