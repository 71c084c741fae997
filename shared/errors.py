"""Errors carry values, not only text."""

from shared.findings import Message


class ClinicalInputError(ValueError):
    """A value that cannot be: `field` names it, `message` says what was read, why it cannot be, what would do."""

    def __init__(self, field: str, message: Message) -> None:
        super().__init__(f"{field}: {message.text % {k: str(v) for k, v in message.params.items()}}")
        self.field = field
        self.message = message
