"""What makes something is done once: the same `Idempotency-Key` again gives the first answer again (draft-ietf-httpapi-idempotency-key-header, from memory)."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Annotated

from fastapi import Depends, Header, Request
from fastapi.responses import Response
from pydantic import BaseModel
from sqlmodel import Session

from service.api.bearer import ApiStaff
from service.api.body import SPEAK
from service.api.problems import ProblemError
from service.db import writing
from service.facts import Staff
from service.store import trail
from service.tokens import token_from
from service.wiring import wiring
from shared.findings import msg

Key = Annotated[
    str,
    Header(
        alias="Idempotency-Key",
        pattern=r'^("[!#-~]{1,200}"|[!#-~]{1,200})$',
        description="A name of your own for this one deed, as a UUID. Sent again with the same body it gives the same answer and does nothing twice.",
        examples=['"8e03978e-40d5-43dd-bc93-6894a57f9324"'],
    ),
]


@dataclass(frozen=True)
class Once:
    """One deed of one person, named by their key."""

    request: Request
    staff: Staff
    key: str

    def make(
        self, action: str, body: BaseModel, deed: Callable[[Session, datetime], BaseModel], at: str | None = None, secrets: Mapping[str, str] | None = None
    ) -> Response:
        """201 with what `deed` made, which then has an address below `at`, and with `secrets`, which are kept nowhere."""
        w = wiring(self.request)
        now = w.clock.now()
        with writing(w.engine) as session:
            answer = self._earlier(session, action, body, now)
            if answer is None:
                answer = deed(session, now).model_dump_json()
                trail.settle_claim(session, self.staff.clinic_id, self._claim_key, f"{self._fingerprint(body)} {answer}")
        content = json.loads(answer)
        headers = {"Location": f"{at or self.request.url.path}/{content['id']}"} | ({"Cache-Control": "no-store"} if secrets else {})
        return Response(json.dumps(content | dict(secrets or {}), ensure_ascii=False), 201, headers, "application/json")

    def token(self, kind: str, body: BaseModel) -> str:
        """A secret that this deed of this person gives again and nobody else can: a lost answer can be asked for, and only its hash is kept."""
        return token_from(kind, wiring(self.request).settings.secret_key, self._claim_key, self._fingerprint(body), self.key)

    def _earlier(self, session: Session, action: str, body: BaseModel, now: datetime) -> str | None:
        """What the first of this key was answered; None for the first."""
        made = trail.claim(session, self.staff.clinic_id, self._claim_key, action, now)
        if made is None:
            return None
        fingerprint, _, answer = made.partition(" ")
        if fingerprint != self._fingerprint(body):
            other = msg("This Idempotency-Key was used for something else; nothing was done. Choose a new key for a new deed.")
            raise ProblemError(422, SPEAK.text(msg("The key was used before")), SPEAK.text(other), field="Idempotency-Key")
        return answer

    @property
    def _claim_key(self) -> str:
        return sha256(repr(("api", self.staff.id, self.key)).encode()).hexdigest()[:40]

    def _fingerprint(self, body: BaseModel) -> str:
        return sha256(f"{self.request.url.path} {body.model_dump_json()}".encode()).hexdigest()


def once(request: Request, staff: ApiStaff, key: Key) -> Once:
    return Once(request, staff, key.strip('"'))


DoneOnce = Annotated[Once, Depends(once)]
