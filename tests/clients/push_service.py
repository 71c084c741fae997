"""A maker's push service on this machine: TLS under a host's name, every request kept. And a device of its own that reads what it was sent.

What it reads with, the package `http_ece` of npm and Node's own cryptography, shares no code with what wrote it.
"""

import base64
import json
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import httpx2
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from tests.clients.expected import CLIENTS
from tests.clients.readers import run

HOST, PUBLIC = "push.example", "93.184.216.34"
READ = """
const ece = require("http_ece"), crypto = require("crypto");
const given = JSON.parse(require("fs").readFileSync(0, "utf8"));
const raw = text => Buffer.from(text, "base64url");
const device = crypto.createECDH("prime256v1");
device.setPrivateKey(raw(given.private));
const body = ece.decrypt(raw(given.body), { version: "aes128gcm", privateKey: device, authSecret: given.auth });
const [, token, key] = /^vapid t=([^,]+), ?k=(.+)$/.exec(given.authorization);
const [head, claims, signature] = token.split(".");
const point = raw(key);
const jwk = { kty: "EC", crv: "P-256", x: point.subarray(1, 33).toString("base64url"), y: point.subarray(33).toString("base64url") };
const signer = { key: crypto.createPublicKey({ key: jwk, format: "jwk" }), dsaEncoding: "ieee-p1363" };
const signed = crypto.verify("sha256", Buffer.from(head + "." + claims), signer, raw(signature));
console.log(JSON.stringify({ body: JSON.parse(body), signed, key, head: JSON.parse(raw(head)), claims: JSON.parse(raw(claims)) }));
"""


def _url(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).decode().rstrip("=")


@dataclass
class Device:
    private: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))
    auth: str = _url(bytes(range(16)))

    @property
    def keys(self) -> dict[str, str]:
        point = self.private.public_key().public_bytes(serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)
        return {"p256dh": _url(point), "auth": self.auth}

    def read(self, headers: dict[str, str], body: bytes) -> Any:
        number = self.private.private_numbers().private_value.to_bytes(32)
        given = {"private": _url(number), "auth": self.auth, "body": _url(body), "authorization": headers["authorization"]}
        return json.loads(run(CLIENTS / "bin" / "node", "-e", READ, given=json.dumps(given).encode(), NODE_PATH=str(CLIENTS / "node_modules")))


@dataclass
class PushService:
    port: int
    trusted: ssl.SSLContext
    requests: list[tuple[str, dict[str, str], bytes]] = field(default_factory=list)
    statuses: list[int] = field(default_factory=list)  # answered in turn; 201 from then on

    @property
    def transport(self) -> httpx2.AsyncBaseTransport:
        return _Here(self)


class _Here(httpx2.AsyncBaseTransport):
    """Stands for the network between the public address and this machine, and for nothing else: name, certificate and request stay as they are."""

    def __init__(self, service: PushService) -> None:
        self._service = service
        self._inner = httpx2.AsyncHTTPTransport(verify=service.trusted)

    async def handle_async_request(self, request: httpx2.Request) -> httpx2.Response:
        assert request.url.host == PUBLIC, "the address that was looked at is the one that is called"
        request.url = request.url.copy_with(host="127.0.0.1", port=self._service.port)
        return await self._inner.handle_async_request(request)

    async def aclose(self) -> None:
        await self._inner.aclose()


@contextmanager
def running_push_service(folder: Path) -> Iterator[PushService]:
    certificate, key = _certificate(folder)

    class Taking(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["content-length"]))
            service.requests.append((self.path, {name.lower(): value for name, value in self.headers.items()}, body))
            self.send_response(service.statuses.pop(0) if service.statuses else 201)
            self.send_header("content-length", "0")
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Quiet."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Taking)
    tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    tls.load_cert_chain(certificate, key)
    server.socket = tls.wrap_socket(server.socket, server_side=True)
    service = PushService(server.server_address[1], ssl.create_default_context(cafile=str(certificate)))
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
    thread.start()
    try:
        yield service
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def _certificate(folder: Path) -> tuple[Path, Path]:
    key, name = ec.generate_private_key(ec.SECP256R1()), x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, HOST)])
    since = datetime(2020, 1, 1, tzinfo=UTC)
    made = x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number(), since, since + timedelta(days=36500))
    made = made.add_extension(x509.SubjectAlternativeName([x509.DNSName(HOST)]), critical=False)
    made = made.add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
    paths = folder / "certificate.pem", folder / "key.pem"
    paths[0].write_bytes(made.sign(key, hashes.SHA256()).public_bytes(serialization.Encoding.PEM))
    paths[1].write_bytes(key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()))
    return paths
