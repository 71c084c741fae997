"""E-mail: plain text and HTML, a neutral subject, one-click unsubscribing (RFC 8058)."""

from dataclasses import dataclass
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from urllib.parse import unquote, urlsplit

import aiosmtplib

from service.facts_of_messages import ChannelName, Contact
from service.messages.channel import SEND_WITHIN_SECONDS, Outgoing, PermanentFailureError, TemporaryFailureError

# Lines as long as mail may have: an address broken in two would be written in a code that mail programs do not read in List-Unsubscribe.
_WIRE = SMTP.clone(max_line_length=998, cte_type="7bit")
LOCAL_HOSTS = ("localhost", "127.0.0.1", "::1")


@dataclass(frozen=True)
class EmailChannel:
    """`smtp_url`: smtp:// begins in clear and must then turn to TLS, but for a server on this machine; smtps:// is TLS from the start."""

    smtp_url: str
    sender: str
    domain: str  # of Message-IDs
    name = ChannelName.EMAIL

    def reaches(self, contact: Contact) -> bool:
        return contact.channel is self.name and contact.reaches

    async def send(self, message: Outgoing) -> None:
        parts = urlsplit(self.smtp_url)
        secure, local = parts.scheme == "smtps", parts.hostname in LOCAL_HOSTS
        try:
            await aiosmtplib.send(
                self.mail(message).as_bytes(policy=_WIRE),
                sender=self.sender,
                recipients=[message.to.address],
                hostname=parts.hostname,
                port=parts.port or (465 if secure else 587),
                username=unquote(parts.username) if parts.username else None,
                password=unquote(parts.password) if parts.password else None,
                use_tls=secure,
                start_tls=None if secure or local else True,
                timeout=SEND_WITHIN_SECONDS,
            )
        except aiosmtplib.SMTPRecipientsRefused as e:
            raise _failure(e.recipients[0].code, "address-refused") from None
        except aiosmtplib.SMTPAuthenticationError:
            raise TemporaryFailureError("sign-in-refused") from None  # the clinic's own server: no fault of the address
        except aiosmtplib.SMTPResponseException as e:
            raise _failure(e.code, "message-refused") from None
        except (aiosmtplib.SMTPException, OSError, ValueError):
            raise TemporaryFailureError("no-connection") from None

    def mail(self, message: Outgoing) -> EmailMessage:
        mail = EmailMessage()
        mail["From"], mail["To"], mail["Subject"] = self.sender, message.to.address, message.subject
        mail["Date"] = format_datetime(message.sent_at, usegmt=True)
        mail["Message-ID"] = f"<{message.key}@{self.domain}>"
        mail["List-Unsubscribe"] = f"<{message.off_link}>"
        mail["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
        mail["Auto-Submitted"] = "auto-generated"
        mail["Content-Language"] = message.language
        mail.set_content(f"{message.text}\n\n{message.link}\n")
        mail.add_alternative(message.html, subtype="html")
        return mail


def _failure(code: int, kind: str) -> TemporaryFailureError | PermanentFailureError:
    return PermanentFailureError(kind, of_address=kind == "address-refused") if code >= 500 else TemporaryFailureError(f"{kind}-for-now")
