"""The translations of what families read: one file of texts a language, compiled when it is first needed, so that none is ever stale."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from gettext import NullTranslations
from hashlib import sha256
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.support import Translations

CATALOGUES = Path(__file__).parent / "locale"
SOURCE = "en"  # the language in which the product is written
TRANSLATED = tuple(sorted(p.name for p in CATALOGUES.iterdir()))


@dataclass(frozen=True)
class Text:
    """One text with its translation; `others` are a plural's further forms."""

    source: str
    translated: str
    others: tuple[str, ...]
    safety: bool


@cache
def compiled(language: str) -> NullTranslations:
    """What is not translated stays in English."""
    if language not in TRANSLATED:
        return NullTranslations()
    file = BytesIO()
    write_mo(file, read(language))
    file.seek(0)
    return Translations(file)


def path(language: str) -> Path:
    return CATALOGUES / language / "LC_MESSAGES" / "messages.po"


def read(language: str) -> Catalog:
    with path(language).open("rb") as file:
        return read_po(file, locale=language, abort_invalid=True)


@cache
def digest(language: str) -> str:
    """Of what is said in a language: what a clinic has checked is this and nothing else."""
    said = sorted((_forms(m.id), _forms(m.string)) for m in read(language) if m.id)
    return sha256(repr(said).encode()).hexdigest()[:32]


@cache
def texts(language: str) -> tuple[Text, ...]:
    """In the order in which they are to be read: safety wording first."""
    found = [_text(m) for m in read(language) if m.id]
    return tuple(sorted(found, key=lambda t: (not t.safety, t.source.casefold())))


def _text(m: Message) -> Text:
    first, *others = _forms(m.string)
    return Text(_forms(m.id)[0], first, tuple(others), "safety" in m.flags)


def _forms(text: str | Sequence[str] | None) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text or ("",))
