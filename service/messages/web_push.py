"""Web Push (RFC 8030, 8291, 8292): encrypted for one device, signed with the clinic's own key, never sent to a private address."""

import asyncio
import base64
import json
import socket
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from functools import cached_property
from io import BytesIO

import httpx2
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from pydantic import TypeAdapter
from webpush import WebPush, WebPushSubscription

from service.facts_of_messages import ChannelName, Contact
from service.messages.addresses import is_public, push_endpoint
from service.messages.channel import SEND_WITHIN_SECONDS, GoneError, Outgoing, PermanentFailureError, TemporaryFailureError
from shared.errors import ClinicalInputError

KEY_BYTES = 32
Resolve = Callable[[str], Awaitable[list[str]]]


def new_private_key() -> str:
    number = ec.generate_private_key(ec.SECP256R1()).private_numbers().private_value
    return base64.urlsafe_b64encode(number.to_bytes(KEY_BYTES)).decode().rstrip("=")


def private_key(written: str) -> ec.EllipticCurvePrivateKey:
    """From 32 bytes in base64url. Raises `ValueError`."""
    raw = base64.b64decode(written + "=" * (-len(written) % 4), altchars=b"-_", validate=True)
    if len(raw) != KEY_BYTES:
        raise ValueError(written)
    return ec.derive_private_key(int.from_bytes(raw), ec.SECP256R1())


def public_key(written: str) -> str:
    """What a browser is given of it."""
    point = private_key(written).public_key().public_bytes(serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)
    return base64.urlsafe_b64encode(point).decode().rstrip("=")


async def resolve(host: str) -> list[str]:
    found = await asyncio.get_running_loop().getaddrinfo(host, 443, type=socket.SOCK_STREAM)
    return [str(address[0]) for _, _, _, _, address in found]


@dataclass(frozen=True)
class WebPushChannel:
    """`contact_email` stands in each request, for the browser's maker to complain to. `resolve` and `transport` are handed in by tests."""

    key: str
    contact_email: str
    resolve: Resolve = resolve
    transport: httpx2.AsyncBaseTransport | None = None
    name = ChannelName.WEB_PUSH

    def reaches(self, contact: Contact) -> bool:
        return contact.channel is self.name and contact.reaches

    async def send(self, message: Outgoing) -> None:
        request = await self._request(message)
        try:
            async with httpx2.AsyncClient(timeout=SEND_WITHIN_SECONDS, trust_env=False, transport=self.transport) as client:
                status = (await client.send(request)).status_code
        except (httpx2.HTTPError, OSError):
            raise TemporaryFailureError("no-connection") from None
        if status in (404, 410):
            raise GoneError("device-gone")
        if status in (408, 425, 429) or status >= 500:
            raise TemporaryFailureError("refused-for-now")
        if not 200 <= status < 300:
            raise PermanentFailureError("refused", of_address=True)

    async def _request(self, message: Outgoing) -> httpx2.Request:
        """To the address that was looked at, under the host's name: a name cannot lead elsewhere between the look and the call."""
        try:
            endpoint = httpx2.URL(push_endpoint(message.to.address))
            addresses = await self.resolve(endpoint.host)
        except ClinicalInputError:
            raise PermanentFailureError("not-public", of_address=True) from None
        except OSError:
            raise TemporaryFailureError("no-such-host-for-now") from None
        if not addresses or not all(map(is_public, addresses)):
            raise PermanentFailureError("not-public", of_address=True)
        made = self._push.get(self._payload(message), self._subscription(message.to), ttl=max(1, message.lasts_seconds))
        headers = {**made.headers, "host": endpoint.host, "topic": message.key, "urgency": "normal", "content-type": "application/octet-stream"}
        return httpx2.Request(
            "POST", endpoint.copy_with(host=addresses[0]), headers=headers, content=made.encrypted, extensions={"sni_hostname": endpoint.host}
        )

    @staticmethod
    def _subscription(contact: Contact) -> WebPushSubscription:
        return TypeAdapter(WebPushSubscription).validate_python({"endpoint": contact.address, "keys": dict(contact.keys)})

    @staticmethod
    def _payload(message: Outgoing) -> bytes:
        return json.dumps({"title": message.title, "body": message.text, "url": message.link, "tag": message.key, "lang": message.language}).encode()

    @cached_property
    def _push(self) -> WebPush:
        key = private_key(self.key)
        private = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
        public = key.public_key().public_bytes(serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo)
        return WebPush(private_key=private, public_key=BytesIO(public), subscriber=self.contact_email)
