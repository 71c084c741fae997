"""Web Push over TLS to a service on this machine, decrypted as RFC 8291 says and its signature checked (RFC 8292) by code that is not ours."""

import asyncio
import socket
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from service.facts_of_messages import ChannelName, Contact
from service.messages.channel import ChannelError, GoneError, Outgoing, PermanentFailureError, TemporaryFailureError
from service.messages.web_push import WebPushChannel, new_private_key, public_key, resolve
from tests.clients.push_service import HOST, PUBLIC, Device, PushService, running_push_service

KEY = new_private_key()
NOW = datetime(2026, 3, 10, 9, 0, tzinfo=UTC)


async def at_public(_: str) -> list[str]:
    return [PUBLIC]


@pytest.fixture
def service(tmp_path: Path) -> Iterator[PushService]:
    with running_push_service(tmp_path) as service:
        yield service


@pytest.fixture
def channel(service: PushService) -> WebPushChannel:
    return WebPushChannel(KEY, "push@clinic.example", at_public, service.transport)


def message(device: Device, endpoint: str = f"https://{HOST}/send/abc", text: str = "time: 2 h from 15:30.") -> Outgoing:
    contact = Contact(1, "c", 1, ChannelName.WEB_PUSH, endpoint, device.keys, NOW, None, None, None)
    link = "https://clinic.example/day/x/2026-03-10/y"
    return Outgoing("k" * 32, contact, "en", "time", "A reminder", text, "<p>", link, "https://clinic.example/off", NOW, 1800)


def test_a_device_reads_what_was_meant_for_it_and_the_signature_is_the_clinics(service: PushService, channel: WebPushChannel) -> None:
    device = Device()
    asyncio.run(channel.send(message(device, text="«time»: 2 h, ٢ ساعة")))
    [(path, headers, body)] = service.requests
    assert path == "/send/abc" and headers["host"] == HOST and headers["content-encoding"] == "aes128gcm"
    assert (headers["ttl"], headers["topic"]) == ("1800", "k" * 32), "it ends when nobody should be told any more; a second one takes its place"
    read = device.read(headers, body)
    assert read["body"] == {
        "title": "time",
        "body": "«time»: 2 h, ٢ ساعة",
        "url": "https://clinic.example/day/x/2026-03-10/y",
        "tag": "k" * 32,
        "lang": "en",
    }
    assert read["signed"] is True and read["key"] == public_key(KEY) and read["head"]["alg"] == "ES256"
    assert read["claims"]["aud"] == f"https://{HOST}" and read["claims"]["sub"] == "mailto:push@clinic.example"
    assert b"clinic.example" not in body


def test_no_other_device_can_read_it(service: PushService, channel: WebPushChannel) -> None:
    asyncio.run(channel.send(message(Device())))
    [(_, headers, body)] = service.requests
    with pytest.raises(AssertionError):
        Device().read(headers, body)


@pytest.mark.parametrize(
    ("status", "kind"),
    [
        (404, GoneError),
        (410, GoneError),
        (429, TemporaryFailureError),
        (500, TemporaryFailureError),
        (503, TemporaryFailureError),
        (400, PermanentFailureError),
        (403, PermanentFailureError),
        (413, PermanentFailureError),
        (302, PermanentFailureError),  # never followed: it could lead anywhere
    ],
)
def test_each_answer_is_told_apart(service: PushService, channel: WebPushChannel, status: int, kind: type[ChannelError]) -> None:
    service.statuses.append(status)
    with pytest.raises(kind):
        asyncio.run(channel.send(message(Device())))
    assert len(service.requests) == 1


@pytest.mark.parametrize(
    "found",
    [
        ["127.0.0.1"],
        ["10.1.2.3"],
        ["172.16.0.1"],
        ["192.168.1.1"],
        ["169.254.169.254"],
        ["100.64.0.1"],
        ["0.0.0.0"],
        ["::1"],
        ["fe80::1"],
        ["fd00::1"],
        ["::ffff:10.0.0.1"],
        ["2002:a00:1::"],
        ["64:ff9b::a00:1"],
        ["224.0.0.1"],
        [PUBLIC, "10.0.0.1"],
        [],
    ],
)
def test_a_host_that_leads_to_a_private_address_is_never_called(service: PushService, found: list[str]) -> None:
    async def rebound(_: str) -> list[str]:
        return found

    with pytest.raises(PermanentFailureError, match="not-public"):
        asyncio.run(WebPushChannel(KEY, "push@clinic.example", rebound, service.transport).send(message(Device())))
    assert service.requests == []


def test_a_stored_address_that_is_not_public_is_never_called_nor_a_certificate_of_another_host_taken(service: PushService, channel: WebPushChannel) -> None:
    with pytest.raises(PermanentFailureError, match="not-public"):
        asyncio.run(channel.send(message(Device(), "https://127.0.0.1/x")))
    with pytest.raises(TemporaryFailureError, match="no-connection"):
        asyncio.run(channel.send(message(Device(), "https://other.example/x")))
    assert service.requests == []


def test_the_machines_own_name_resolves_to_no_public_address() -> None:
    assert "127.0.0.1" in asyncio.run(resolve("localhost"))

    async def unknown(_: str) -> list[str]:
        raise socket.gaierror

    with pytest.raises(TemporaryFailureError):
        asyncio.run(replace(WebPushChannel(KEY, "push@clinic.example"), resolve=unknown).send(message(Device())))
