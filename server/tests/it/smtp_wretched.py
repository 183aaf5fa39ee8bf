"""A mail host nobody would choose: slow, too busy, hanging up before or after it took a mail, and away for a while.

Says its port, then for every mail it took one JSON line with what Python's own mail parser reads in it. With `kind` as
its argument it is a good host and only reads, with `quick` a good host that does not read either and only says which mail it was.
"""
import json
import random
import sys
import time
from email import message_from_bytes, policy

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP

QUICK = sys.argv[1:] == ["quick"]
KIND = QUICK or sys.argv[1:] == ["kind"]
dice = random.Random(20261125)
taken = 0
calm = True
away_until = 0.0


def chance(percent):
    return not (KIND or calm) and dice.random() * 100 < percent


def read(content):
    mail = message_from_bytes(content, policy=policy.default)
    parts = [part for part in mail.walk() if not part.is_multipart()]
    calendars = [part.get_content() for part in parts if part.get_content_type() == "text/calendar"]
    for text in calendars:
        import icalendar

        events = [event for event in icalendar.Calendar.from_ical(text).walk("VEVENT")]
        assert events and all("UID" in event and "DTSTART" in event and "SUMMARY" in event for event in events)
    return {
        "id": str(mail["Message-ID"]),
        "subject": str(mail["Subject"]),
        "to": str(mail["To"]),
        "date": mail["Date"].datetime.isoformat() if mail["Date"] else None,
        "auto": str(mail["Auto-Submitted"]),
        "unsubscribe": str(mail["List-Unsubscribe"] or ""),
        "one_click": str(mail["List-Unsubscribe-Post"] or ""),
        "types": [part.get_content_type() for part in parts],
        "text": mail.get_body(("plain",)).get_content(),
        "html": mail.get_body(("html",)).get_content(),
        "defects": [repr(defect) for part in mail.walk() for defect in part.defects],
        "calendars": len(calendars),
        "longest": max(len(line) for line in content.split(b"\r\n")),
    }


class Desk:
    async def handle_RCPT(self, server, session, envelope, address, options):
        if address.startswith("refused"):
            return "550 no such mailbox"
        if chance(8):
            return "451 too busy"
        envelope.rcpt_tos.append(address)
        return "250 fine"

    async def handle_DATA(self, server, session, envelope):
        global taken, away_until
        if chance(40):
            time.sleep(dice.random() * 0.02)
        if chance(5):
            server.transport.abort()
            return "421 gone"
        taken += 1
        id = envelope.content.partition(b"Message-ID: ")[2].split(b"\r\n")[0].decode()
        print(json.dumps({"id": id} if QUICK else read(envelope.content)), flush=True)
        if not KIND and taken % 37 == 0:
            away_until = time.monotonic() + 0.3
        if chance(5):
            # Taken, but the word never reaches the sender: it will send it again.
            server.transport.abort()
            return "421 gone"
        return "250 taken"


class Moody(SMTP):
    def connection_made(self, transport):
        if time.monotonic() < away_until or chance(5):
            transport.abort()
            return
        super().connection_made(transport)

    def connection_lost(self, error):
        if getattr(self, "session", None) is not None:
            super().connection_lost(error)


class AnyPort(Controller):
    def factory(self):
        return Moody(self.handler, **self.SMTP_kwargs)

    def _trigger_server(self):
        # As in smtp_host.py; the controller then greets us once, with the good manners it waits for.
        global calm
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()
        calm = False


controller = AnyPort(Desk(), hostname="127.0.0.1", port=0)
controller.start()
print(json.dumps({"port": controller.port}), flush=True)
sys.stdin.read()
controller.stop()
