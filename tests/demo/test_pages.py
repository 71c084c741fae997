"""What the pages show of the demo's eight children."""

import re
from html import unescape

import pytest
from starlette.testclient import TestClient

from service.views.case import Case
from tests.demo.conftest import TOKENS

SHOWN_ON_PAGES = {  # what stands in the child's line of the caseload, and on its review page
    "Juno": ("6 h , right eye covered in 14 days", "Proposed: continue by the age rule"),
    "Odile": ("none; no amblyopic eye none set", "No patch has been prescribed yet."),
    "Milo": ("2 h , right eye covered in 5 days", "Proposed: continue the dose."),
    "Tessa": ("6 h , left eye covered in 2 days", "Proposed: continue the dose."),
    "Ari": ("refractive adaptation in 1 day", "Proposed: continue with glasses alone."),
    "Kezia": ("2 h , right eye covered in 35 days", "Proposed: continue the dose."),
    "Bram": ("2 h , left eye covered in 7 days", "Little is worn"),
    "Runar": ("6 h , right eye covered in 6 days", "Proposed: pause the patch and re-examine the fellow eye"),
}


@pytest.mark.parametrize("name", SHOWN_ON_PAGES)
def test_caseload_and_review_page_show_what_the_story_is_for(clinician: TestClient, cases: dict[str, Case], name: str) -> None:
    line, proposal = SHOWN_ON_PAGES[name]
    row = next(row for row in clinician.get("/").text.split("<tr>") if f">{name}<" in row)
    assert line in words_of(row)
    assert proposal in words_of(clinician.get(f"/children/{cases[name].child.public_id}/review").text)
    assert clinician.get(f"/children/{cases[name].child.public_id}/occlusion").status_code == 200


def words_of(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_what_a_review_would_act_on_stands_on_the_caseload_and_beside_the_plan(clinician: TestClient, cases: dict[str, Case]) -> None:
    runar, milo = (f"/children/{cases[name].child.public_id}" for name in ("Runar", "Milo"))
    assert clinician.get("/").text.count("Fellow eye worse by") == 1
    assert "To act on before signing hours" in clinician.get(f"{runar}/occlusion").text
    assert "To act on before signing hours" not in clinician.get(f"{milo}/occlusion").text
    first = re.compile(r'class="button (\w+)" href="[^"]*decision=continue"')
    assert first.findall(clinician.get(f"{runar}/review").text) == ["secondary"]
    assert first.findall(clinician.get(f"{milo}/review").text) == ["primary"]


def test_why_the_patch_was_not_worn_stands_on_the_review_in_days(clinician: TestClient, cases: dict[str, Case]) -> None:
    page = clinician.get(f"/children/{cases['Bram'].child.public_id}/review").text
    assert re.search(r"Why not, as families said</dt><dd>did not want it \(\d+ days\)", page)


def test_a_family_with_glasses_alone_sees_how_its_days_of_glasses_went(clinician: TestClient) -> None:
    page = clinician.get(f"/family/{TOKENS.link('adapting')[1]}").text
    assert "nothing planned" not in page and "glasses or lens on" in page
