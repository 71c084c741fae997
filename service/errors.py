"""Errors of the edge. Anything that is none of these is a bug: it is logged and answered with 500."""

from hashlib import sha256

from shared.errors import ClinicalInputError
from shared.findings import Message


class NotFoundError(Exception):
    """It does not exist, or it is not yours: the same answer."""


class NotAllowedError(Exception):
    """Signed in, but this role may not."""


class NotSignedInError(Exception):
    """A page that needs a signed-in member of staff."""


class RefusedRequestError(Exception):
    """A forged or stale form: the request is not ours to carry out."""


class ChangedSinceSeenError(ClinicalInputError):
    """What is to be signed is no longer, or never was, what the signer was shown; nothing was signed."""


class ChangedMeanwhileError(Exception):
    """Somebody else saved this first; nothing was overwritten."""


class AskFirstError(Exception):
    """Something looks like a slip of the pen: `questions` are put to the person, whose answer carries `key` and so speaks of these alone."""

    def __init__(self, questions: tuple[Message, ...]) -> None:
        super().__init__(f"{len(questions)} questions")
        self.questions = questions
        self.key = sha256(repr(questions).encode()).hexdigest()[:16]
