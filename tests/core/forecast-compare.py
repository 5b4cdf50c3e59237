#!/usr/bin/python3
"""Holds forecasts against SciPy (Debian: python3-scipy): linregress for the line,
t.ppf for Student's t, and the prediction interval found by searching day by day
instead of by the quadratic that the program solves. Ends with "N passed, N failed".

    forecast-compare.py PATH-OF-forecast_tool
"""
import math
import random
import subprocess
import sys

from scipy.stats import linregress, t

TOOL = sys.argv[1]
FEW, NO_USE, FAR, TOLD = range(4)
CERTAINTY, FAREST = 0.90, 36525
passed = failed = 0


def check(fine, *words):
    global passed, failed
    if fine:
        passed += 1
    else:
        failed += 1
        print(*words)


def ask(lines):
    done = subprocess.run([TOOL], input="\n".join(lines) + "\n", text=True,
                          capture_output=True, check=True)
    return done.stdout.split("\n")


# ---- Student's t
asked = [(c, f) for c in (0.5, 0.8, 0.9, 0.95, 0.99) for f in list(range(1, 41)) + [60, 120, 999]]
for (c, f), said in zip(asked, ask([f"t {c} {f}" for c, f in asked])):
    check(math.isclose(float(said), t.ppf((1 + c) / 2, f), rel_tol=1e-8), "t", c, f, said)


# ---- lines
def make_case(rng):
    n = rng.choice([3, 4, 5, 8, 20, 60])
    day, total, rows = rng.randrange(15000, 20000), rng.randrange(0, 50000), []
    for _ in range(n):
        rows.append((day, total))
        day += rng.choice([1, 7, 30, rng.randrange(1, 90)])
        total += rng.choice([0, rng.randrange(0, 300), rng.randrange(0, 2500)])
    return rows[-1][1] + rng.randrange(0, 10000), rows


def inside(line, n, mean, sxx, s, q, limit, x):
    """Is the limit inside the prediction interval of the line at day x?"""
    spread = q * s * math.sqrt(1 + 1 / n + (x - mean) ** 2 / sxx)
    return abs(line.intercept + line.slope * x - limit) <= spread


def compare(limit, rows, said):
    state, rise, day, earliest, latest = said.split()
    state, day = int(state), int(day)
    x, y = [r[0] for r in rows], [r[1] for r in rows]
    line = linregress(x, y)
    n, mean = len(x), sum(x) / len(x)
    check(math.isclose(float(rise), line.slope, rel_tol=1e-6, abs_tol=1e-9), "rise", rows, said)
    if line.slope <= 0:
        check(state == NO_USE, "no use", rows, said)
        return
    meets = (limit - line.intercept) / line.slope
    if abs(meets - x[-1]) > FAREST:
        check(state == FAR, "far", rows, said)
        return
    check(state == TOLD and abs(day - meets) <= 1.001, "day", rows, meets, said)
    sxx = sum((a - mean) ** 2 for a in x)
    rest = sum((b - line.intercept - line.slope * a) ** 2 for a, b in zip(x, y))
    s, q = math.sqrt(rest / (n - 2)), t.ppf((1 + CERTAINTY) / 2, n - 2)
    where = lambda d: inside(line, n, mean, sxx, s, q, limit, d)
    if earliest != "-":
        e = int(earliest)
        check(where(e + 1.01) or e + 1 >= meets, "earliest", rows, limit, said)
        check(not where(e - 0.5), "before earliest", rows, limit, said)
    if latest != "-":
        last = int(latest)
        check(where(last - 0.01) or last <= meets, "latest", rows, limit, said)
        check(not where(last + 1.5), "after latest", rows, limit, said)
    if earliest == "-" and latest == "-":
        # the rise is lost in the scatter, or both ends lie too far
        lost = line.slope ** 2 <= q * q * s * s / sxx * 1.0001
        check(lost or not (where(x[-1] + FAREST) is False and where(x[-1] - FAREST) is False),
              "no end", rows, limit, said)


rng = random.Random(20261125)
cases = [make_case(rng) for _ in range(1500)]
lines = [f"{limit} {len(rows)} " + " ".join(f"{d} {v}" for d, v in rows) for limit, rows in cases]
for (limit, rows), said in zip(cases, ask(lines)):
    compare(limit, rows, said)

# ---- the worked example of linregress's own kind: a perfect line has no spread
said = ask(["12000 3 0 0 10 1000 20 2000"])[0].split()
check(said == ["3", "100", "120", "120", "120"], "perfect line", said)
check(ask(["12000 2 0 0 10 1000"])[0].split()[0] == str(FEW), "two entries")
check(ask(["12000 3 5 0 5 1000 5 1100"])[0].split()[0] == str(FEW), "one day")
check(ask(["12000 3 5 70 6 70 7 70"])[0].split()[0] == str(NO_USE), "no use")
check(ask(["99999999 3 5 70 1006 71 2007 72"])[0].split()[0] == str(FAR), "far")

print(f"{passed} passed, {failed} failed")
sys.exit(failed > 0)
