"""Every message of the core names just the parameters that are handed to it, whether a test reaches it or not."""

import ast
from pathlib import Path

import pytest

import shared
from shared.errors import ClinicalInputError
from shared.findings import Finding, msg
from shared.vocabulary import Status
from tests.shared.messages import check, places

CODE = sorted(Path(shared.__file__).parent.rglob("*.py"))


def test_every_message_is_a_plain_text_with_its_own_parameters() -> None:
    seen = 0
    for path in CODE:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "msg":
                [text] = node.args
                assert isinstance(text, ast.Constant), f"{path.name}:{node.lineno} is no plain text, and no catalogue could hold it"
                names = {keyword.arg for keyword in node.keywords}
                if None not in names:  # **parameters: a test must reach it
                    assert names == places(str(text.value)), f"{path.name}:{node.lineno}"
                    seen += 1
    assert seen > 60


def test_the_walk_sees_what_is_amiss() -> None:
    for amiss in (msg("%(a)s"), msg("plain", a=1), Finding("r", msg("t"), Status.READ, ("pressure-watch",)), (Finding("", msg("t"), Status.READ),)):
        with pytest.raises(AssertionError):
            check(amiss)


def test_an_error_says_its_field_and_its_words() -> None:
    error = ClinicalInputError("sphere", msg("%(typed)s cannot be.", typed=80))
    assert str(error) == "sphere: 80 cannot be."
