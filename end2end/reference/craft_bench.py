#!/usr/bin/env python3
"""The kernel's bench beside shapely and scipy doing the same work: one table of ratios, and the answers compared first.

    python craft_bench.py --bench target/release/examples/bench

Answers must agree to 1e-9 before a ratio counts.
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


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--bench", required=True)
    options = parser.parse_args()
    run = subprocess.run(shlex.split(options.bench), capture_output=True, text=True, check=True)
    records = [json.loads(line) for line in run.stdout.splitlines()]
    ours = {r["name"]: r["ns"] for r in records if "ns" in r}
    answers = next(r for r in records if r["name"] == "answers")
    failed = False
    work = {
        "plain section": (plain_section, answers["section_mm2"]),
        "serrated volume over the edge": (serrated_volume, answers["serrated_mm3"]),
        "heat, Jaeger's integral at its maximum": (rise, answers["rise_k"]),
    }
    print(f"{'what':58} {'ours':>12} {'library':>12} {'ratio':>9}  target")
    for name, (function, answer) in work.items():
        theirs = function()
        off = abs(theirs - answer) / abs(answer)
        library = least_ns(function)
        ratio, (target, what) = library / ours[name], TARGETS[name]
        good = off < 1e-9 and ratio >= target
        failed |= not good
        print(f"{name:58} {ours[name]:9.0f} ns {library:9.0f} ns {ratio:8.0f}x  {target}x  {what}; answers differ by {off:.1e}"
              f"{'' if good else '  MISSED'}")
    for name, ns in ours.items():
        if name in work:
            continue
        limit = LIMITS_NS.get(name)
        good = limit is None or ns <= limit
        failed |= not good
        print(f"{name:58} {ns:9.0f} ns {'':>12} {'':>9}  {'' if limit is None else f'{limit:.0f} ns'}{'' if good else '  MISSED'}")
    grid = least_ns(registration_least)
    print(f"{'(numpy: registration on tips only, 400 phases)':58} {'':>12} {grid:9.0f} ns {grid / ours['registration, 60 teeth, 400 phases']:8.1f}x")
    if answers["least_mismatch_mm"] > registration_least() + 1e-9:
        print("registration: the exact phase is worse than a grid's")
        failed = True
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
