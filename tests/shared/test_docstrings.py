"""Every public name of the core says what it is; where numbers go in or come out, their unit; where it refuses, that it raises."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import shared

UNIT = re.compile(r"\b(D|dioptres?|mm|cm|logMAR|octaves?|cycles/degree|degrees|years?|months?|weeks?|hours?|minutes|h|lines?|units?|step|%)\b|%", re.IGNORECASE)
CODE = sorted(Path(shared.__file__).parent.rglob("*.py"))
Public = ast.FunctionDef | ast.ClassDef


def public(tree: ast.Module) -> Iterator[Public]:
    """Functions, methods and classes without an underscore; not the words of the vocabulary, which are their own explanation."""
    for node in ast.walk(tree):
        if isinstance(node, Public) and not node.name.startswith("_") and not is_enum(node):
            yield node


def is_enum(node: Public) -> bool:
    return isinstance(node, ast.ClassDef) and any(isinstance(base, ast.Name) and base.id == "StrEnum" for base in node.bases)


def takes_or_gives_floats(node: Public) -> bool:
    if not isinstance(node, ast.FunctionDef):
        return False
    written = [a.annotation for a in (*node.args.args, *node.args.kwonlyargs)] + [node.returns]
    return any("float" in ast.unparse(annotation) for annotation in written if annotation)


def is_plain_property(node: Public) -> bool:
    return isinstance(node, ast.FunctionDef) and any(isinstance(d, ast.Name) and d.id == "property" for d in node.decorator_list)


def amiss(source: str) -> list[str]:
    """What each public name of a module leaves unsaid."""
    tree = ast.parse(source)
    found = [] if ast.get_docstring(tree) else ["the module says nothing"]
    for node in public(tree):
        text = ast.get_docstring(node) or ""
        named = " ".join(a.arg.replace("_", " ") for a in node.args.args) if isinstance(node, ast.FunctionDef) else ""
        if takes_or_gives_floats(node) and not UNIT.search(f"{text} {named} {node.name.replace('_', ' ')}"):
            found.append(f"{node.name} names no unit")
        if not text and not is_plain_property(node):
            found.append(f"{node.name} says nothing")
        if any(isinstance(part, ast.Raise) for part in ast.walk(node)) and isinstance(node, ast.FunctionDef) and "Raises" not in text:
            found.append(f"{node.name} does not say that it raises")
    return found


@pytest.mark.parametrize("path", CODE, ids=lambda path: path.stem)
def test_public_names_say_what_they_are(path: Path) -> None:
    assert amiss(path.read_text("utf-8")) == []


def test_the_check_sees_what_is_amiss() -> None:
    assert amiss('"""M."""\ndef f(power: float) -> float:\n    """F."""\n    raise ValueError\nclass C: ...\n') == [
        "f names no unit",
        "f does not say that it raises",
        "C says nothing",
    ]
