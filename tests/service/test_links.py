"""The page that shows a new link's addresses once: as links, as text, and as codes that another program's decoder reads."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from service.facts import Child, Role
from service.views.link_made import qr_code
from tests.service.conftest import PUBLIC_URL
from tests.service.pages import submit
from tests.zbar import read_codes

PIXELS = 4  # a module's side in the pictures made here
QUIET = 4  # modules of white around a code, as ISO/IEC 18004 asks (from memory)


@dataclass
class _Page(HTMLParser):
    links: list[tuple[str, str]] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    tags: list[tuple[str, dict[str, str | None]]] = field(default_factory=list)
    _open: str | None = None

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.tags.append((tag, found))
        if tag == "a":
            self.links.append((found["href"] or "", ""))
            self._open = tag
        if found.get("role") == "img" and found.get("aria-label"):
            self.names.append(found["aria-label"] or "")

    def handle_data(self, data: str) -> None:
        if self._open:
            address, text = self.links[-1]
            self.links[-1] = (address, text + data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "a":
            self._open = None


def picture(svg: str, path: Path) -> Path:
    """The code as a phone sees it, drawn without the library: a stroke one module high for each run of `h` in its path."""
    side = int(re.search(r'viewBox="0 0 (\d+) \1"', svg).group(1))  # type: ignore[union-attr]
    assert f'fill="#fff" d="M0 0h{side}v{side}h-{side}z"' in svg, "white under all of it"
    rows = [bytearray(b"\xff" * side) for _ in range(side)]
    drawn = re.search(r'stroke="#000" d="([^"]+)"', svg).group(1)  # type: ignore[union-attr]
    x = y = 0.0
    for command, first, second in re.findall(r"([Mmh])(-?[\d.]+)(?:[ ,]?(-?[\d.]+))?", drawn):
        if command == "h":
            rows[int(y)][int(x) : int(x + float(first))] = b"\x00" * int(first)
            x += float(first)
        else:
            x, y = (float(first), float(second)) if command == "M" else (x + float(first), y + float(second))
    dark = [(n, m) for n, row in enumerate(rows) for m, value in enumerate(row) if not value]
    assert min(min(place) for place in dark) == QUIET and max(max(place) for place in dark) == side - QUIET - 1
    lines = b"".join(b"".join(bytes([value]) * PIXELS for value in row) * PIXELS for row in rows)
    path.write_bytes(b"P5 %d %d 255\n" % (side * PIXELS, side * PIXELS) + lines)
    return path


@pytest.fixture
def made(signed_in, sam: Child) -> str:
    answer = submit(signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/links", "caregiver", caregiver="Mother, phone", label="time")
    assert answer.status_code == 200 and answer.headers["cache-control"] == "no-store"
    return answer.text


def addresses(html: str) -> list[str]:
    page = _Page()
    page.feed(html)
    found = [(to, text) for to, text in page.links if not to.startswith(("/", "#"))]
    assert [to for to, _ in found] == [text for _, text in found], "each can be tapped, and read and copied as it is"
    return [to for to, _ in found]


def test_all_three_addresses_can_be_tapped_and_lead_there(made: str, visitor: TestClient) -> None:
    phone, https, webcal = addresses(made)
    assert phone.startswith(f"{PUBLIC_URL}/family/odp_") and https.startswith(f"{PUBLIC_URL}/feed/odf_")
    assert webcal == "webcal" + https.removeprefix("https")
    assert visitor.get(phone).status_code == visitor.get(https).status_code == 200


def test_another_decoder_reads_the_addresses_back(made: str, tmp_path: Path) -> None:
    phone, _, webcal = addresses(made)
    codes = re.findall(r"<svg.*?</svg>", made, re.DOTALL)
    assert [read_codes(picture(svg, tmp_path / f"{n}.pgm")) for n, svg in enumerate(codes)] == [[phone], [webcal]]


@pytest.mark.parametrize("address", ["https://a.example/family/odp_" + "x" * 43, "webcal://" + "long-name." * 12 + "example:8443/feed/odf_-_-/plan.ics"])
def test_short_and_long_addresses_are_read_back(address: str, tmp_path: Path) -> None:
    assert read_codes(picture(qr_code(address), tmp_path / "code.pgm")) == [address]


def test_each_code_has_a_name_and_asks_nothing_of_the_pages_policy(made: str) -> None:
    page = _Page()
    page.feed(made)
    assert page.names == ["QR code: page for the phone", "QR code: calendar"]
    assert [tag for tag, attributes in page.tags if tag in ("script", "style") or "style" in attributes] == []


def test_a_code_is_never_drawn_again(made: str, signed_in, sam: Child) -> None:
    again = signed_in(Role.ORTHOPTIST).get(f"/children/{sam.public_id}/links").text
    assert "Mother, phone" in again and "<svg" not in again and "/family/od" not in again
