#!/usr/bin/python3
"""Holds exact intervals and Fisher's test against SciPy (Debian: python3-scipy):
binomtest(k, n).proportion_ci(method="exact") and fisher_exact. Ends with
"N passed, N failed".

    findings-compare.py PATH-OF-findings_tool
"""
import math
import random
import subprocess
import sys

from scipy.stats import binomtest, fisher_exact

TOOL = sys.argv[1]
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
    return done.stdout.split("\n")[:-1]


# ---- intervals
rng = random.Random(20261125)
cases = [(k, n, 0.95) for n in range(1, 31) for k in range(n + 1)]
for _ in range(1500):
    n = rng.choice([rng.randrange(1, 60), rng.randrange(1, 2001), rng.randrange(1, 100001)])
    k = rng.choice([rng.randrange(n + 1), min(n, rng.randrange(4)), n - min(n, rng.randrange(4))])
    cases.append((k, n, rng.choice([0.5, 0.8, 0.9, 0.95, 0.99, 0.999])))
for (k, n, level), said in zip(cases, ask([f"i {k} {n} {c}" for k, n, c in cases]), strict=True):
    low, high = said.split()
    wanted = binomtest(k, n).proportion_ci(confidence_level=level, method="exact")
    off = max(abs(float(low) - wanted.low), abs(float(high) - wanted.high))
    check(off < 1e-10, "interval", k, n, level, said, wanted)


# ---- Fisher's test
def make_table(rng):
    most = rng.choice([4, 12, 40, 300, 1500])
    share = rng.random()
    rows = [rng.randrange(most + 1) for _ in range(2)]
    found = [sum(rng.random() < s for _ in range(n)) if most < 300 else rng.randrange(n + 1)
             for n, s in zip(rows, [share, rng.choice([share, rng.random()])])]
    return found[0], rows[0] - found[0], found[1], rows[1] - found[1]


tables = [(a, b, c, d) for a in range(5) for b in range(5) for c in range(5) for d in range(5)]
tables += [make_table(rng) for _ in range(3000)]
for table, said in zip(tables, ask([f"f {a} {b} {c} {d}" for a, b, c, d in tables]), strict=True):
    wanted = fisher_exact([table[:2], table[2:]])[1]
    # Where SciPy's sum is lost in underflow it says 0.
    lost = float(said) < 1e-280 and wanted < 1e-280
    check(lost or math.isclose(float(said), wanted, rel_tol=1e-8), "Fisher", table, said, wanted)

print(f"{passed} passed, {failed} failed")
sys.exit(failed > 0)
