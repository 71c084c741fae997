"""E-mail over SMTP to a real server (aiosmtpd), read back with the parser of the standard library; text messages to a gateway that checks the signature."""

import asyncio
import email
import hashlib
import hmac
import json
from dataclasses import dataclass, field
from datetime import UTC, datetime
from email import policy
from email.message import EmailMessage
from typing import Any

import httpx2
import pytest
from aiosmtpd.smtp import SMTP

from service.facts_of_messages import ChannelName, Contact
from service.messages.channel import ChannelError, Outgoing, PermanentFailureError, TemporaryFailureError
from service.messages.email import EmailChannel
from service.messages.text_message import TextMessageChannel

NOW = datetime(2026, 3, 10, 9, 0, tzinfo=UTC)
OFF = f"https://a-clinic-of-a-long-name.hospital.example/reminders-off/{'l' * 12}/{'c' * 12}/{'f' * 32}"  # longer than a line of mail
LINK = "https://clinic.example/day/x/2026-03-10/y"
TEXT = "«time»: 2 h from 15:30, ٢ ساعة"


def message(address: str = "home@family.example", channel: ChannelName = ChannelName.EMAIL) -> Outgoing:
    contact = Contact(1, "c", 1, channel, address, {}, NOW, None, None, None)
    html = f'<p>{TEXT}</p><p><a href="{LINK}">page</a></p>'
    return Outgoing("k" * 32, contact, "en", "time", "A reminder", TEXT, html, LINK, OFF, NOW, 1800)


@dataclass
class MailServer:
    """Answers as it is told; `taken` are the envelopes with what came in them."""

    answers: dict[str, str] = field(default_factory=dict)
    taken: list[tuple[str, list[str], bytes]] = field(default_factory=list)

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:  # noqa: N802  # as aiosmtpd calls it
        if answer := self.answers.get(address):
            return answer
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802
        if answer := self.answers.get("DATA"):
            return answer
        self.taken.append((envelope.mail_from, envelope.rcpt_tos, envelope.content))
        return "250 OK"


def send(server: MailServer, *messages: Outgoing) -> None:
    async def there_and_back() -> None:
        listening = await asyncio.get_running_loop().create_server(lambda: SMTP(server, hostname="test", enable_SMTPUTF8=True), "127.0.0.1", 0)
        port = listening.sockets[0].getsockname()[1]
        try:
            for m in messages:
                await EmailChannel(f"smtp://127.0.0.1:{port}", "reminders@clinic.example", "clinic.example").send(m)
        finally:
            listening.close()

    asyncio.run(there_and_back())


def read(raw: bytes) -> EmailMessage:
    parsed = email.message_from_bytes(raw, policy=policy.default)
    assert isinstance(parsed, EmailMessage) and not parsed.defects
    return parsed


def test_a_mail_arrives_as_text_and_html_with_a_neutral_subject_and_one_click_to_end_it() -> None:
    server = MailServer()
    send(server, message())
    [(sender, recipients, raw)] = server.taken
    mail = read(raw)
    assert (sender, recipients) == ("reminders@clinic.example", ["home@family.example"])
    assert (mail["From"], mail["To"], mail["Subject"]) == ("reminders@clinic.example", "home@family.example", "A reminder")
    assert mail["Message-ID"] == f"<{'k' * 32}@clinic.example>" and mail["Date"].datetime == NOW
    assert (mail["List-Unsubscribe"], mail["List-Unsubscribe-Post"]) == (f"<{OFF}>", "List-Unsubscribe=One-Click"), "RFC 8058 section 3.1"
    assert f"<{OFF}>".encode() in raw, "in clear, however long: other programs than this parser read it too"
    assert mail["Auto-Submitted"] == "auto-generated" and mail.get_content_type() == "multipart/alternative"
    plain, html = mail.get_body(("plain",)), mail.get_body(("html",))
    assert plain and plain.get_content().replace("\r\n", "\n") == f"{TEXT}\n\n{LINK}\n"
    assert html and TEXT in html.get_content() and f'href="{LINK}"' in html.get_content()
    assert "<img" not in html.get_content(), "nothing tells that it was opened"


def test_the_same_message_sent_again_carries_the_same_id() -> None:
    server = MailServer()
    send(server, message(), message())
    assert len({read(raw)["Message-ID"] for _, _, raw in server.taken}) == 1 and len(server.taken) == 2


@pytest.mark.parametrize(
    ("where", "answer", "kind", "of_address"),
    [
        ("home@family.example", "550 no such mailbox", PermanentFailureError, True),
        ("home@family.example", "450 come back later", TemporaryFailureError, False),
        ("DATA", "554 we do not like it", PermanentFailureError, False),
        ("DATA", "451 the disk is full", TemporaryFailureError, False),
    ],
)
def test_a_refusal_for_good_is_told_from_one_for_now_and_of_the_address_from_of_the_message(
    where: str, answer: str, kind: type[ChannelError], of_address: bool
) -> None:
    with pytest.raises(kind) as failed:
        send(MailServer({where: answer}), message())
    assert getattr(failed.value, "of_address", False) is of_address
    assert "mailbox" not in failed.value.kind and "@" not in failed.value.kind, "what is kept is a class"


def test_a_server_that_is_not_there_is_tried_again() -> None:
    with pytest.raises(TemporaryFailureError, match="no-connection"):
        asyncio.run(EmailChannel("smtp://127.0.0.1:1", "reminders@clinic.example", "clinic.example").send(message()))


def test_a_server_elsewhere_that_offers_no_encryption_is_given_nothing(monkeypatch) -> None:
    monkeypatch.setattr("service.messages.email.LOCAL_HOSTS", ())  # this machine counts as another
    server = MailServer()
    with pytest.raises(TemporaryFailureError):
        send(server, message())
    assert server.taken == []


def gateway(status: int, got: list[httpx2.Request]) -> TextMessageChannel:
    def take(request: httpx2.Request) -> httpx2.Response:
        got.append(request)
        return httpx2.Response(status)

    return TextMessageChannel("https://texts.example/send", "s" * 32, httpx2.MockTransport(take))


def test_a_text_message_is_signed_over_its_time_and_its_body() -> None:
    got: list[httpx2.Request] = []
    asyncio.run(gateway(202, got).send(message("+441632960117", ChannelName.TEXT_MESSAGE)))
    [request] = got
    expected = hmac.new(b"s" * 32, request.headers["x-timestamp"].encode() + b"." + request.content, hashlib.sha256).hexdigest()
    assert request.method == "POST" and request.headers["x-signature"] == expected and int(request.headers["x-timestamp"]) == NOW.timestamp()
    assert json.loads(request.content) == {"id": "k" * 32, "to": "+441632960117", "text": f"{TEXT}\n{LINK}", "valid_seconds": 1800}


@pytest.mark.parametrize(
    ("status", "kind"),
    [(status, PermanentFailureError) for status in (400, 410, 422)] + [(status, TemporaryFailureError) for status in (301, 401, 403, 404, 429, 503)],
)
def test_what_a_gateway_refuses_for_good_is_told_from_what_it_refuses_for_now(status: int, kind: type[ChannelError]) -> None:
    with pytest.raises(kind):
        asyncio.run(gateway(status, []).send(message("+441632960117", ChannelName.TEXT_MESSAGE)))
