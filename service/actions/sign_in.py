"""Signing in: argon2id, a session row, and a limit on guesses that lives in a table."""

from datetime import datetime, timedelta
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import VerificationError
from sqlmodel import Session

from service.access import SESSION_LASTS
from service.store import people, trail
from service.tokens import new_token, token_hash

ATTEMPTS = 10
WINDOW = timedelta(minutes=15)

_hasher = PasswordHasher()


class TooManyAttemptsError(Exception):
    """The sign-in name or the address has used up its guesses."""


def hash_password(password: str) -> str:
    return _hasher.hash(password)


@cache
def _nobody() -> str:
    """The hash an unknown name is checked against, so that it takes as long as a known one."""
    return _hasher.hash("nobody has this password")


def _subjects(sign_in_name: str, address: str) -> tuple[tuple[str, int], ...]:
    """What is counted, and the most of it in a window."""
    return (f"name:{token_hash(sign_in_name.casefold())}", ATTEMPTS), (f"address:{token_hash(address)}", ATTEMPTS * 5)


def admit_attempt(session: Session, sign_in_name: str, address: str, now: datetime) -> None:
    """Counts a guess before it is checked; raises `TooManyAttemptsError`. Its own transaction, so that a guess that fails is counted too."""
    subjects = _subjects(sign_in_name, address)
    for subject, most in subjects:
        if people.count_attempts(session, subject, now - WINDOW) >= most:
            raise TooManyAttemptsError
    for subject, _ in subjects:
        people.add_attempt(session, subject, now)


def sign_in(session: Session, sign_in_name: str, password: str, address: str, now: datetime) -> str | None:
    """A new session's token, or None when name and password do not belong together. Success takes its own attempt back."""
    found = people.credentials(session, sign_in_name)
    try:
        _hasher.verify(found[1] if found else _nobody(), password)
    except VerificationError:
        return None
    if found is None:
        return None
    staff = found[0]
    for subject, _ in _subjects(sign_in_name, address):
        people.forget_attempts(session, subject, now)
    token = new_token("s")
    people.open_staff_session(session, staff, token, now, SESSION_LASTS)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="sign-in", subject=staff.public_id)
    return token
