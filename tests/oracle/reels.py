"""Solves cutting from reels with OR-tools: instances as JSON on the standard input, a CSV out.

For each: the least that reels to buy can cost so that every cut comes from one of them or from a reel on hand, the bound
that was proved, and the seconds taken. One size alone is solved by SCIP as flow on an arc graph (Valerio de Carvalho,
"Exact solution of bin-packing problems using column generation and branch-and-bound", Annals of Operations Research 86
(1999)), several sizes by CP-SAT as assignment.
"""

import json
import math
import sys
import time
from collections import Counter

from ortools.linear_solver import pywraplp
from ortools.sat.python import cp_model

MOST_SECONDS = 20.0


def arc_flow(case):
    """One size of reel: each filling of a reel is a path from 0 to its length, the longest cut first."""
    ((length, price),) = case["sizes"]
    need = Counter(case["cuts"])
    arcs, nodes = set(), {0}
    for size in sorted(need, reverse=True):
        for start in sorted(nodes):
            at = start
            for _ in range(need[size]):
                if at + size > length:
                    break
                arcs.add((at, at + size))
                at += size
                nodes.add(at)
    nodes = sorted(nodes | {length})
    s = pywraplp.Solver.CreateSolver("SCIP")
    s.SetTimeLimit(int(MOST_SECONDS * 1000))
    most = len(case["cuts"])
    into = {node: [] for node in nodes}
    out = {node: [] for node in nodes}
    of_size = {size: [] for size in need}
    for tail, head in sorted(arcs):
        x = s.IntVar(0, need[head - tail], "")
        out[tail].append(x)
        into[head].append(x)
        of_size[head - tail].append(x)
    for tail, head in zip(nodes[1:], nodes[2:]):
        x = s.IntVar(0, most, "")
        out[tail].append(x)
        into[head].append(x)
    reels = s.IntVar(0, most, "")
    for node in nodes:
        if node == 0:
            s.Add(sum(out[node]) == reels)
        elif node == length:
            s.Add(sum(into[node]) == reels)
        else:
            s.Add(sum(into[node]) == sum(out[node]))
    for size in need:
        s.Add(sum(of_size[size]) >= need[size])
    s.Minimize(reels)
    status = s.Solve()
    assert status in (s.OPTIMAL, s.FEASIBLE), (case["id"], status)
    objective = s.Objective()
    return round(objective.Value()) * price, math.ceil(objective.BestBound() - 1e-6) * price


def assignment(case):
    """Several sizes: how many cuts of each length come from each reel."""
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
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = MOST_SECONDS
    solver.parameters.num_workers = 2
    status = solver.solve(m)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), (case["id"], status)
    return round(solver.objective_value), round(solver.best_objective_bound)


def main():
    print("id,cost,bound,seconds")
    for case in json.load(sys.stdin):
        start = time.monotonic()
        one_size = len(case["sizes"]) == 1 and not case["on_hand"]
        cost, bound = arc_flow(case) if one_size else assignment(case)
        print(f"{case['id']},{cost},{bound},{time.monotonic() - start:.3f}", flush=True)


main()
