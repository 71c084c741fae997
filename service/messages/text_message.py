"""Text messages through the operator's own HTTPS gateway: a signed JSON POST for each.

The body is `{"id", "to", "text", "valid_seconds"}`; `X-Signature` is the HMAC-SHA-256, in hex, of `X-Timestamp`, a full stop and the body, under the shared
secret. The same `id` again is the same message. An answer of 2xx takes it; 408, 425, 429 and 5xx ask for another attempt, and so do redirects, 401, 403, 404
and 405, which are faults of the set-up and not of the number; any other refuses the number for good.
"""

import hashlib
import hmac
import json
from dataclasses import dataclass

import httpx2

from service.facts_of_messages import ChannelName, Contact
from service.messages.channel import SEND_WITHIN_SECONDS, Outgoing, PermanentFailureError, TemporaryFailureError


@dataclass(frozen=True)
class TextMessageChannel:
    """`transport` is handed in by tests."""

    gateway_url: str
    secret: str
    transport: httpx2.AsyncBaseTransport | None = None
    name = ChannelName.TEXT_MESSAGE

    def reaches(self, contact: Contact) -> bool:
        return contact.channel is self.name and contact.reaches

    async def send(self, message: Outgoing) -> None:
        body = json.dumps(
            {"id": message.key, "to": message.to.address, "text": f"{message.text}\n{message.link}", "valid_seconds": message.lasts_seconds}
        ).encode()
        try:
            async with httpx2.AsyncClient(timeout=SEND_WITHIN_SECONDS, trust_env=False, transport=self.transport) as client:
                status = (await client.post(self.gateway_url, content=body, headers=self._headers(message, body))).status_code
        except (httpx2.HTTPError, OSError):
            raise TemporaryFailureError("no-connection") from None
        if status in (408, 425, 429) or status >= 500:
            raise TemporaryFailureError("refused-for-now")
        if status in (401, 403, 404, 405) or 300 <= status < 400:
            raise TemporaryFailureError("gateway-set-up")
        if not 200 <= status < 300:
            raise PermanentFailureError("refused", of_address=True)

    def _headers(self, message: Outgoing, body: bytes) -> dict[str, str]:
        timestamp = str(int(message.sent_at.timestamp()))
        return {"content-type": "application/json", "x-timestamp": timestamp, "x-signature": signature(self.secret, timestamp, body)}


def signature(secret: str, timestamp: str, body: bytes) -> str:
    return hmac.new(secret.encode(), timestamp.encode() + b"." + body, hashlib.sha256).hexdigest()
