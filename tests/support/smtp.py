"""A mail server (Debian's aiosmtpd) that does as it is told, for tests.

Prints one JSON object a line: first {"port": N}, then what happens, each with
"at": connect, rcpt, data (a whole message is there, not yet answered), done (it
has been answered). A message is read with Python's email package.

Reads one JSON object a line: {"rcpt": [...], "data": [...]} queue answers for the
next ones ("451 later"; "close": the connection ends without an answer);
{"hold": "data"} lets the next such thing wait, after it is told, until {"go": 1}.
What is not told otherwise is accepted.
"""
import asyncio
import email
import email.policy
import json
import sys

from aiosmtpd.smtp import SMTP

answers = {"rcpt": [], "data": []}
holds = set()
go = asyncio.Event()


def tell(at, **more):
    print(json.dumps({"at": at, **more}), flush=True)


async def hold(at):
    if at in holds:
        holds.discard(at)
        go.clear()
        await go.wait()


def read(content):
    mail = email.message_from_bytes(content, policy=email.policy.default)
    defects = [repr(one) for one in mail.defects]
    defects += [repr(one) for value in mail.values() for one in getattr(value, "defects", ())]
    if b"\n" in content.replace(b"\r\n", b"") or any(len(line) > 998 for line in content.split(b"\r\n")):
        defects.append("line ends or lengths")
    return {"fields": [[name, str(value)] for name, value in mail.items()], "text": mail.get_content(), "defects": defects}


class Handler:
    async def handle_RCPT(self, server, session, envelope, address, options):
        tell("rcpt", to=address)
        await hold("rcpt")
        answer = answers["rcpt"].pop(0) if answers["rcpt"] else "250 ok"
        if answer == "close":
            server.transport.abort()
        elif answer.startswith("250"):
            envelope.rcpt_tos.append(address)
        return answer

    async def handle_DATA(self, server, session, envelope):
        answer = answers["data"].pop(0) if answers["data"] else "250 taken"
        tell("data", sender=envelope.mail_from, to=envelope.rcpt_tos, answer=answer, **read(envelope.content))
        await hold("data")
        if answer == "close":
            server.transport.abort()
        return answer


class Watched(SMTP):
    def connection_made(self, transport):
        tell("connect")
        super().connection_made(transport)

    async def push(self, status):
        await super().push(status)
        if "250 taken" in str(status):
            tell("done")


async def main():
    loop = asyncio.get_running_loop()
    server = await loop.create_server(lambda: Watched(Handler(), hostname="mail.example.org"), "127.0.0.1", 0)
    print(json.dumps({"port": server.sockets[0].getsockname()[1]}), flush=True)
    reader = asyncio.StreamReader()
    await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(reader), sys.stdin)
    while line := await reader.readline():
        told = json.loads(line)
        for kind, queue in answers.items():
            queue.extend(told.get(kind, []))
        if "hold" in told:
            holds.add(told["hold"])
        if "go" in told:
            go.set()


asyncio.run(main())
