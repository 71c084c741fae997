"""Addresses as families type them and as browsers give them: what cannot be one is refused in words."""

import base64
import ipaddress
import re
from urllib.parse import urlsplit

from service.forms import figures
from shared.errors import ClinicalInputError
from shared.findings import msg

LONGEST_EMAIL, LONGEST_ENDPOINT = 254, 1000
_LOCAL = r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*"
_DOMAIN = r"(?:[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?\.)+[A-Za-z][A-Za-z0-9-]{0,61}[A-Za-z0-9]"
_EMAIL = re.compile(f"{_LOCAL}@{_DOMAIN}")
_NUMBER = re.compile(r"\+[1-9][0-9]{6,14}")
_HOST = re.compile(_DOMAIN)
_TRANSLATED = ipaddress.IPv6Network("64:ff9b::/96")  # RFC 6052, section 2.1
NEVER_PUBLIC = ("localhost", "local", "internal", "invalid", "test", "onion", "arpa")
POINT_BYTES, SECRET_BYTES = 65, 16  # RFC 8291: an uncompressed point of P-256, and the secret


def email(typed: str, field: str = "email") -> str:
    """Raises `ClinicalInputError` naming `field`."""
    address = typed.strip()
    if len(address) > LONGEST_EMAIL or not _EMAIL.fullmatch(address):
        raise ClinicalInputError(field, msg("“%(typed)s” is no e-mail address; one looks like name@example.org.", typed=typed[:80]))
    return address


def number(typed: str, field: str = "number") -> str:
    """Also in Arabic-Indic or Persian figures, among marks of direction, and with 00 in place of +. Raises `ClinicalInputError` naming `field`."""
    digits = re.sub("^00", "+", re.sub(r"[\s().\u200e\u200f\u202a-\u202e\u2066-\u2069-]", "", figures(typed)))
    if not _NUMBER.fullmatch(digits):
        raise ClinicalInputError(
            field, msg("“%(typed)s” is no number that can be reached; begin with + and the country, as +44 1632 960117.", typed=typed[:80])
        )
    return digits


def push_endpoint(url: str) -> str:
    """Where a browser's maker takes pushes: https, on a public host, at the usual port. Raises `ClinicalInputError` naming `endpoint`."""
    refused = ClinicalInputError("endpoint", msg("This device gave an address for messages that is not a public one; nothing was saved."))
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError:
        raise refused from None
    host = parts.hostname or ""
    public = _HOST.fullmatch(host) is not None and host.rsplit(".", 1)[-1] not in NEVER_PUBLIC
    if len(url) > LONGEST_ENDPOINT or parts.scheme != "https" or not public or port not in (None, 443) or parts.username is not None or not url.isascii():
        raise refused
    return url


def push_keys(p256dh: str, auth: str) -> dict[str, str]:
    """Raises `ClinicalInputError` naming `keys`."""
    for key, length in ((p256dh, POINT_BYTES), (auth, SECRET_BYTES)):
        try:
            raw = base64.b64decode(key + "=" * (-len(key) % 4), altchars=b"-_", validate=True)
        except ValueError:
            raw = b""
        if len(raw) != length:
            raise ClinicalInputError("keys", msg("This device gave keys that cannot be read; nothing was saved."))
    return {"p256dh": p256dh, "auth": auth}


def is_public(address: str) -> bool:
    """Of an IP address: whether it lies on the public network. An IPv4 address inside an IPv6 one counts as itself."""
    ip = ipaddress.ip_address(address)
    if isinstance(ip, ipaddress.IPv6Address):
        translated = ipaddress.IPv4Address(ip.packed[-4:]) if ip in _TRANSLATED else None
        ip = ip.ipv4_mapped or ip.sixtofour or translated or ip
    return ip.is_global and not ip.is_multicast
