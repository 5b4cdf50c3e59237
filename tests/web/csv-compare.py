"""Reads what csv.c writes with Python's csv module (RFC 4180, strict).

Random fields full of commas, quotes, line ends and the beginnings of formulas:
every field comes back as it was, but for the apostrophe in front of what a
spreadsheet could take for a formula. Ends with "N passed, N failed".
"""
import csv
import io
import random
import subprocess
import sys

PIECES = ["a", "B-7", "7", ",", '"', "\n", "\r\n", "\r", "=", "+", "-", "@", "\t", " ", "'", "é", "½",
          "=cmd|' /C calc'!A0", ""]


def expected(field):
    return "'" + field if field[:1] in ("=", "+", "-", "@", "\t", "\r") and field else field


def main():
    rng = random.Random(4180)
    rows = [["".join(rng.choice(PIECES) for _ in range(rng.randint(0, 6)))
             for _ in range(rng.randint(2, 8))] for _ in range(2000)]
    sent = b""
    for row in rows:
        sent += f"{len(row)}\n".encode()
        for field in row:
            raw = field.encode()
            sent += f"{len(raw)}\n".encode() + raw
    table = subprocess.run([sys.argv[1]], input=sent, stdout=subprocess.PIPE, check=True).stdout
    read = list(csv.reader(io.StringIO(table.decode(), newline=""), strict=True))
    failed = abs(len(read) - len(rows))
    for row, back in zip(rows, read):
        if [expected(field) for field in row] != back:
            failed += 1
            print(f"{row!r} came back as {back!r}")
    print(f"{len(rows) - min(failed, len(rows))} passed, {failed} failed")
    return 1 if failed else 0


sys.exit(main())
