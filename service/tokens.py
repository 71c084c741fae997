"""Secrets: random tokens of which only hashes are stored, and keyed signatures that need no storage."""

import base64
import hashlib
import hmac
import secrets
from datetime import date


def new_public_id() -> str:
    """A random id for an address: not a secret, but not guessable either."""
    return secrets.token_urlsafe(9)


def new_token(kind: str) -> str:
    """32 random bytes behind a prefix that secret scanners can look for."""
    return f"od{kind}_{secrets.token_urlsafe(32)}"


def token_from(kind: str, secret_key: str, *parts: str) -> str:
    """A token that the same parts give again, as hard to guess as the secret key."""
    mac = hmac.new(secret_key.encode(), "\x1f".join(("token", kind, *parts)).encode(), hashlib.sha256).digest()
    return f"od{kind}_{base64.urlsafe_b64encode(mac).decode().rstrip('=')}"


def token_hash(token: str) -> str:
    """SHA-256 is enough for a random token and cheap enough for a polled feed."""
    return hashlib.sha256(token.encode()).hexdigest()


def signature(secret_key: str, *parts: str) -> str:
    """HMAC-SHA-256 over the parts, shortened to 128 bits for an address."""
    mac = hmac.new(secret_key.encode(), "\x1f".join(parts).encode(), hashlib.sha256)
    return mac.hexdigest()[:32]


def same(a: str, b: str) -> bool:
    return hmac.compare_digest(a.encode(), b.encode())


def day_signature(secret_key: str, subscription: str, on: date) -> str:
    """The right to log one day of one subscription, and nothing else."""
    return signature(secret_key, "day", subscription, on.isoformat())
