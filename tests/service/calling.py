"""Ways to call the API as a person with a token."""

import json
from collections.abc import Iterator
from itertools import count
from typing import Any

from starlette.testclient import TestClient

REGISTRATION = {
    "reference": "C-1",
    "short_name": "Ada",
    "born_on": "2025-10-02",
    "time_zone": "Europe/Lisbon",
    "aetiology": "deprivation",
    "amblyopic_eye": "left",
    "eyes": {"right": {"status": "phakic"}, "left": {"status": "aphakic", "surgery_on": "2025-12-04"}},
}
VISIT = {
    "on": "2026-03-02",
    "tests": [{"method": "grating-cards", "readings": {"left": {"acuity": "1.2 cpd"}, "right": {"acuity": "4.8 cpd"}}}],
    "eyes": {
        "left": {"trial_lens_dioptres": 29, "over_refraction": {"sphere": 2.5, "cylinder": -1, "axis": 180}, "over_vertex_distance_mm": 12},
    },
}
LENS = {"kind": "contact-lens", "eyes": {"left": {"source": "trial-lens", "near_dioptres": 2}}}
EIGHT_WEEKS = {"phase": "occlusion", "start_on": "2026-03-02", "review_on": "2026-04-27", "covered_eye": "right", "missing_correction": "hold-and-ring"}
_keys = count(1)


def make(api: TestClient, address: str, body: Any, key: str | None = None) -> Any:
    """Posts something that is done once, under a key of its own unless one is named."""
    headers = {"Idempotency-Key": key or f"key-{next(_keys)}", "Content-Type": "application/json"}
    return api.post(address, content=json.dumps(body), headers=headers)


def made(api: TestClient, address: str, body: Any) -> Any:
    answer = make(api, address, body)
    assert answer.status_code == 201, (address, answer.text)
    return answer.json()


def recorded(api: TestClient, address: str, body: Any) -> Any:
    """A visit, its questions answered by whoever typed it."""
    answer = make(api, address, body)
    if answer.status_code == 409:
        answer = make(api, address, body | {"as_typed": answer.json()["as_typed"]})
    assert answer.status_code == 201, (address, answer.text)
    return answer.json()


def walk(api: TestClient, address: str, limit: int) -> Iterator[list[Any]]:
    """The pages of a list, one after another."""
    after = None
    while True:
        answer = api.get(address, params={"limit": limit} | ({"after": after} if after else {}))
        assert answer.status_code == 200, answer.text
        yield answer.json()["items"]
        after = answer.json()["next"]
        if after is None:
            return
