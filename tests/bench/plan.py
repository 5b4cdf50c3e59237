#!/usr/bin/python3
"""NetworkX (Debian: python3-networkx) doing the openings that bench_plan wrote.

For each notice: what covers its steps, and what covers that, among what is
built. The answers must be the same. Prints milliseconds of each of several
rounds: of the openings alone, the graph being there.

    plan.py FILE
"""

import json
import sys
import time

import networkx as nx

ROUNDS = 7

with open(sys.argv[1], encoding="utf-8") as file:
    data = json.load(file)

closers = {}
for place, step in enumerate(data["steps"]):
    for zone in step["closes"]:
        closers.setdefault(zone, []).append((place, step["code"]))

done = set(data["done"])
covers = nx.DiGraph()
covers.add_nodes_from(step["code"] for step in data["steps"])
for place, step in enumerate(data["steps"]):
    for zone in step["in"]:
        for later, code in closers.get(zone, []):
            if later > place and code in done:
                covers.add_edge(step["code"], code)


def opened(steps):
    found = set()
    for step in set(steps):
        found |= nx.descendants(covers, step)
    return found


def run():
    return [opened(steps) for steps in data["notices"]]


if [sorted(found) for found in run()] != [sorted(found) for found in data["open"]]:
    sys.exit("the answers differ")
for _ in range(ROUNDS):
    start = time.process_time()
    run()
    print(f"{(time.process_time() - start) * 1e3:.3f}")
