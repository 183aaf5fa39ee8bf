"""A mail host on a given port: prints each mail it took as one JSON line."""
import json
import sys
from email import message_from_bytes
from email.policy import default

from aiosmtpd.controller import Controller


class Desk:
    async def handle_DATA(self, server, session, envelope):
        mail = message_from_bytes(envelope.content, policy=default)
        print(json.dumps({"to": envelope.rcpt_tos, "id": mail["Message-ID"]}), flush=True)
        return "250 taken"


controller = Controller(Desk(), hostname="127.0.0.1", port=int(sys.argv[1]))
controller.start()
sys.stdin.read()
controller.stop()
