"""What every answer of the core must keep to, walked through whatever it is made of."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass

from shared.findings import Finding, Message
from shared.sources import all_sources
from shared.vocabulary import Status

SOURCES = {source.key: source for source in all_sources()}


def parts(thing: object) -> Iterator[object]:
    """The thing and everything inside it."""
    yield thing
    if is_dataclass(thing):
        inside = [getattr(thing, field.name) for field in fields(thing)]
    elif isinstance(thing, Mapping):
        inside = list(thing.values())
    else:
        inside = list(thing) if isinstance(thing, tuple | list) else []
    for part in inside:
        yield from parts(part)


def places(text: str) -> set[str]:
    return set(re.findall(r"%\((\w+)\)s", text))


def check(answer: object) -> None:
    """Every message has just the parameters it names; every finding says how well it is known, and is not known better than its sources."""
    for part in parts(answer):
        if isinstance(part, Message):
            assert places(part.text) == set(part.params), part.text
            assert "%" not in part.text % dict.fromkeys(part.params, "")
        elif isinstance(part, Finding):
            assert part.rule
            order = list(Status)
            assert order.index(part.status) >= max((order.index(SOURCES[key].status) for key in part.sources), default=0), part.rule
