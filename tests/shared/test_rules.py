"""The list of rules against the code that speaks them: none missing, none too many, and no source left out."""

import ast
from collections.abc import Iterator
from pathlib import Path

import schedules
import shared
from shared.rules import NOT_RULES, RULES, feeds, resting_on
from shared.sources import PUBLISHED

CODE = sorted(p for package in (shared, schedules) for p in Path(package.__file__).parent.rglob("*.py") if p.name != "rules.py")
SPEAKERS = {"Finding", "dose", "Step", "Proposal"}
ASKED = {"number", "source", "table"}


def functions() -> Iterator[ast.FunctionDef]:
    for path in CODE:
        yield from (node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.FunctionDef))


def calls(node: ast.AST, names: set[str]) -> Iterator[ast.Call]:
    return (n for n in ast.walk(node) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name) and n.func.id in names)


def strings(node: ast.AST) -> set[str]:
    return {n.value for n in ast.walk(node) if isinstance(n, ast.Constant) and isinstance(n.value, str)}


def test_every_rule_that_is_spoken_is_listed_and_every_listed_one_is_spoken() -> None:
    spoken = {str(a.value) for f in functions() for call in calls(f, SPEAKERS) for a in call.args[:1] if isinstance(a, ast.Constant) and a.value}
    assert spoken - RULES.keys() - NOT_RULES == set()
    everywhere = {text for path in CODE for text in strings(ast.parse(path.read_text()))}
    assert RULES.keys() - everywhere == set() and spoken >= NOT_RULES


def test_a_rule_names_every_publication_that_its_function_asks() -> None:
    """Where a function speaks several rules, each of its publications is named by one of them."""
    left_out = {}
    for function in functions():
        rules = {a.value for call in calls(function, SPEAKERS) for a in call.args[:1] if isinstance(a, ast.Constant)} & RULES.keys()
        asked = {str(a.value) for call in calls(function, ASKED) for a in call.args[:1] if isinstance(a, ast.Constant)}
        missing = asked - {key for rule in rules for key in RULES[rule].sources}
        if rules and missing:
            left_out[function.name] = missing
    assert left_out == {}


def test_the_publications_named_are_there_and_each_feeds_a_rule_or_an_arithmetic() -> None:
    keys = {path.stem for path in PUBLISHED.glob("*.toml")}
    assert {key for rule in RULES.values() for key in rule.sources} - keys == set()
    assert {key for key in keys if not feeds(key)} == set()
    assert {rule.name for rule in resting_on("ats2c")} >= {"settle-taper", "recurrence"}
