#!/usr/bin/env python3
"""The kernel's bench, natively and in a browser, and beside shapely and scipy doing the same work; `make bench` runs it.

    python craft_bench.py --bench target/release/examples/bench [--browser "node craft_bench_browser.mjs bench.wasm"]

Answers must agree to 1e-9 before a ratio counts. Ends with 1 when a target is missed.
"""

import argparse
import json
import math
import shlex
import subprocess
import sys
import time

import numpy as np
import shapely
from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.special import k0e

TARGETS = {  # name of the kernel's figure: (least ratio, what the library does)
    "plain section": (300, "shapely, two polygons clipped"),
    "serrated volume over the edge": (1000, "scipy, quadrature of the section from tip to tip"),
    "heat, Jaeger's integral at its maximum": (1000, "scipy, quadrature of K0 at the best place"),
}
LIMITS_NS = {
    "estimate, plain, life and heat": 20e3,
    "estimate, serrated, life and heat": 20e3,
    "registration, 60 teeth, 400 phases": 1e6,
    "registration, 60 teeth, best phase exactly": 1e6,
    "registration, 60 teeth, best phase of another ridge": 1e6,
}
BROWSER_LIMITS_NS = {
    "estimate, plain, life and heat": 100e3,
    "estimate, serrated, life and heat": 100e3,
}


def least_ns(work, rounds=15):
    calls = 1
    while True:
        start = time.perf_counter()
        for _ in range(calls):
            work()
        if time.perf_counter() - start > 0.004:
            break
        calls *= 2
    best = math.inf
    for _ in range(rounds):
        start = time.perf_counter()
        for _ in range(calls):
            work()
        best = min(best, (time.perf_counter() - start) / calls)
    return best * 1e9


def plain_section():
    """The same knife as the bench: H 46, T 2.4, b 0.35, 15 degrees, land 0.06, recession 0.82."""
    tan = math.tan(math.radians(15))
    lam = 0.06 / 2 / tan
    shoulder, top, apex = 0.175 / tan, 46 + lam, lam + 0.82
    worn = shapely.Polygon([(-0.03, lam), (0.03, lam), (0.175, shoulder), (1.2, top), (-1.2, top), (-0.175, shoulder)])
    keep = shapely.Polygon([(0, apex), (100 * tan, apex + 100), (-100 * tan, apex + 100)])
    return worn.area - worn.intersection(keep).area


def serrated_volume():
    """p 5, ridge 6.5, 20 degrees, lifted by 0.3 over 212 mm: the exact section integrated along the edge, tip to tip."""
    sine, tan = math.sin(math.radians(20)), math.tan(math.radians(20))
    k, base = (2.4 - 0.35) / 46, math.sqrt(6.5**2 - 6.25)

    def section(x):
        e = (math.sqrt(6.5**2 - (x % 5 - 2.5)**2) - base) / sine
        n = lambda e: (0.35 + k * e) / (1 - k / tan)
        return 0.3 * (n(e) + n(e + 0.3)) / 2

    tips = [*range(0, 212, 5), 212]
    return sum(quad(section, a, b, epsabs=1e-12, epsrel=1e-12)[0] for a, b in zip(tips, tips[1:]))


def rise():
    """Jaeger's integral for q 50e6, k 46.6, alpha 1.27e-5, l 1 mm, v 0.05, at the hottest place under the band."""
    alpha, v, length, flux, k = 1.27e-5, 0.05, 1e-3, 50e6, 46.6
    width = 2 * v * length / (4 * alpha)

    def integral(ahead):
        # exp(-u) K0(|u|): behind the source it decays like 1/sqrt(u), ahead of it like exp(-2u); a logarithm at 0 between.
        behind = quad(lambda u: k0e(u), 0, width - ahead, epsabs=1e-11, epsrel=1e-11)[0]
        front = quad(lambda u: math.exp(-2 * u) * k0e(u), 0, ahead, epsabs=1e-11, epsrel=1e-11)[0]
        return behind + front

    best = minimize_scalar(lambda a: -integral(a), bounds=(1e-6, width / 2), method="bounded", options={"xatol": 1e-6})
    return 2 * alpha * flux / (math.pi * k * v) * -best.fun


def registration_least():
    """Brute force: 60 teeth of 5.05 on 5.00 over 300 mm, every tip's height, 400 phases."""
    base, sine = math.sqrt(6.5**2 - 6.25), math.sin(math.radians(20))
    phases = np.arange(400)[:, None] * 5.05 / 400
    tips = phases + np.arange(61)[None, :] * 5.05
    u = np.mod(tips / 5.0, 1)
    e = (np.sqrt(6.5**2 - (5 * (u - 0.5))**2) - base) / sine
    return float(np.where(tips <= 300, e, 0).max(axis=1).min())


def figures(command):
    """Runs a bench; its figures in ns by name, and its answers."""
    run = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True)
    records = [json.loads(line) for line in run.stdout.splitlines()]
    return {r["name"]: r for r in records if "ns" in r}, next(r for r in records if r["name"] == "answers")


def short(ns):
    """Nanoseconds as people read them."""
    for unit, size in (("s", 1e9), ("ms", 1e6), ("µs", 1e3)):
        if ns >= size:
            return f"{ns / size:.3g} {unit}"
    return f"{ns:.3g} ns"


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--bench", required=True, help="the native bench")
    parser.add_argument("--browser", help="a command that runs the same bench in a browser")
    options = parser.parse_args()
    ours, answers = figures(shlex.split(options.bench))
    theirs, same = figures(shlex.split(options.browser)) if options.browser else ({}, answers)
    missed = []
    if any(abs(answers[key] - same[key]) > 1e-12 * abs(same[key]) for key in answers if key != "name"):
        missed.append(f"the browser's answers differ: {same} against {answers}")

    print(f"{'one of it takes':54} {'native':>9} {'target':>7}  {'browser':>9} {'target':>7}")
    for name, record in ours.items():
        cells = []
        for figure, limits in ((record, LIMITS_NS), (theirs.get(name), BROWSER_LIMITS_NS)):
            limit = limits.get(name)
            cells += [short(figure["ns"]) if figure else "", short(limit) if limit else ""]
            if figure and limit and figure["ns"] > limit:
                missed.append(f"{name}: {short(figure['ns'])}, target {short(limit)}")
        print(f"{name:54} {cells[0]:>9} {cells[1]:>7}  {cells[2]:>9} {cells[3]:>7}")
        if "estimates" in record:
            print(f"    ({record['estimates']} of them, every one another knife: {record['seconds']:.1f} s)")

    print(f"\n{'beside the libraries, at equal answers':54} {'native':>9} {'library':>9} {'ratio':>8} {'target':>8}  answers differ by")
    work = {
        "plain section": (plain_section, answers["section_mm2"]),
        "serrated volume over the edge": (serrated_volume, answers["serrated_mm3"]),
        "heat, Jaeger's integral at its maximum": (rise, answers["rise_k"]),
    }
    for name, (function, answer) in work.items():
        off = abs(function() - answer) / abs(answer)
        library = least_ns(function)
        ratio, (target, what) = library / ours[name]["ns"], TARGETS[name]
        if off > 1e-9:
            missed.append(f"{name}: answers differ by {off:.1e}")
        if ratio < target:
            missed.append(f"{name}: {ratio:.0f} times, target {target}")
        print(f"{name:54} {short(ours[name]['ns']):>9} {short(library):>9} {ratio:7.0f}x {target:7}x  {off:.1e}  ({what})")
    name = "registration, 60 teeth, 400 phases"
    grid = least_ns(registration_least)
    print(f"{name:54} {short(ours[name]['ns']):>9} {short(grid):>9} {grid / ours[name]['ns']:7.1f}x {'':8}  (numpy, tips only)")
    if answers["least_mismatch_mm"] > registration_least() + 1e-9:
        missed.append("registration: the exact phase is worse than a grid's")
    for line in missed:
        print(f"MISSED {line}")
    sys.exit(1 if missed else 0)


if __name__ == "__main__":
    main()
