"""Solves the balance's instances with OR-tools CP-SAT: instances as JSON on the standard input, a CSV out.

For each: the fewest supplies; then, where asked for, the fewest groups on one supply; then the lowest highest output.
A figure is given with the bound that was proved, and the seconds that all stages took.
"""

import json
import sys
import time

from ortools.sat.python import cp_model

MOST_SECONDS = 10.0


def model(case, fixed):
    m = cp_model.CpModel()
    kind, items = case["kind"], case["items"]
    supplies = case["supplies"] + kind["more"]
    outputs = kind["outputs"]
    x = [[m.new_bool_var("") for _ in range(supplies * outputs)] for _ in items]
    opened = [m.new_bool_var("") for _ in range(supplies)]
    on = [[m.new_bool_var("") for _ in range(supplies)] for _ in items]
    load = []
    for row, at in zip(x, on):
        m.add_exactly_one(row)
        for s in range(supplies):
            m.add(at[s] == sum(row[s * outputs : (s + 1) * outputs]))
    for b in range(supplies * outputs):
        load.append(sum(item["weight"] * x[i][b] for i, item in enumerate(items)))
        m.add(load[b] <= kind["target"] * opened[b // outputs])
        m.add(sum(item["wires"] * x[i][b] for i, item in enumerate(items)) <= kind["terminals"])
    for i, item in enumerate(items):
        if item["pinned"]:
            m.add(x[i][item["home"]] == 1)
    if not any(item["pinned"] for item in items):
        for s in range(supplies - 1):
            m.add(opened[s] >= opened[s + 1])
    for group in case["apart"]:
        for row in zip(*(x[i] for i in group)):
            m.add_at_most_one(row)
    for group in case["share"]:
        for other in group[1:]:
            for s in range(supplies):
                m.add(on[group[0]][s] == on[other][s])
    unspread = []
    for group in case["spread"]:
        u = m.new_bool_var("")
        unspread.append(u)
        for s in range(supplies):
            m.add(u >= sum(on[i][s] for i in group) - (len(group) - 1))
    most = m.new_int_var(0, kind["limit"], "")
    for l in load:
        m.add(most >= l)
    total = sum(item["weight"] for item in items)
    if fixed and fixed[0] < supplies:
        # No more supplies than the fewest: the mean of their outputs is a bound that would else be found late.
        m.add(most * outputs * fixed[0] >= total)
    elif not case["stages"][0]:
        m.add(most * outputs * supplies >= total)
    if not (case["share"] or case["spread"] or any(item["pinned"] for item in items)):
        # Outputs are alike: the heaviest item is on the first, the next on the first two, and so on.
        order = sorted(range(len(items)), key=lambda i: -items[i]["weight"])
        for nth, i in enumerate(order):
            for b in range(nth + 1, supplies * outputs):
                m.add(x[i][b] == 0)
    goals = [sum(opened), sum(unspread) if unspread else None, most]
    for goal, value in zip(goals, fixed):
        if goal is not None:
            m.add(goal <= value)
    return m, goals


def main():
    print("id,supplies,supplies_bound,unspread,unspread_bound,height,height_bound,seconds")
    for case in json.load(sys.stdin):
        start = time.monotonic()
        fixed, row = [], []
        for stage in range(3):
            if not case["stages"][stage]:
                # The stage does not matter here, or has one answer only.
                fixed.append(10**9)
                row += ["", ""]
                continue
            m, goals = model(case, fixed)
            if goals[stage] is None:
                fixed.append(0)
                row += ["0", "0"]
                continue
            m.minimize(goals[stage])
            solver = cp_model.CpSolver()
            solver.parameters.max_time_in_seconds = MOST_SECONDS
            solver.parameters.num_workers = 2
            solver.parameters.random_seed = 1
            status = solver.solve(m)
            if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                fixed.append(10**9)
                row += ["", ""]
                continue
            value = round(solver.objective_value)
            bound = round(solver.best_objective_bound)
            fixed.append(value)
            row += [str(value), str(bound)]
        print(",".join([case["id"], *row, f"{time.monotonic() - start:.3f}"]), flush=True)


main()
