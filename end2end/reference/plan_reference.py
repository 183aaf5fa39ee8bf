#!/usr/bin/env python3
"""Solve small random plan instances to proven optimality with OR-tools CP-SAT and check that the planner reaches each optimum.

usage: plan_reference.py --bin "COMMAND" [--count N] [--seed S] [--steps K] [--jobs J]
COMMAND reads an instance FILE and options as the `plan` command does (contract: FILE --iterations K --seed N).
Every instance draws from all features: windows, releases, lags, longest waits, alternatives, basins, mounted setups, dressing, people with
skills and hours, fixed work, standing starts. Where CP-SAT proves that no plan exists, the planner must refuse (exit 2).
A sample is also solved with one station hour more: more capacity must never cost more.
"""
import argparse
import json
import random
import shlex
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from ortools.sat.python import cp_model

sys.path.insert(0, str(Path(__file__).parent))
from check_plan import Broken, judge  # noqa: E402

SETUPS = ["a", "b", "c"]


def invent(rng):
    """A small instance; about 4 to 8 operations."""
    staffed = rng.random() < 0.6
    n_stations = rng.randint(1, 3)
    stations, changeovers = [], []
    day = rng.choice([None, [[0, 70], [100, 180], [220, 400]], [[0, 45], [45, 110], [140, 200], [230, 420]]])
    for k in range(n_stations):
        s = {"id": f"s{k}", "setup": rng.choice([None, "a", "b"]), "basin": rng.choice([1, 1, 1, 2, 3])}
        if day and rng.random() < 0.7:
            s["windows"] = day
        stations.append(s)
        if rng.random() < 0.8:
            table = {"station": s["id"], "setups": SETUPS,
                     "minutes": [[rng.choice([0, 0, 1]) if i == j else rng.randint(1, 15) for j in range(3)] for i in range(3)]}
            if rng.random() < 0.7:
                table["first"] = [rng.randint(0, 12) for _ in SETUPS]
            if rng.random() < 0.5:
                table["dress"] = [rng.choice([None, {"every": rng.randint(1, 2), "minutes": rng.randint(1, 8)}]) for _ in SETUPS]
            changeovers.append(table)
    people = []
    if staffed:
        for k in range(rng.randint(1, 2)):
            p = {"id": f"P{k}", "may": ["fine"] if k == 0 else rng.choice([[], ["fine"]])}
            if day and rng.random() < 0.6:
                p["windows"] = day
            people.append(p)
    jobs, left = [], rng.randint(4, 8)
    while left > 0:
        operations = []
        for _ in range(min(left, rng.choice([1, 1, 2, 3]))):
            on, seen = [], set()
            for _ in range(rng.choice([1, 1, 2])):
                station, setup = rng.choice(stations)["id"], rng.choice(SETUPS)
                if (station, setup) in seen:
                    continue
                seen.add((station, setup))
                a = {"station": station, "setup": setup, "minutes": rng.randint(3, 25)}
                if rng.random() < 0.4:
                    a["attended"] = rng.randint(0, a["minutes"])
                if rng.random() < 0.25:
                    a["skill"] = "fine"
                on.append(a)
            o = {"on": on, "lag": rng.choice([0, 0, 0, 5, 20])}
            if rng.random() < 0.3:
                o["max_lag"] = o["lag"] + rng.randint(0, 15)
            operations.append(o)
        left -= len(operations)
        jobs.append({"id": f"K{len(jobs)}", "release": rng.choice([0, 0, rng.randint(0, 60)]), "due": rng.randint(10, 130),
                     "weight": rng.choice([1, 1, 2, 5]), "operations": operations})
    instance = {"now": rng.choice([0, 0, 7]), "stations": stations, "changeovers": changeovers, "jobs": jobs,
                "objective": {"tardiness": 1, "changeover": rng.choice([0, 1, 1, 3]), "flow": rng.choice([0, 0, 1]), "moved": rng.choice([0, 0, 1, 2])}}
    if staffed:
        instance["people"] = people
    if rng.random() < 0.35:
        pin(rng, instance)
    if rng.random() < 0.5:
        instance["standing"] = [{"job": j["id"], "index": i, "start": rng.randint(0, 120)}
                                for j in jobs for i in range(len(j["operations"])) if rng.random() < 0.6]
    return instance


def pin(rng, instance):
    """Pin the first operation of a job as the first thing at a station that takes one piece at a time."""
    tables = {c["station"]: c for c in instance["changeovers"]}
    job = rng.choice(instance["jobs"])
    a = job["operations"][0]["on"][0]
    station = next(s for s in instance["stations"] if s["id"] == a["station"])
    if station["basin"] > 1:
        return
    t, c = tables.get(a["station"]), 0
    if t:
        to = SETUPS.index(a["setup"])
        c = t.get("first", [0, 0, 0])[to] if station["setup"] is None else t["minutes"][SETUPS.index(station["setup"])][to]
    begin = rng.choice([instance["now"] - 5, instance["now"], instance["now"] + 12])
    job["operations"][0]["fixed"] = {"station": a["station"], "setup": a["setup"], "changeover_start": begin, "start": begin + c, "end": begin + c + a["minutes"]}
    if "people" in instance:
        able = [p["id"] for p in instance["people"] if a.get("skill") is None or a["skill"] in p["may"]]
        if not able:
            del job["operations"][0]["fixed"]
            return
        job["operations"][0]["fixed"]["person"] = rng.choice(able)


class Model:
    """The contract as constraints. Each station has a row of slots, one load in each, used from the left."""

    def __init__(self, instance):
        self.i, self.m = instance, cp_model.CpModel()
        self.far = 1200
        self.now = instance.get("now", 0)
        self.ops = [(j, k) for j, job in enumerate(instance["jobs"]) for k in range(len(job["operations"]))]
        self.start, self.end = {}, {}
        for o in self.ops:
            self.start[o] = self.m.new_int_var(-50, self.far, f"s{o}")
            self.end[o] = self.m.new_int_var(-50, self.far, f"e{o}")
        self.chosen = {o: [] for o in self.ops}
        self.turns = {p["id"]: [] for p in instance.get("people", [])}
        self.spent = []
        for station in instance["stations"]:
            self.station(station)
        for o in self.ops:
            self.m.add_exactly_one(self.chosen[o])
        for turns in self.turns.values():
            self.m.add_no_overlap(turns)
        self.routes()
        self.objective()

    def operation(self, o):
        return self.i["jobs"][o[0]]["operations"][o[1]]

    def station(self, st):
        m = self.m
        table = next((c for c in self.i["changeovers"] if c["station"] == st["id"]), None)
        able = [(o, a) for o in self.ops for a in self.operation(o)["on"] if a["station"] == st["id"]]
        slots = len({o for o, _ in able})
        before = None
        for k in range(slots):
            name = f"{st['id']}.{k}"
            used = m.new_bool_var(f"used{name}")
            setup = {u: m.new_bool_var(f"{u}{name}") for u in SETUPS}
            m.add(sum(setup.values()) == used)
            start, end = m.new_int_var(-50, self.far, f"start{name}"), m.new_int_var(-50, self.far, f"end{name}")
            c, length, attended = m.new_int_var(0, 60, f"c{name}"), m.new_int_var(0, 60, f"len{name}"), m.new_int_var(0, 60, f"att{name}")
            m.add(end == start + length)
            here, minutes, attends, pinned = [], [], [], []
            for o, a in able:
                x = m.new_bool_var(f"x{o}{a['setup']}{name}")
                here.append(x)
                self.chosen[o].append(x)
                m.add_implication(x, setup[a["setup"]])
                m.add(self.start[o] == start).only_enforce_if(x)
                m.add(self.end[o] == end).only_enforce_if(x)
                minutes.append(a["minutes"] * x)
                attends.append(a.get("attended", a["minutes"]) * x)
                fixed = self.operation(o).get("fixed")
                if fixed:
                    if (a["station"], a["setup"]) != (fixed["station"], fixed["setup"]):
                        m.add(x == 0)
                    m.add(start == fixed["start"]).only_enforce_if(x)
                    m.add(end == fixed["end"]).only_enforce_if(x)
                    m.add(c == fixed["start"] - fixed["changeover_start"]).only_enforce_if(x)
                    pinned.append((x, fixed))
                else:
                    m.add(start - c >= self.now).only_enforce_if(x)
            m.add(sum(here) <= st.get("basin", 1))
            m.add_max_equality(length, minutes)
            m.add_max_equality(attended, attends)
            for x in here:
                m.add_implication(x, used)
            m.add_bool_or(here).only_enforce_if(used)
            free = m.new_bool_var(f"free{name}")  # used and not pinned: opening hours count
            m.add(free == used - sum(x for x, _ in pinned))
            self.within(st.get("windows"), start - c, end, free, name)
            count = m.new_int_var(0, slots, f"count{name}")
            self.changeover(st, table, before, setup, used, c, count, name)
            if before:
                m.add_implication(used, before["used"])
                m.add(start - c >= before["end"]).only_enforce_if(used)
            if "people" in self.i:
                self.person(able, here, pinned, free, used, start, c, attended, st, name)
            before = {"used": used, "setup": setup, "end": end, "count": count}

    def within(self, windows, begin, end, literal, name):
        if windows is None:
            return
        inside = []
        for n, (a, b) in enumerate(windows):
            w = self.m.new_bool_var(f"w{n}{name}")
            self.m.add(begin >= a).only_enforce_if(w)
            self.m.add(end <= b).only_enforce_if(w)
            inside.append(w)
        self.m.add_bool_or(inside).only_enforce_if(literal) if inside else self.m.add(literal == 0)

    def changeover(self, st, table, before, setup, used, c, count, name):
        """Minutes before this load, and how many loads of its setup there have been since mounting or dressing."""
        m = self.m
        self.spent.append(c)
        m.add(c == 0).only_enforce_if(~used)
        same_of = {}
        for v in SETUPS:
            for u in SETUPS + [None]:
                if before is None:
                    if u != st.get("setup"):
                        continue
                    both = setup[v]
                elif u is None:
                    continue
                else:
                    both = m.new_bool_var(f"t{u}{v}{name}")
                    m.add_bool_and(before["setup"][u], setup[v]).only_enforce_if(both)
                    m.add_bool_or(~before["setup"][u], ~setup[v], both)
                base = 0
                if table:
                    to = SETUPS.index(v)
                    base = table.get("first", [0] * 3)[to] if u is None else table["minutes"][SETUPS.index(u)][to]
                if u != v or before is None:
                    m.add(c == base).only_enforce_if(both)
                    m.add(count == 1).only_enforce_if(both)
                    continue
                dress = (table.get("dress") or [None] * 3)[SETUPS.index(v)] if table else None
                if dress is None:
                    m.add(c == base).only_enforce_if(both)
                    m.add(count == before["count"] + 1).only_enforce_if(both)
                    continue
                due = m.new_bool_var(f"dress{v}{name}")
                m.add(before["count"] >= dress["every"]).only_enforce_if(due)
                m.add(before["count"] < dress["every"]).only_enforce_if(~due)
                m.add(c == base + dress["minutes"]).only_enforce_if(both, due)
                m.add(count == 1).only_enforce_if(both, due)
                m.add(c == base).only_enforce_if(both, ~due)
                m.add(count == before["count"] + 1).only_enforce_if(both, ~due)
                same_of[v] = due

    def person(self, able, here, pinned, free, used, start, c, attended, st, name):
        m = self.m
        z = {p["id"]: m.new_bool_var(f"{p['id']}{name}") for p in self.i["people"]}
        m.add(sum(z.values()) == used)
        begin, until = m.new_int_var(-150, self.far, f"begin{name}"), m.new_int_var(-50, self.far + 60, f"until{name}")
        m.add(begin == start - c)
        m.add(until == start + attended)
        for p in self.i["people"]:
            for (_, a), x in zip(able, here):
                if a.get("skill") and a["skill"] not in p.get("may", []):
                    m.add_bool_or(~x, ~z[p["id"]])
            size = m.new_int_var(0, 120, f"size{p['id']}{name}")
            m.add(size == c + attended)
            idle = m.new_bool_var(f"idle{p['id']}{name}")
            m.add(size == 0).only_enforce_if(idle)
            m.add(size >= 1).only_enforce_if(~idle)
            busy = m.new_bool_var(f"busy{p['id']}{name}")
            m.add_bool_and(z[p["id"]], ~idle).only_enforce_if(busy)
            m.add_bool_or(~z[p["id"]], idle, busy)
            self.turns[p["id"]].append(m.new_optional_interval_var(begin, size, until, busy, f"turn{p['id']}{name}"))
            counts = m.new_bool_var(f"counts{p['id']}{name}")
            m.add_bool_or(~busy, ~free, counts)
            self.within(p.get("windows"), begin, until, counts, f"{p['id']}{name}")
        for x, fixed in pinned:
            m.add_implication(x, z[fixed["person"]])

    def routes(self):
        m = self.m
        for j, job in enumerate(self.i["jobs"]):
            if not job["operations"][0].get("fixed"):
                m.add(self.start[j, 0] >= job.get("release", 0))
            for k in range(1, len(job["operations"])):
                before = job["operations"][k - 1]
                m.add(self.start[j, k] >= self.end[j, k - 1] + before.get("lag", 0))
                if before.get("max_lag") is not None:
                    m.add(self.start[j, k] <= self.end[j, k - 1] + before["max_lag"])

    def objective(self):
        m, w = self.m, self.i["objective"]
        terms = [w["changeover"] * c for c in self.spent]
        for j, job in enumerate(self.i["jobs"]):
            last = self.end[j, len(job["operations"]) - 1]
            late = m.new_int_var(0, 2 * self.far, f"late{j}")
            m.add(late >= last - job["due"])
            terms.append(w["tardiness"] * job["weight"] * late)
            terms.append(w["flow"] * (last - job.get("release", 0)))
        names = {job["id"]: j for j, job in enumerate(self.i["jobs"])}
        for s in self.i.get("standing", []):
            off = m.new_int_var(0, 3 * self.far, f"moved{s['job']}{s['index']}")
            m.add_abs_equality(off, self.start[names[s["job"]], s["index"]] - s["start"])
            terms.append(w["moved"] * off)
        m.minimize(sum(terms))

    def solve(self, seconds):
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 1
        status = solver.solve(self.m)
        if status == cp_model.OPTIMAL:
            return round(solver.objective_value)
        return "infeasible" if status == cp_model.INFEASIBLE else None


def ask(command, instance, steps, seed=1):
    """The planner's answer: its plan, or None when it refuses."""
    with tempfile.NamedTemporaryFile("w", suffix=".json") as f:
        json.dump(instance, f)
        f.flush()
        done = subprocess.run([*command, f.name, "--iterations", str(steps), "--seed", str(seed)], capture_output=True, text=True, timeout=120)
    if done.returncode == 2:
        return None
    if done.returncode != 0:
        raise Broken(f"the planner failed: {done.stderr}")
    return json.loads(done.stdout)


def check(command, number, seed, steps, seconds):
    """One instance: (verdict, text)."""
    rng = random.Random(seed * 1_000_003 + number)
    instance = invent(rng)
    proven = Model(instance).solve(seconds)
    if proven is None:
        return "unproven", ""
    try:
        plan = ask(command, instance, steps)
        if plan is None:
            return ("refused", "") if proven == "infeasible" else ("WRONG", f"refused, CP-SAT proves {proven}")
        found = judge(instance, plan)["total"]
    except Broken as e:
        return "WRONG", str(e)
    if proven == "infeasible":
        return "WRONG", "planned what CP-SAT proves impossible"
    if found > proven + 1e-6:
        return "missed", f"{found}, CP-SAT proves {proven}"
    if found < proven - 1e-6:
        return "WRONG", f"{found} is below what CP-SAT proves: {proven}; the two models differ"
    if number % 10 == 0:
        # More room in every opening hour that ends a window can only help.
        roomy = json.loads(json.dumps(instance))
        for s in roomy["stations"]:
            if s.get("windows"):
                s["windows"] = [*s["windows"], [s["windows"][-1][1] + 20, s["windows"][-1][1] + 80]]
        more = ask(command, roomy, steps)
        if more is None or judge(roomy, more)["total"] > found + 1e-6:
            return "WRONG", "more capacity costs more"
    return "optimal", ""


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument("--bin", required=True, help="the plan command, with its arguments")
    ap.add_argument("--count", type=int, default=200)
    ap.add_argument("--seed", type=int, default=1)
    ap.add_argument("--steps", type=int, default=3000)
    ap.add_argument("--seconds", type=float, default=20, help="at most, for each proof")
    ap.add_argument("--jobs", type=int, default=2, help="instances at a time")
    ap.add_argument("--missed", type=int, default=0, help="sound plans above the proven optimum that are put up with")
    ap.add_argument("--keep", help="folder for the instances that fail")
    a = ap.parse_args()
    command = shlex.split(a.bin)
    tally, number = {}, 0
    with ThreadPoolExecutor(a.jobs) as pool:
        while sum(tally.get(k, 0) for k in ("optimal", "missed", "WRONG")) < a.count and number < 3 * a.count:
            batch = range(number, number + min(20, a.count))
            number += len(batch)
            for n, (verdict, text) in zip(batch, pool.map(lambda n: check(command, n, a.seed, a.steps, a.seconds), batch)):
                tally[verdict] = tally.get(verdict, 0) + 1
                if verdict in ("WRONG", "missed"):
                    print(f"instance {n} (seed {a.seed}): {verdict}, {text}", flush=True)
                    if a.keep:
                        Path(a.keep).mkdir(exist_ok=True)
                        Path(a.keep, f"{a.seed}-{n}.json").write_text(json.dumps(invent(random.Random(a.seed * 1_000_003 + n))))
    print(f"optimal {tally.get('optimal', 0)}, missed {tally.get('missed', 0)}, rightly refused {tally.get('refused', 0)}, no proof in time {tally.get('unproven', 0)}, wrong {tally.get('WRONG', 0)}")
    enough = tally.get("optimal", 0) + tally.get("missed", 0) >= a.count
    sys.exit(1 if tally.get("WRONG") or tally.get("missed", 0) > a.missed or not enough else 0)


if __name__ == "__main__":
    main()
