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


def admit_attempt(session: Session, sign_in_name: str, address: str, now: datetime) -> None:
    """Counts a guess before it is checked; raises `TooManyAttemptsError`. Its own transaction, so that a refusal is counted too."""
    subjects = (f"name:{token_hash(sign_in_name.casefold())}", f"address:{token_hash(address)}")
    for subject, most in zip(subjects, (ATTEMPTS, ATTEMPTS * 5), strict=True):
        if people.count_attempts(session, subject, now - WINDOW) >= most:
            raise TooManyAttemptsError
    for subject in subjects:
        people.add_attempt(session, subject, now)


def sign_in(session: Session, sign_in_name: str, password: str, now: datetime) -> str | None:
    """A new session's token, or None when name and password do not belong together."""
    found = people.credentials(session, sign_in_name)
    try:
        _hasher.verify(found[1] if found else _nobody(), password)
    except VerificationError:
        return None
    if found is None:
        return None
    staff = found[0]
    token = new_token("s")
    people.open_staff_session(session, staff, token, now, SESSION_LASTS)
    trail.audit(session, staff.clinic_id, at=now, who=staff.public_id, action="sign-in", subject=staff.public_id)
    return token
