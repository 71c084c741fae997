"""The API's description: whole, valid by an independent library, and its examples are what the service answers.

`WRITE_EXAMPLES=1 pytest tests/service/test_api_description.py` writes the answers anew beside the requests that stand in `service/api/examples/`.
"""

import json
import os
import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from openapi_schema_validator import OAS31Validator
from openapi_spec_validator import OpenAPIV31SpecValidator
from starlette.testclient import TestClient

from service.api.description import EXAMPLES
from service.calculations.registry import BY_NAME
from service.clock import StoppedClock
from service.facts import Role
from tests.people import TestClinic
from tests.service.calling import REGISTRATION, made
from tests.service.conftest import PUBLIC_URL
from tests.service.pages import note, submit

# In the order of the job: the operation, and by which name the examples call what its answer was the first to hold.
STORY = (
    ("register_child", {"id": "id-of-the-child"}),
    ("read_child", {}),
    ("change_child", {}),
    ("list_children", {}),
    ("record_visit", {"id": "id-of-the-visit"}),
    ("read_visit", {}),
    ("add_biometry", {}),
    ("correct_visit", {}),
    ("list_visits", {}),
    ("list_visit_versions", {}),
    ("add_sheet_line", {"id": "id-of-the-entry"}),
    ("end_sheet_line", {"id": "id-of-the-line-s-end"}),
    ("count_patches", {"id": "id-of-the-count"}),
    ("set_secondary_lens_date", {"id": "id-of-the-date"}),
    ("read_care_entry", {}),
    ("list_care_entries", {}),
    ("read_care", {}),
    ("preview_correction", {"digest": "digest-of-the-correction"}),
    ("sign_correction", {"id": "id-of-the-correction"}),
    ("read_correction", {}),
    ("list_corrections", {}),
    ("set_lens_wear", {"id": "id-of-the-wear"}),
    ("order_lens", {"id": "id-of-the-lens"}),
    ("step_lens", {}),
    ("read_lens", {}),
    ("list_lenses", {}),
    ("read_growth", {}),
    ("check_lenses", {}),
    ("read_lens_check", {}),
    ("list_lens_checks", {}),
    ("propose_regimen", {}),
    ("preview_regimen", {"digest": "digest-of-the-regimen"}),
    ("sign_regimen", {"id": "id-of-the-regimen"}),
    ("read_regimen", {}),
    ("list_regimens", {}),
    ("tell_household", {"id": "id-of-the-household"}),
    ("read_household", {}),
    ("list_households", {}),
    ("list_planned_days", {}),
    ("make_link", {"id": "id-of-the-link"}),
    ("set_calendar", {}),
    ("set_sees_others", {}),
    ("record_handling", {"id": "id-of-the-lesson"}),
    ("list_handling", {}),
    ("rotate_calendar", {}),
    ("list_links", {}),
    ("set_reminders", {}),
    ("read_reminders", {}),
    ("add_contact", {"id": "id-of-the-contact"}),
    ("turn_reminders_off", {}),
    ("turn_reminders_on", {}),
    ("list_contacts", {}),
    ("make_nursery_link", {"id": "id-of-the-nursery"}),
    ("list_nursery_links", {}),
    ("family notes what was worn", {}),
    ("list_wear", {}),
    ("family tells the clinic", {}),
    ("list_tellings", {}),
    ("take_telling", {}),
    ("close_telling", {}),
    ("a week goes by", {}),
    ("read_review", {}),
    ("book_visit", {"id": "id-of-the-booking"}),
    ("move_booking", {}),
    ("read_booking", {}),
    ("list_bookings", {}),
    ("list_notices", {}),
    ("mark_notice_seen", {}),
    ("close_booking", {}),
    ("read_anaesthetic", {}),
    ("read_secondary_lens", {}),
    ("take_break", {"id": "id-of-the-break"}),
    ("extend", {"id": "id-of-the-extension"}),
    ("preview_operation", {"digest": "digest-of-the-operation"}),
    ("sign_operation", {"id": "id-of-the-operation"}),
    ("read_operation", {}),
    ("list_operations", {}),
    ("pause", {"id": "id-of-the-pause"}),
    ("stop", {"id": "id-of-the-stop"}),
    ("read_messages", {}),
    ("remove_contact", {}),
    ("close_link", {}),
    ("close_nursery_link", {}),
    ("enter_lens_range", {"id": "id-of-the-range"}),
    ("read_lens_range", {}),
    ("list_lens_ranges", {}),
    ("change_lens_range", {"id": "id-of-the-newest-range"}),
    ("end_lens_range", {"id": "id-of-the-range-s-end"}),
    ("enter_near_table", {"id": "id-of-the-table"}),
    ("read_near_table", {}),
    ("list_near_tables", {}),
    ("read_clinic", {"digest": "digest-of-the-clinic"}),
    ("settle_clinic", {"digest": "digest-of-the-clinic-as-settled"}),
    ("enter_family_texts", {"id": "id-of-the-texts"}),
    ("list_family_texts", {}),
    ("enter_care_set", {"id": "id-of-the-set"}),
    ("read_care_set", {}),
    ("list_care_sets", {}),
    ("enter_protocol", {"id": "id-of-the-protocol"}),
    ("read_protocol", {}),
    ("list_protocols", {}),
    ("list_clinic_protocols", {}),
    ("change_protocol", {"id": "id-of-the-newest-protocol"}),
    ("end_protocol", {"id": "id-of-the-protocol-s-end"}),
    *((name.replace("-", "_"), {}) for name in BY_NAME),
    ("read_rules", {}),
    ("set_rules", {}),
    ("a child of five is measured", {}),
    ("list_atropine_schedules", {}),
    ("preview_atropine", {"digest": "digest-of-the-drops"}),
    ("sign_atropine", {"id": "id-of-the-drops"}),
)
BY_AN_ADMINISTRATOR = {
    *("enter_lens_range", "change_lens_range", "end_lens_range", "enter_near_table", "read_clinic", "settle_clinic", "set_rules"),
    *("enter_care_set", "enter_family_texts", "enter_protocol", "change_protocol", "end_protocol"),
}
WITHOUT_BODY = {"close_link", "close_nursery_link", "mark_notice_seen", "take_telling", "turn_reminders_off", "turn_reminders_on", "remove_contact"}


def measured_child_of_five(api: TestClient) -> str:
    eyes = {eye: {"status": "phakic"} for eye in ("right", "left")}
    child = REGISTRATION | {"reference": "C-2", "born_on": "2021-01-15", "aetiology": "strabismic", "eyes": eyes}
    child_id = made(api, "/api/children", child)["id"]
    readings = {"left": {"acuity": "6/15"}, "right": {"acuity": "6/6"}}
    made(api, f"/api/children/{child_id}/visits", {"on": "2026-03-10", "tests": [{"method": "crowded-hotv", "readings": readings}]})
    return str(child_id)


@pytest.fixture
def api(call) -> TestClient:
    return call(Role.CLINICIAN)


@pytest.fixture
def described(api: TestClient) -> dict[str, Any]:
    return api.get("/api/openapi.json").json()


def operations(described: dict[str, Any]) -> dict[str, tuple[str, str, dict[str, Any]]]:
    return {op["operationId"]: (method, path, op) for path, ops in described["paths"].items() for method, op in ops.items()}


def put_in(value: Any, known: dict[str, str]) -> Any:
    """`value` with every string that is a key of `known` replaced, at any depth."""
    if isinstance(value, dict):
        return {k: put_in(v, known) for k, v in value.items()}
    if isinstance(value, list):
        return [put_in(v, known) for v in value]
    return re.sub(r"od([fpn])_[\w-]{43}", r"od\1_secret", known.get(value, value)) if isinstance(value, str) else value


def address_in(path: str, known: dict[str, str]) -> str:
    """`path` with the ids of the story; a check is called by its number."""
    ids = {"check": "1", **{shown.removeprefix("id-of-the-"): real for shown, real in known.items()}}
    return re.sub(r"\{(\w+)_id\}", lambda part: ids.get(f"newest-{part[1]}") or ids[part[1]], path)


def noted(name: str, content: Any) -> dict[str, str]:
    """What the entries of a list are called that nobody made by the API."""
    if name == "list_wear":
        return {"id-of-the-entry": content["items"][0]["id"]}
    if name == "list_tellings":
        return {"id-of-the-telling": content["items"][0]["id"]}
    if name == "list_notices":
        return {f"id-of-the-notice{'' if n['to_signer'] else '-to-all'}": n["id"] for n in content["items"]}
    return {}


def write(path: Any, value: Any) -> None:
    """JSON in lines that can be read: broken between values."""
    lines, line = [], ""
    for chunk in json.JSONEncoder(ensure_ascii=False).iterencode(value):
        if len(line) + len(chunk) > 150 and line:
            lines, line = [*lines, line.rstrip()], ""
        line += chunk
    path.write_text("\n".join([*lines, line]) + "\n")


def in_media_type(op: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """The bodies an operation takes and gives when all goes well, by what they are."""
    found = [("request", op["requestBody"]["content"]["application/json"])] if "requestBody" in op else []
    answers = [r["content"]["application/json"] for status, r in op["responses"].items() if status < "300" and "content" in r]
    return found + [("answer", content) for content in answers]


def test_the_examples_are_what_the_service_answers(call, api: TestClient, described: dict[str, Any], visitor: TestClient, clock: StoppedClock) -> None:
    administrator = call(Role.ADMINISTRATOR)
    files = {path: json.loads(path.read_text()) for path in EXAMPLES.iterdir()}
    if os.environ.get("WRITE_EXAMPLES"):
        files[EXAMPLES / "calc.json"] = {name.replace("-", "_"): {"request": dict(c.example)} for name, c in BY_NAME.items()}
    examples = {name: example for content in files.values() for name, example in content.items()}
    known: dict[str, str] = {}  # what the examples call it -> what it is here
    phone = ""

    def a_week_goes_by() -> None:
        clock.at += timedelta(days=8)

    between: dict[str, Callable[[], Any]] = {  # what is not done by the API, or only to have somebody to do it for
        "family notes what was worn": lambda: note(visitor, phone, how="some", minutes="240"),
        "family tells the clinic": lambda: submit(visitor, f"{phone}/tell?none=yes", "no_signs", about="lens-lost", eye="left", text="In the bath."),
        "a week goes by": a_week_goes_by,
        "a child of five is measured": lambda: known.update({"id-of-the-newest-child": measured_child_of_five(api)}),
    }
    for name, firsts in STORY:
        if name in between:
            between[name]()
            continue
        method, path, op = operations(described)[name]
        body = put_in(examples[name].get("request"), known)
        address = address_in(path, known)
        answer = (administrator if name in BY_AN_ADMINISTRATOR else api).request(method, address, json=body, headers={"Idempotency-Key": name})
        assert answer.is_success and str(answer.status_code) in op["responses"], (name, answer.text)
        content = answer.json() if answer.content else None
        known |= {shown: content[key] for key, shown in firsts.items()} | noted(name, content)
        if name == "make_link":
            phone = content["phone"].removeprefix(PUBLIC_URL)
        if content is not None:
            shown = put_in(content, {real: placeholder for placeholder, real in known.items()})
            if os.environ.get("WRITE_EXAMPLES"):
                examples[name]["answer"] = shown
            assert examples[name].get("answer") == shown, f"{name}: if the service is right, WRITE_EXAMPLES=1 writes the example anew"
    assert {name for name, _ in STORY} >= set(operations(described)) == set(examples)
    if os.environ.get("WRITE_EXAMPLES"):
        for path, content in files.items():
            write(path, content)


def test_every_operation_is_described(described: dict[str, Any]) -> None:
    assert "Unversioned" in described["info"]["description"]
    found = operations(described)
    assert len(found) == sum(len(ops) for ops in described["paths"].values())
    for name, (method, path, op) in found.items():
        assert op["summary"] and name.isidentifier() and {"401", "422"} <= set(op["responses"]), path
        problem = [r for status, r in op["responses"].items() if status >= "400"]
        assert all(r["description"] and list(r["content"]) == ["application/problem+json"] for r in problem), path
        shown = in_media_type(op)
        assert ("request" in dict(shown)) is (method in ("put", "patch", "post") and name not in WITHOUT_BODY), path
        assert ("answer" in dict(shown)) is ("204" not in op["responses"]), path
        assert all("example" in content for _, content in shown), path
        if "201" in op["responses"]:
            assert [p["required"] for p in op["parameters"] if p["name"] == "Idempotency-Key"] == [True], path


def test_the_description_is_openapi_and_every_example_is_of_its_schema(described: dict[str, Any]) -> None:
    """By openapi-spec-validator and openapi-schema-validator, against the OpenAPI Initiative's own schema of version 3.1."""
    assert described["openapi"].startswith("3.1")
    assert [e.message for e in OpenAPIV31SpecValidator(described).iter_errors()] == []
    checked = 0
    for name, (_, _, op) in operations(described).items():
        for what, content in in_media_type(op):
            schema = content["schema"] | {"components": described["components"]}
            assert [e.message for e in OAS31Validator(schema).iter_errors(content["example"])] == [], (name, what)
            checked += 1
    assert checked > 40


def test_a_wrong_example_would_be_found(described: dict[str, Any]) -> None:
    _, _, op = operations(described)["record_visit"]
    schema = op["requestBody"]["content"]["application/json"]["schema"] | {"components": described["components"]}
    assert list(OAS31Validator(schema).iter_errors({"on": "2026-03-02", "mood": "good"}))


def test_the_description_speaks_of_every_clinic_alike(described: dict[str, Any], clinic: TestClinic) -> None:
    assert "clinic_id" not in json.dumps(described)
