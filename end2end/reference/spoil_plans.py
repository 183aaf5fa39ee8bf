#!/usr/bin/env python3
"""Spoil good plans, each in one way, and check that both judges refuse every one: check_plan.py and the planner's own.

usage: spoil_plans.py --bin "COMMAND" [--count 1000] [--seed S]
COMMAND FILE --iterations K writes a plan; COMMAND FILE --verify PLAN exits 1 when the plan does not hold.
"""
import argparse
import copy
import json
import random
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from check_plan import Broken, judge  # noqa: E402


def instances(seed):
    """Small shops without slack in their rules: every minute and name matters."""
    rng = random.Random(seed)
    while True:
        windows = [[0, 120], [150, 400], [420, 2000]]
        tables = [{"station": s, "setups": ["a", "b"], "minutes": [[1, 9], [7, 2]], "first": [4, 5], "dress": [{"every": 2, "minutes": 3}, None]} for s in ("s0", "s1")]
        jobs = []
        for k in range(rng.randint(3, 6)):
            operations = [{"on": [{"station": f"s{rng.randint(0, 1)}", "setup": rng.choice("ab"), "minutes": rng.randint(5, 20), "skill": "fine"}], "lag": rng.choice([0, 10]), "max_lag": 300}
                          for _ in range(rng.randint(1, 3))]
            jobs.append({"id": f"K{k}", "release": rng.randint(0, 30), "due": rng.randint(20, 80), "weight": rng.choice([1, 2]), "operations": operations})
        yield {"now": 0, "stations": [{"id": "s0", "windows": windows, "basin": 1}, {"id": "s1", "windows": windows, "setup": "a", "basin": 2}], "changeovers": tables,
               "people": [{"id": "P0", "may": ["fine"], "windows": windows}, {"id": "P1", "may": []}], "jobs": jobs,
               "objective": {"tardiness": 1, "changeover": 1, "flow": 1, "moved": 0}}


def spoil(rng, instance, plan):
    """One way to spoil a plan that holds; None when this way does not apply here."""
    operations = plan["operations"]
    o = rng.choice(operations)
    way = rng.randrange(13)
    if way == 0:
        operations.remove(o)
    elif way == 1:
        operations.append(dict(o))
    elif way == 2:
        o["station"] = "nowhere"
    elif way == 3:
        o["setup"] = "b" if o["setup"] == "a" else "a"
    elif way == 4:
        o["end"] += rng.choice([-1, 1, 7])
    elif way == 5:
        o["changeover_start"] += rng.choice([-3, -1, 1])
    elif way == 6:
        o["person"] = rng.choice(["P1", "nobody", None])
    elif way == 7:
        part = rng.choice(["total", "tardiness", "flow", "changeover"])
        plan["objective"][part] += rng.choice([-5, 1, 40])
    elif way == 8:
        plan["bound"] = plan["objective"]["total"] + 1
    elif way == 9:
        o["index"] += 5
    elif way == 10:
        o["job"] = "stranger"
    elif way == 11:
        shift = -1 - max(0, o["changeover_start"])
        for key in ("changeover_start", "start", "end"):
            o[key] += shift
    elif way == 12:
        same = [x for x in operations if x is not o and x["station"] == o["station"] and x["start"] != o["start"]]
        if not same:
            return None
        other = rng.choice(same)
        for key in ("changeover_start", "start", "end"):
            o[key] = other[key] + (1 if key != "changeover_start" else 0)
    return way


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument("--bin", required=True)
    ap.add_argument("--count", type=int, default=1000)
    ap.add_argument("--seed", type=int, default=1)
    a = ap.parse_args()
    command, rng = shlex.split(a.bin), random.Random(a.seed)
    made, missed, tally = 0, 0, {}
    with tempfile.TemporaryDirectory() as folder:
        file, answer = Path(folder, "instance.json"), Path(folder, "plan.json")
        for instance in instances(a.seed):
            file.write_text(json.dumps(instance))
            good = json.loads(subprocess.run([*command, str(file), "--iterations", "20"], capture_output=True, text=True, check=True).stdout)
            judge(instance, good)
            answer.write_text(json.dumps(good))
            subprocess.run([*command, str(file), "--verify", str(answer)], check=True)
            for _ in range(25):
                plan = copy.deepcopy(good)
                way = spoil(rng, instance, plan)
                if way is None:
                    continue
                answer.write_text(json.dumps(plan))
                try:
                    judge(instance, plan)
                    python = False
                except (Broken, KeyError, ValueError, TypeError, IndexError):
                    python = True
                rust = subprocess.run([*command, str(file), "--verify", str(answer)], capture_output=True).returncode == 1
                made += 1
                tally[way] = tally.get(way, 0) + 1
                if not (python and rust):
                    missed += 1
                    print(f"way {way}: check_plan.py {'refuses' if python else 'ACCEPTS'}, the planner {'refuses' if rust else 'ACCEPTS'}", flush=True)
                if made == a.count:
                    print(f"{made} spoiled plans in {len(tally)} ways, {missed} not refused by both")
                    sys.exit(1 if missed else 0)


if __name__ == "__main__":
    main()
