"""Errors of the edge. Anything that is none of these is a bug: it is logged and answered with 500."""


class NotFoundError(Exception):
    """It does not exist, or it is not yours: the same answer."""


class NotAllowedError(Exception):
    """Signed in, but this role may not."""


class NotSignedInError(Exception):
    """A page that needs a signed-in member of staff."""


class RefusedRequestError(Exception):
    """A forged or stale form: the request is not ours to carry out."""


class ChangedMeanwhileError(Exception):
    """Somebody else saved this first; nothing was overwritten."""
