"""Solves a setup matrix to proof, or as well as the time allows.

Reads the matrix as JSON from standard input, as `trials peer` writes it, and writes its answer as
JSON to standard output; "lines" is null when it found none. Arguments: seconds of processor time, of
all threads together and from when the model stands; threads.

Every brake is a circuit over the modes it takes; jobs have one mode, a start and an end; a change
lies between the jobs of an arc. The cost is 60 a second of change plus each job's price a second
late.
"""

import json
import sys
import threading
import time

from ortools.sat.python import cp_model


def build(shop):
    model = cp_model.CpModel()
    jobs, modes, change = shop["jobs"], shop["modes"], shop["change"]
    horizon = max(job["ready"] for job in jobs)
    for number in range(len(jobs)):
        own = [m for m, mode in enumerate(modes) if mode["job"] == number]
        runs = max(modes[m]["run"] for m in own)
        changes = [modes[m]["first"] for m in own] + [row[m] for row in change for m in own]
        horizon += runs + max(changes)
    start = [model.new_int_var(job["ready"], horizon, "") for job in jobs]
    end = [model.new_int_var(0, horizon, "") for _ in jobs]
    used = [model.new_bool_var("") for _ in modes]
    cost = []
    for number, job in enumerate(jobs):
        own = [m for m, mode in enumerate(modes) if mode["job"] == number]
        model.add_exactly_one(used[m] for m in own)
        model.add(end[number] == start[number] + sum(modes[m]["run"] * used[m] for m in own))
        late = model.new_int_var(0, horizon, "")
        model.add(late >= end[number] - job["due"])
        cost.append(job["late"] * late)
    arcs_of = []
    for brake in range(shop["brakes"]):
        own = [m for m, mode in enumerate(modes) if mode["brake"] == brake]
        arcs = []

        def arc(a, b, literal):
            arcs.append((a, b, literal))

        # Bending and the least change before it take the brake; the arcs say the rest.
        spans = []
        for m in own:
            job, run = modes[m]["job"], modes[m]["run"]
            rows = [n for n in own if modes[n]["job"] != job]
            least = min([modes[m]["first"]] + [change[n][m] for n in rows])
            span = model.new_optional_interval_var(
                start[job] - least, run + least, end[job], used[m], ""
            )
            spans.append(span)
        model.add_no_overlap(spans)
        empty = model.new_bool_var("")
        arc(0, 0, empty)
        for at, m in enumerate(own, 1):
            model.add_implication(empty, ~used[m])
            arc(at, at, ~used[m])
            first, last = model.new_bool_var(""), model.new_bool_var("")
            arc(0, at, first)
            arc(at, 0, last)
            job = modes[m]["job"]
            model.add(start[job] >= modes[m]["first"]).only_enforce_if(first)
            cost.append(60 * modes[m]["first"] * first)
            for other, n in enumerate(own, 1):
                if modes[n]["job"] == job:
                    continue
                follows = model.new_bool_var("")
                arc(at, other, follows)
                seconds = change[m][n]
                model.add(start[modes[n]["job"]] >= end[job] + seconds).only_enforce_if(follows)
                cost.append(60 * seconds * follows)
        model.add_circuit(arcs)
        arcs_of.append((own, arcs))
    model.minimize(sum(cost))
    return model, arcs_of


def lines(solver, arcs_of):
    """For each brake, its modes in order."""
    out = []
    for own, arcs in arcs_of:
        after = {a: b for a, b, literal in arcs if a != b and solver.boolean_value(literal)}
        line, at = [], after.get(0, 0)
        while at != 0:
            line.append(own[at - 1])
            at = after[at]
        out.append(line)
    return out


def stop_at(solver, end, done):
    """Stops the solver once the process has had its time; other work on the machine does not count."""
    while not done.wait(0.02):
        if time.process_time() >= end:
            solver.stop_search()


def main():
    seconds, threads = float(sys.argv[1]), int(sys.argv[2])
    model, arcs_of = build(json.load(sys.stdin))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = threads
    solver.parameters.random_seed = 1
    began = time.process_time()
    done = threading.Event()
    watch = threading.Thread(target=stop_at, args=(solver, began + seconds, done), daemon=True)
    watch.start()
    status = solver.solve(model)
    done.set()
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.UNKNOWN):
        print(f"solve.py: {solver.status_name(status)}", file=sys.stderr)
        return 1
    found = status != cp_model.UNKNOWN
    answer = {
        "lines": lines(solver, arcs_of) if found else None,
        "cost": round(solver.objective_value) if found else 0,
        "bound": round(solver.best_objective_bound),
        "proved": status == cp_model.OPTIMAL,
        "seconds": time.process_time() - began,
    }
    json.dump(answer, sys.stdout)
    return 0


sys.exit(main())
