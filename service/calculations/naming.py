"""A refusal of the core, which names its own field, as a refusal of what the calculation asked."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from shared.errors import ClinicalInputError


@contextmanager
def named(names: Mapping[str, str]) -> Iterator[None]:
    """Inside it a `ClinicalInputError` that names one of these names the field beside it instead."""
    try:
        yield
    except ClinicalInputError as refused:
        if refused.field not in names:
            raise
        raise ClinicalInputError(names[refused.field], refused.message) from refused
