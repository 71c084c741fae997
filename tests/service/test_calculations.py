"""Every calculation, whoever wrote it: its page and its route answer alike, and nothing that is put in breaks either."""

import math
import re
import shutil
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from service.calculations.asking import Ask, Kind
from service.calculations.registry import BY_NAME, GROUPS
from service.facts import Role
from service.i18n import words


def text_of(html: str) -> str:
    """What a page says, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", "", html)).split())


EACH = pytest.mark.parametrize("name", sorted(BY_NAME))


@pytest.fixture
def database_url(tmp_path: Path, migrated_file: Path) -> str:
    """Calculations store nothing: the embedded database alone is enough."""
    path = tmp_path / "test.db"
    shutil.copyfile(migrated_file, path)
    return f"sqlite:///{path}"


def field_strategy(a: Ask) -> st.SearchStrategy[Any]:
    """Mostly what the field may be, else anything JSON can hold, or nothing."""
    sensible: st.SearchStrategy[Any] = {
        Kind.NUMBER: st.floats(a.low, a.high),
        Kind.WHOLE: st.integers(int(a.low), int(a.high)),
        Kind.CHOICE: st.sampled_from([m.value for m in a.choices or ()] or [""]),
        Kind.TEXT: st.sampled_from(["20/40", "20/200-2", "0.3 logMAR", "4.7 cpd", "6/9+1", "HM", "2", "-1.5", "5 mm", "+20 to +32 by 1", "", "\u0000"]),
        Kind.TICK: st.booleans(),
    }[a.kind]
    odd = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False), st.text(max_size=70), st.just([]))
    return sensible if not a.needed else st.one_of(sensible, sensible, sensible, odd)


def is_sheet(answer: dict[str, Any]) -> bool:
    numbers = [v for v in answer["values"].values() if isinstance(v, float | int)]
    said = answer["values"] or answer["findings"] or answer["tables"]
    return bool(said) and all(map(math.isfinite, numbers)) and (answer["refusal"] is not None or any(v is not None for v in answer["values"].values()) or said)


@EACH
def test_any_input_is_answered_or_refused_by_name(name: str, call) -> None:
    calculation, api = BY_NAME[name], call(Role.CLINICIAN)
    fields = {a.name: field_strategy(a) for a in calculation.asks}
    example = dict(calculation.example)

    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.fixed_dictionaries({}, optional=fields), st.booleans())
    def holds(body: dict[str, Any], on_example: bool) -> None:
        answer = api.post(f"/api/calc/{name}", json=example | body if on_example else body)
        assert answer.status_code in (200, 422), (body, answer.text)
        if answer.status_code == 200:
            assert is_sheet(answer.json()), body
        else:
            assert answer.json()["field"].split(".")[0] in {*fields, "body"}, (body, answer.text)

    holds()


@EACH
def test_what_is_not_a_question_is_refused(name: str, call) -> None:
    api = call(Role.CLINICIAN)
    numbers = [a.name for a in BY_NAME[name].asks if a.kind is Kind.NUMBER]
    bodies = ["[]", "null", "{", '{"mood": 1}', *(f'{{"{n}": {odd}}}' for n in numbers for odd in ("NaN", "Infinity", "-Infinity", '"12 D"', "true"))]
    for body in bodies:
        answer = api.post(f"/api/calc/{name}", content=body, headers={"Content-Type": "application/json"})
        assert answer.status_code == 422 and answer.json()["field"], (body, answer.text)


@EACH
def test_the_page_shows_what_the_api_answers(name: str, call, signed_in) -> None:
    calculation, page = BY_NAME[name], signed_in(Role.ORTHOPTIST)
    answer = call(Role.ORTHOPTIST).post(f"/api/calc/{name}", json=dict(calculation.example)).json()
    assert is_sheet(answer)
    empty = page.get(f"/calculations/{name}")
    assert empty.status_code == 200 and 'id="result"' not in empty.text
    example = next(link for link in empty.text.split('"') if link.startswith(f"/calculations/{name}?")).replace("&amp;", "&")
    shown = page.get(example)
    assert shown.status_code == 200, text_of(shown.text)
    said = text_of(shown.text)
    for step in [*answer["working"], *answer["cautions"], *(f["message"] for f in answer["findings"]), answer["refusal"] or ""]:
        assert step in said
    for value in answer["values"].values():
        assert not isinstance(value, str) or " " not in value or value in said


@EACH
def test_every_calculation_says_what_it_asks(name: str) -> None:
    calculation, speak = BY_NAME[name], words("en")
    assert set(calculation.example) <= {a.name for a in calculation.asks}
    assert speak.text(calculation.title) and speak.text(calculation.about)
    for a in calculation.asks:
        assert a.name.isidentifier() and speak.text(a.label)
        assert a.kind is not Kind.NUMBER or (a.low < a.high and a.unit), a.name


def test_a_form_keeps_what_was_typed_and_says_what_is_wrong(signed_in) -> None:
    page = signed_in(Role.OPTOMETRIST)
    answer = page.get("/calculations/effective-power?sphere=twelve&cylinder=-2&axis=&from_vertex_distance_mm=12&to_vertex_distance_mm=0&work=yes")
    assert answer.status_code == 422 and 'value="twelve"' in answer.text and 'value="-2"' in answer.text
    assert "“twelve” is not a number" in answer.text and 'id="result"' not in answer.text
    answer = page.get("/calculations/effective-power?sphere=12&cylinder=-2&axis=&from_vertex_distance_mm=12&to_vertex_distance_mm=0&work=yes")
    assert answer.status_code == 422 and "A cylinder needs its axis" in answer.text


def test_an_address_may_fill_in_part_of_a_form_which_then_waits(signed_in) -> None:
    answer = signed_in(Role.OPTOMETRIST).get("/calculations/effective-power?sphere=12")
    assert answer.status_code == 200 and 'value="12"' in answer.text and 'id="result"' not in answer.text


def test_the_index_leads_to_each_and_only_staff_sees_it(signed_in, visitor: TestClient, clinic) -> None:
    index = signed_in(Role.RECEPTION).get("/calculations").text
    assert all(f'"/calculations/{c.name}"' in index for _, found in GROUPS for c in found)
    assert signed_in(Role.CLINICIAN).get("/calculations/no-such").status_code == 404
    for path in ("/calculations", "/calculations/acuity"):
        assert visitor.get(path, follow_redirects=False).headers["location"].startswith("/sign-in")
