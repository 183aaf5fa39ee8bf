"""A mail host for one test: says its port, then each mail it took as one JSON line.

It refuses mailboxes that begin with "refused", is too busy for those that begin with "busy", and with a certificate
and a key as arguments it wants STARTTLS first.
"""
import json
import ssl
import sys
import time

from aiosmtpd.controller import Controller


class Desk:
    async def handle_RCPT(self, server, session, envelope, address, options):
        if address.startswith("refused"):
            return "550 no such mailbox"
        if address.startswith("busy"):
            return "451 too busy"
        envelope.rcpt_tos.append(address)
        return "250 fine"

    async def handle_DATA(self, server, session, envelope):
        mail = {
            "from": envelope.mail_from,
            "to": envelope.rcpt_tos,
            "tls": session.ssl is not None,
            "mail": envelope.content.decode("utf-8", "replace"),
        }
        print(json.dumps(mail), flush=True)
        return "250 taken"


options = {}
if len(sys.argv) == 3:
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(sys.argv[1], sys.argv[2])
    options = {"tls_context": context, "require_starttls": True}


class AnyPort(Controller):
    def _trigger_server(self):
        # The controller tries the port it was given; we let the system choose, so ask for the one it chose.
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


controller = AnyPort(Desk(), hostname="127.0.0.1", port=0, **options)
controller.start()
print(json.dumps({"port": controller.port}), flush=True)
sys.stdin.read()
controller.stop()
