"""Solves cutting from reels with OR-tools CP-SAT: instances as JSON on the standard input, a CSV out.

For each: the least that reels to buy can cost so that every cut comes from one of them or from a reel on hand, the bound
that was proved, and the seconds taken. One size alone is solved as flow on an arc graph (Valerio de Carvalho, "Exact
solution of bin-packing problems using column generation and branch-and-bound", Annals of Operations Research 86 (1999)),
several as assignment.
"""

import json
import sys
import time
from collections import Counter

from ortools.sat.python import cp_model

MOST_SECONDS = 20.0


def arc_flow(case):
    m = cp_model.CpModel()
    (length, price), = case["sizes"]
    need = Counter(case["cuts"])
    sizes = sorted(need, reverse=True)
    # Arcs go in falling order of cuts, so that each filling of a reel is one path.
    arcs, nodes = set(), {0}
    for size in sizes:
        for start in sorted(nodes):
            at = start
            for _ in range(need[size]):
                if at + size > length:
                    break
                arcs.add((at, at + size))
                at += size
                nodes.add(at)
    nodes = sorted(nodes | {length})
    loss = list(zip(nodes[1:], nodes[2:]))
    most = len(case["cuts"])
    into = {node: [] for node in nodes}
    out = {node: [] for node in nodes}
    of_size = {size: [] for size in sizes}
    for tail, head in sorted(arcs):
        x = m.new_int_var(0, need[head - tail], "")
        out[tail].append(x)
        into[head].append(x)
        of_size[head - tail].append(x)
    for tail, head in loss:
        x = m.new_int_var(0, most, "")
        out[tail].append(x)
        into[head].append(x)
    reels = m.new_int_var(-(-sum(case["cuts"]) // length), most, "")
    for node in nodes:
        if node == 0:
            m.add(sum(out[node]) == reels)
        elif node == length:
            m.add(sum(into[node]) == reels)
        else:
            m.add(sum(into[node]) == sum(out[node]))
    for size in sizes:
        m.add(sum(of_size[size]) == need[size])
    m.minimize(reels * price)
    return m


def assignment(case):
    m = cp_model.CpModel()
    need = Counter(case["cuts"])
    total = sum(case["cuts"])
    bins = [(length, 0, None) for length in case["on_hand"]]
    for size, (length, price) in enumerate(case["sizes"]):
        bins += [(length, price, size)] * (2 * total // length + 2)
    used = [m.new_bool_var("") for _ in bins]
    for before, after, a, b in zip(used, used[1:], bins, bins[1:]):
        if a[2] is not None and a == b:
            m.add(before >= after)
    placed = {size: [] for size in need}
    for (length, _, _), on in zip(bins, used):
        held = []
        for size in need:
            n = m.new_int_var(0, min(need[size], length // size), "")
            placed[size].append(n)
            held.append(n * size)
        m.add(sum(held) <= length * on)
    for size in need:
        m.add(sum(placed[size]) == need[size])
    m.add(sum(length * on for (length, _, _), on in zip(bins, used)) >= total)
    m.minimize(sum(price * on for (_, price, _), on in zip(bins, used)))
    return m


def main():
    print("id,cost,bound,seconds")
    for case in json.load(sys.stdin):
        start = time.monotonic()
        plain = len(case["sizes"]) == 1 and not case["on_hand"]
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = MOST_SECONDS
        solver.parameters.num_workers = 2
        status = solver.solve(arc_flow(case) if plain else assignment(case))
        assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), (case["id"], solver.status_name())
        cost, bound = round(solver.objective_value), round(solver.best_objective_bound)
        print(f"{case['id']},{cost},{bound},{time.monotonic() - start:.3f}", flush=True)


main()
