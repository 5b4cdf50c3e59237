"""Reads mails that mail_text.c writes with Python's email package (RFC 5322,
2045, 2047): no defects, and name, subject and body come back as they were, but
for control characters, which become blanks. Ends with "N passed, N failed".
"""
import email
import email.header
import email.policy
import random
import re
import subprocess
import sys

PIECES = ["a", "Word", "HF-SB-12", " ", " ", "=", "?", "=?", "?=", "_", '"', "\\", "<", ">", "@", ",", ";", ":", ".",
          "(", ")", "é", "½", "€", "日本", "\U0001F6E9", "\t", "\r\n", "\n", "\r", "\x00"[:0], "\x01", "\x7f", "\x85",
          "Bcc: x@example.org", "From ", "--", "=20", "x" * 90]


def text(rng, most):
    return "".join(rng.choice(PIECES) for _ in range(rng.randint(1, most)))


def shown(words):
    """A field: every control character is one blank."""
    return re.sub(r"[\x00-\x1f\x7f]", " ", words)


def lines(body):
    body = body.replace("\r\n", "\n").replace("\n", "\r\n")
    body = re.sub(r"(?:\r(?!\n))|[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", " ", body).replace("\r\n", "\n")
    return body if not body or body.endswith("\n") else body + "\n"


def check(raw, name, subject, body):
    """What is wrong with one mail, in words; None when nothing is."""
    if any(len(line) > 998 for line in raw.split(b"\r\n")):  # RFC 5322 section 2.1.1
        return "a line is too long"
    if re.search(rb"(?<!\r)\n|\r(?!\n)|[^\r\n\t -~]", raw):
        return "bytes that are no line ends or not ASCII"
    mail = email.message_from_bytes(raw, policy=email.policy.default)
    if mail.defects or any(getattr(value, "defects", ()) for value in mail.values()):
        return f"defects: {mail.defects} {[(n, v.defects) for n, v in mail.items() if v.defects]}"
    wanted = ["Date", "From", "To", "Subject", "Message-ID", "Auto-Submitted", "List-Unsubscribe",
              "List-Unsubscribe-Post", "MIME-Version", "Content-Type", "Content-Transfer-Encoding"]
    if mail.keys() != wanted:
        return f"fields {mail.keys()}"
    sender = mail["From"].addresses
    if len(sender) != 1 or sender[0].addr_spec != "box@example.org":
        return f"from {sender}"
    # display_name of Python 3.11 keeps the blank between two encoded words, which
    # RFC 2047 section 6.2 takes out; its older decoder does not.
    field = email.message_from_bytes(raw)["From"]
    read = str(email.header.make_header(email.header.decode_header(field)))
    if read.removesuffix("<box@example.org>").rstrip(" \r\n") != shown(name).rstrip(" "):
        return f"name {read!r}"
    if str(mail["Subject"]) != shown(subject):
        return f"subject {str(mail['Subject'])!r}"
    if mail.get_content().replace("\r\n", "\n") != lines(body):
        return f"body {mail.get_content()!r}"
    return None


def main():
    rng = random.Random(5322)
    mails = [(text(rng, 8), text(rng, 12), text(rng, 60)) for _ in range(3000)]
    sent = b"".join(f"{len(field.encode())}\n".encode() + field.encode() for mail in mails for field in mail)
    out = subprocess.run([sys.argv[1]], input=sent, stdout=subprocess.PIPE, check=True).stdout
    passed = failed = 0
    for mail in mails:
        size, _, out = out.partition(b"\n")
        raw, out = out[:int(size)], out[int(size):]
        wrong = check(raw, *mail)
        if wrong:
            failed += 1
            if failed < 6:
                print(f"{mail!r}: {wrong}")
        else:
            passed += 1
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or out else 0


sys.exit(main())
