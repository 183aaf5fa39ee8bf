#!/usr/bin/env python3
"""Two thousand random knives, computed from the contract's definitions without a line of the Rust code, and compared.

Sections are polygons clipped by shapely, curved faces and hardness integrals come from scipy, serrated edges are cut into
hundreds of sections along the edge, registration is searched by brute force, life by plain Monte Carlo.

    python craft_reference.py --bin target/release/whetledger          # runs: whetledger estimate
    python craft_reference.py --bin target/debug/examples/estimate --bare   # a program that is the stream itself
"""

import argparse
import json
import math
import random
import shlex
import subprocess
import sys

import numpy as np
import shapely
from scipy.integrate import quad
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from random_knives import DENSITY, random_knife

BIG = 1e4
NODES, WEIGHTS = np.polynomial.legendre.leggauss(12)
PLACES, SHARES = np.polynomial.legendre.leggauss(6)  # sections along half a tooth


# ---------------------------------------------------------------- teeth

class Row:
    """e(x) of one repeating tooth."""

    def __init__(self, form, pitch, angle_deg, radius=None, depth=None):
        self.form, self.p, self.sine = form, pitch, math.sin(math.radians(angle_deg))
        self.r, self.d = radius, depth
        self.depth = float(self.e(np.array(0.5 * pitch)))

    def e(self, x):
        u = np.mod(x / self.p, 1.0)
        if self.form == "arc":
            root = np.sqrt(self.r**2 - (self.p * (u - 0.5))**2)
            return (root - math.sqrt(self.r**2 - self.p**2 / 4)) / self.sine
        if self.form == "wavy":
            return self.d / 2 * (1 - np.cos(2 * np.pi * u))
        return self.d * (1 - np.abs(2 * u - 1))

    def kinks(self, origin, lo, hi):
        first = math.floor((lo - origin) / self.p * 2) - 1
        last = math.ceil((hi - origin) / self.p * 2) + 1
        return [origin + i * self.p / 2 for i in range(first, last + 1) if lo < origin + i * self.p / 2 < hi]

    def at_angle(self, old_deg, new_deg):
        """The same wheel at another angle: its profile stands normal to the bevel."""
        depth = None if self.d is None else self.d * math.sin(math.radians(old_deg)) / math.sin(math.radians(new_deg))
        return Row(self.form, self.p, new_deg, self.r, depth)


class MixedRow:
    """e(x) of several teeth that repeat together."""

    def __init__(self, teeth):
        self.teeth = teeth
        self.starts = np.concatenate([[0.0], np.cumsum([tooth.p for tooth in teeth])])
        self.p = float(self.starts[-1])
        self.depth = max(tooth.depth for tooth in teeth)

    def e(self, x):
        rest = np.mod(np.asarray(x, dtype=float), self.p)
        places = np.minimum(np.searchsorted(self.starts, rest, side="right") - 1, len(self.teeth) - 1)
        out = np.zeros_like(rest)
        for i, tooth in enumerate(self.teeth):
            # Just below its own pitch a tooth must not begin again.
            at = np.clip(rest - self.starts[i], 0, tooth.p * (1 - 1e-15))
            out = np.where(places == i, tooth.e(at), out)
        return out

    def kinks(self, origin, lo, hi):
        turns = range(math.floor((lo - origin) / self.p) - 1, math.ceil((hi - origin) / self.p) + 2)
        places = [origin + turn * self.p + start + half * tooth.p / 2
                  for turn in turns for start, tooth in zip(self.starts, self.teeth) for half in (0, 1)]
        return [x for x in places if lo < x < hi]

    def at_angle(self, old_deg, new_deg):
        return MixedRow([tooth.at_angle(old_deg, new_deg) for tooth in self.teeth])


def row_of(edge, angle_deg):
    if edge["form"] == "mixed":
        return MixedRow([row_of(tooth, angle_deg) for tooth in edge["teeth"]])
    return Row(edge["form"], edge["pitch_mm"], angle_deg, edge.get("ridge_radius_mm"), edge.get("depth_mm"))


def mismatch(old, new, s, lo, hi):
    """max of e_old(x) - e_new(x - s), by a fine grid and every kink, polished around the best place."""
    x = np.unique(np.concatenate([np.linspace(lo, hi, 1501), old.kinks(0, lo, hi), new.kinks(s, lo, hi), [lo, hi]]))
    gap = old.e(x) - new.e(x - s)
    i = int(np.argmax(gap))
    a, b = x[max(i - 1, 0)], x[min(i + 1, len(x) - 1)]
    fine = np.linspace(a, b, 201)
    return max(float(gap[i]), float(np.max(old.e(fine) - new.e(fine - s))))


# ---------------------------------------------------------------- sections

class Face:
    """One side of the section, today, unworn: x(y) from the virtual apex."""

    def __init__(self, knife):
        blade, edge = knife["blade"], knife["edge"]
        self.double = edge["kind"] == "double"
        self.sides = 2 if self.double else 1
        self.theta = math.radians(edge["half_angle_deg"] if self.double else edge["angle_deg"])
        self.lam = lam(knife)
        self.b, self.t = blade["behind_edge_mm"] / self.sides, blade["spine_mm"] / self.sides
        self.h = self.b / math.tan(self.theta)
        self.top = blade["height_mm"] + self.lam
        grind = blade.get("grind", {"kind": "flat"})
        self.to = min(grind.get("to_mm", blade["height_mm"]) + self.lam, self.top)
        self.kind, self.r = grind["kind"], grind.get("radius_mm")
        if self.kind != "flat":
            mid = np.array([(self.b + self.t) / 2, (self.h + self.to) / 2])
            chord = np.array([self.t - self.b, self.to - self.h])
            c = float(np.hypot(*chord))
            inward = np.array([-chord[1], chord[0]]) / c
            way = 1 if self.kind == "convex" else -1
            self.centre = mid + way * math.sqrt(self.r**2 - c * c / 4) * inward
            self.way = way

    def x(self, y):
        if y <= self.h:
            return math.tan(self.theta) * y
        if y >= self.to:
            return self.t
        if self.kind == "flat":
            return self.b + (self.t - self.b) * (y - self.h) / (self.to - self.h)
        return self.centre[0] + self.way * math.sqrt(self.r**2 - (y - self.centre[1])**2)

    def slope_at_shoulder(self):
        if self.kind == "flat":
            return (self.t - self.b) / (self.to - self.h)
        return -self.way * (self.h - self.centre[1]) / math.sqrt(self.r**2 - (self.h - self.centre[1])**2)

    def breaks(self):
        return [self.h, self.to]


def lam(knife):
    edge, wear = knife["edge"], knife.get("wear", {})
    double = edge["kind"] == "double"
    theta = math.radians(edge["half_angle_deg"] if double else edge["angle_deg"])
    land, radius = wear.get("land_mm", 0), wear.get("radius_mm", 0)
    out = [land / (2 * math.tan(theta)) if double else land / math.tan(theta)]
    out.append(radius * (1 / math.sin(theta) - 1) if double else radius / math.tan(theta / 2))
    if wear.get("tip_flat_mm"):
        out.append(float(row_of(edge, edge["angle_deg"]).e(np.array(wear["tip_flat_mm"] / 2))))
    return max(out)


def integral(f, a, b, breaks=()):
    pts = sorted({a, b, *[p for p in breaks if a < p < b]})
    return sum(quad(f, u, v, epsabs=1e-13, epsrel=1e-12)[0] for u, v in zip(pts, pts[1:]))


def worn_away(knife, face):
    """Area wear has taken from the tip of the virtual wedge, whole section."""
    wear = knife.get("wear", {})
    if "land_mm" in wear:
        land = wear["land_mm"]
        return land * face.lam / 2
    if "radius_mm" in wear:
        r = wear["radius_mm"]
        half = face.theta if face.double else face.theta / 2
        # The kite between apex, tangent points and centre, less the circle's sector in it.
        return r * r / math.tan(half) - r * r * (math.pi - 2 * half) / 2
    return 0.0


def plain(knife, delta, target_deg):
    """Removed section, thickness behind the edge, face length, thinning area, stiffness."""
    face = Face(knife)
    apex = face.lam + delta
    slope = math.tan(math.radians(target_deg))
    cut = lambda y: slope * (y - apex)
    if face.kind == "flat":
        # Polygons: the whole side as a polygon, the new V as another.
        side = shapely.Polygon([(0, 0), (face.b, face.h), (face.t, face.to), (face.t, face.top), (0, face.top)])
        keep = shapely.Polygon([(0, apex), (slope * BIG, apex + BIG), (0, apex + BIG)])
        left = side.intersection(keep)
        taken = side.area - left.area
    else:
        left = None
        taken = None
    gap = lambda y: face.x(y) - cut(y)
    # Where the new face comes out: the first sign change on a ladder, then Brent.
    ys = sorted({apex + 1e-12, *np.linspace(apex + 1e-12, face.top, 4000), face.h, face.to})
    ys = [y for y in ys if y >= apex]
    out = None
    for a, b in zip(ys, ys[1:]):
        if gap(a) > 1e-13 and gap(b) <= 0:
            out = brentq(gap, a, b, xtol=1e-14, rtol=1e-15)
            break
    if out is None:
        return None
    if taken is None:
        taken = integral(face.x, 0, apex, face.breaks()) + integral(gap, apex, out, face.breaks())
    on_old_bevel = out < face.h * (1 - 1e-9)
    behind = knife["blade"]["behind_edge_mm"] if on_old_bevel else face.sides * cut(out)
    bevel = math.hypot(out - apex, cut(out))
    after = lambda y: min(cut(y), face.x(y)) if y < out else face.x(y)
    wanted = knife["target"].get("behind_edge_mm")
    thinning = 0.0
    thin = None
    if wanted is not None and behind > wanted * (1 + 1e-12):
        foot, end = apex + wanted / face.sides / slope, apex + knife["target"].get("thin_to_mm", 12)
        if end <= face.top and foot < end:
            p, q = wanted / face.sides, face.x(end)
            steep = (q - p) / (end - foot)
            if steep < slope and not on_old_bevel:
                line = lambda y: p + steep * (y - foot)
                finish = end
                if face.kind == "hollow":
                    grid = np.linspace(foot, end, 4000)[1:-1]
                    for a, b in zip(grid, grid[1:]):
                        if after(a) > line(a) and after(b) <= line(b):
                            finish = brentq(lambda y: after(y) - line(y), a, b)
                            break
                thinning = integral(lambda y: max(after(y) - line(y), 0), foot, finish, [out, *face.breaks()])
                before_thin = after
                thin = lambda y: line(y) if foot < y < finish else before_thin(y)
                behind = wanted
                bevel = wanted / face.sides / math.sin(math.radians(target_deg))
            else:
                return None
        else:
            return None
    final = thin or after
    marks = [out, *face.breaks()] + ([foot, finish] if thin else [])
    cube = lambda f, a: integral(lambda y: f(y)**3, a, face.top, marks)
    stiffness = 100 * cube(final, apex) / cube(face.x, face.lam)
    return {
        "section": face.sides * taken - worn_away(knife, face), "behind": behind, "face": bevel,
        "thinning": face.sides * thinning, "stiffness": stiffness, "on_old_bevel": on_old_bevel,
    }


def serrated(knife, delta, target_deg, old, lay):
    """The same for teeth: sections as polygons at Gauss nodes along the edge; `lay` is [(from, to, first tip)] with the new row."""
    face = Face(knife)
    blade = knife["blade"]
    b, t, top = blade["behind_edge_mm"], blade["spine_mm"], face.top
    k = (t - b) / top
    apex = face.lam + delta
    tan_old, tan_new = math.tan(face.theta), math.tan(math.radians(target_deg))
    wear = knife.get("wear", {})

    def section(e, tangent):
        """Metal above a bevel that starts at e on the back: a polygon between back, bevel, face and spine."""
        y = (b + e * tangent) / (tangent - k)
        if y >= top:  # runs out at the spine
            return [(0, e), (tangent * (top - e), top), (0, top)]
        return [(0, e), (b + k * y, y), (t, top), (0, top)]

    def worn(e):
        polygon = shapely.Polygon(section(e, tan_old))
        if wear.get("tip_flat_mm"):
            return polygon.intersection(shapely.box(-1, face.lam, BIG, BIG))
        if wear.get("land_mm"):
            return polygon.intersection(shapely.box(-1, e + face.lam, BIG, BIG))
        return polygon

    def taken(x, new, s):
        e = float(old.e(np.array(x)))
        start = apex + (float(new.e(np.array(x - s))) if new is not None else 0.0)
        keep = shapely.Polygon([(0, start), (BIG * tan_new, start + BIG), (0, start + BIG)])
        metal = worn(e)
        return metal.area - metal.intersection(keep).area

    total, width = 0.0, 0.0
    for lo, hi, s, new in lay:
        marks = {lo, hi, *old.kinks(0, lo, hi)}
        if new is not None:
            marks |= set(new.kinks(s, lo, hi))
        # Heights at which a section changes its law: the bevel runs out at the spine, before or after; a flat ends, or is as high as the bevel.
        spine = (top * (tan_old - k) - b) / tan_old
        levels = [spine, (top * (tan_new - k) - b) / tan_new - apex]
        if wear.get("tip_flat_mm"):
            levels += [face.lam, (face.lam * (tan_old - k) - b) / tan_old]
        ends = sorted(marks)
        for level in levels:
            over = lambda x: float(old.e(x)) - level
            marks |= {brentq(over, u, v, xtol=1e-13) for u, v in zip(ends, ends[1:]) if over(u) * over(v) < 0}
        marks = sorted(marks)
        if tan_new > tan_old:  # the bevel may end on the old one: finer, as the place where it begins to is not known here
            marks = sorted({u + (v - u) * i / 8 for u, v in zip(marks, marks[1:]) for i in range(9)})
        for u, v in zip(marks, marks[1:]):
            if v - u < 1e-12:
                continue
            xs = 0.5 * (u + v) + 0.5 * (v - u) * PLACES
            total += 0.5 * (v - u) * sum(w * taken(x, new, s) for x, w in zip(xs, SHARES))
        width += hi - lo
    mean = total / width
    if wear.get("radius_mm"):
        mean -= worn_away(knife, face)
    n_tip = (b + k * apex) / (1 - k / tan_new)
    bevel = n_tip / math.sin(math.radians(target_deg))
    behind = b + k * apex
    return {"section": mean, "behind": behind, "face": bevel, "thinning": 0.0}


# ---------------------------------------------------------------- chips, hardness, life

def chip_volume(chips, length, thickness, breaks):
    shapes = []
    for chip in chips:
        d, w, at = chip["depth_mm"], chip["width_mm"], chip["at_mm"]
        shapes.append(shapely.Polygon([(at - w / 2, 0), (at + w / 2, 0), (at, d)]))
    union = shapely.unary_union(shapes).intersection(shapely.box(0, 0, length, BIG))
    if union.is_empty:
        return 0.0
    levels = {round(y, 12) for y in shapely.get_coordinates(union)[:, 1]} | {b for b in breaks if b > 0}
    levels = sorted(y for y in levels if y <= union.bounds[3] + 1e-9)
    total = 0.0
    for a, b in zip(levels, levels[1:]):
        if b - a < 1e-12:
            continue
        for x, w in zip(NODES, WEIGHTS):
            y = 0.5 * (a + b) + 0.5 * (b - a) * x
            wide = union.intersection(shapely.LineString([(-1, y), (length + 1, y)])).length
            total += 0.5 * (b - a) * w * wide * thickness(y)
    return total


def toothed_chips(wear, length, face, old):
    """The same on teeth, where the edge a chip is measured from follows the teeth: columns of the union, each integrated up."""
    chips = wear.get("chips", [])
    if not chips:
        return 0.0
    lo = max(min(c["at_mm"] - c["width_mm"] / 2 for c in chips), 0)
    hi = min(max(c["at_mm"] + c["width_mm"] / 2 for c in chips), length)
    if hi <= lo:
        return 0.0
    x = lo + (np.arange(40000) + 0.5) * (hi - lo) / 40000
    depth = np.zeros_like(x)
    for c in chips:
        depth = np.maximum(depth, c["depth_mm"] * (1 - np.abs(x - c["at_mm"]) * 2 / c["width_mm"]))
    e = old.e(x)
    worn = np.maximum(face.lam - e, 0) if wear.get("tip_flat_mm") else np.full_like(x, face.lam)
    b, tan = face.b, math.tan(face.theta)
    k = (face.t - b) / face.top
    bevel = np.clip((b + k * e) / (tan - k) - worn, 0, depth)  # the part of the column inside the bevel
    column = tan * (worn * bevel + bevel**2 / 2)
    column += (b + k * (e + worn)) * (depth - bevel) + k * (depth**2 - bevel**2) / 2
    return float(column.sum() * (hi - lo) / 40000)


def hrc(hardness, y):
    edge, line = hardness["edge_hrc"], hardness.get("line_mm")
    if line is None or y <= line:
        return edge
    spine, transition = hardness["spine_hrc"], hardness.get("transition_mm", 0)
    if y >= line + transition:
        return spine
    u = (y - line) / transition
    return edge - (edge - spine) * (3 * u * u - 2 * u**3)


def hard_room(hardness, height):
    """Largest y that keeps least_hrc, by bisection on the definition."""
    least = hardness["least_hrc"]
    if hardness["spine_hrc"] >= least:
        return None
    lo, hi = 0.0, hardness["line_mm"] + hardness.get("transition_mm", 0) + 1e-6
    if hrc(hardness, 0) < least:
        return -math.inf
    for _ in range(200):
        mid = (lo + hi) / 2
        lo, hi = (mid, hi) if hrc(hardness, mid) >= least else (lo, mid)
    return lo


def services(room, median, spread, rng):
    if room <= 0:
        return (0, 0, 0)
    if spread == 0:
        n = math.floor(room / median + 1e-9)
        return (n, n, n)
    n = int(room / median * 2 + 60)
    counts = (np.cumsum(median * np.exp(spread * rng.standard_normal((1500, n))), axis=1) <= room).sum(axis=1)
    return tuple(np.percentile(counts, [10, 50, 90], method="inverted_cdf"))


# ---------------------------------------------------------------- what the answer should say

def recut(knife, answer, old, angle, target_deg, length):
    """How the new row lies on the old: what it costs, the new row, and [(from, to, first tip, new row)]."""
    edge, target = knife["edge"], knife["target"]
    wheel, mode = target.get("wheel"), target.get("mode", "full")
    if mode == "plain":
        return old.depth, None, [(0.0, old.p, 0.0, None)]
    if wheel is None:
        if target_deg == angle:
            return 0.0, None, [(0.0, old.p, 0.0, old)]
        new = old.at_angle(angle, target_deg)
        return mismatch(old, new, 0.0, 0, length), new, [(0.0, old.p, 0.0, new)]
    if mode == "tooth":
        # The wheel's own ridge on the old pitch; where it is too narrow for that it follows the tooth.
        p = edge["pitch_mm"]
        if wheel["form"] != "arc":
            new = Row(wheel["form"], p, target_deg, depth=wheel["depth_mm"] * p / wheel["pitch_mm"])
        elif wheel["ridge_radius_mm"] >= p / 2:
            new = Row("arc", p, target_deg, wheel["ridge_radius_mm"])
        else:
            new = old.at_angle(angle, target_deg)
        return max(mismatch(old, new, 0.0, 0, p), 0.0), new, [(0.0, p, 0.0, new)]
    new = row_of(wheel, target_deg)
    width = length if mode == "full" else target["ridges"] * new.p
    cost, lay, lo = 0.0, [], 0.0
    while lo < length - 1e-9:
        hi = min(lo + width, length)
        grid = [(mismatch(old, new, s, lo, hi), s) for s in lo + np.linspace(0, new.p, 161)]
        best = min(grid)
        if mode == "full":
            # The answer's phase must be as good as the best of a grid, up to the reading of one phase.
            s = answer["registration"]["phase_mm"]
            own = mismatch(old, new, s, lo, hi)
            assert own <= best[0] + 2e-6, ("registration", own, best, s, json.dumps(knife))
            best = (own, s)
        else:
            step = new.p / 160
            for _ in range(6):
                best = min([(mismatch(old, new, s, lo, hi), s) for s in best[1] + np.linspace(-step, step, 21)] + [best])
                step /= 8
        cost = max(cost, best[0])
        lay.append((lo, hi, best[1], new))
        lo = hi
    # Rows that repeat together are told by one pitch, others by the whole edge.
    if mode == "full" and new.p == old.p:
        lay = [(0.0, old.p, lay[0][2], new)]
    return cost, new, lay


def along(knife, delta, target_deg):
    """A tapering blade with a curved edge: the local section by Gauss nodes, the edge's length by a spline of scipy's."""
    more, blade = knife["more"], knife["blade"]
    heel, tip = more["stations"]
    end = blade["edge_length_mm"] - knife.get("wear", {}).get("tip_missing_mm", 0)
    x, y = np.array(more["edge_line"]).T
    slope = CubicSpline(x, y, bc_type="natural").derivative()
    length = integral(lambda v: math.sqrt(1 + float(slope(v))**2), 0, end, x)
    nodes, weights = np.polynomial.legendre.leggauss(5)
    total = 0.0
    for node, weight in zip(0.5 * end * (nodes + 1), 0.5 * end * weights):
        share = node / blade["edge_length_mm"]
        local = json.loads(json.dumps(knife))
        for key in ("height_mm", "behind_edge_mm", "spine_mm"):
            local["blade"][key] = heel[key] + share * (tip[key] - heel[key])
        found = plain(local, delta, target_deg)
        if found is None:
            return None
        total += weight * found["section"]
    return {"along.edge_length_mm": length, "along.section_mm2": total / end, "along.edge_mm3": total / end * length}


def expected(knife, answer, rng):
    """What the contract says, or None when this random knife is not one the contract has an answer for."""
    edge, blade, wear, target = knife["edge"], knife["blade"], knife.get("wear", {}), knife["target"]
    kind = edge["kind"]
    angle = edge.get("half_angle_deg") or edge["angle_deg"]
    target_deg = target.get("half_angle_deg") or target.get("angle_deg") or angle
    wheel = target.get("wheel")
    if wheel:
        target_deg = wheel["angle_deg"]
    face = Face(knife)
    length = blade["edge_length_mm"] - wear.get("tip_missing_mm", 0)
    deepest = max([c["depth_mm"] for c in wear.get("chips", []) if c["at_mm"] - c["width_mm"] / 2 < length], default=0)
    teeth = max([t["broken_to_mm"] for t in wear.get("missing_teeth", [])
                 if not t.get("leave") and t["at_mm"] <= length], default=0)
    cost, lay, old, new = 0.0, None, None, None
    if kind == "serrated":
        old = row_of(edge, angle)
        cost, new, lay = recut(knife, answer, old, angle, target_deg, length)
    delta = max(deepest, teeth, cost) + target["allowance_mm"]
    if kind != "double" and wear.get("radius_mm", 0):
        delta = max(delta, wear["radius_mm"])
    if kind == "serrated":
        found = serrated(knife, delta, target_deg, old, lay)
        if target_deg > angle:
            # A steeper bevel may end on the old one at the tip: then the face is that long only.
            apex = face.lam + delta
            to, tn = math.tan(face.theta), math.tan(math.radians(target_deg))
            found["face"] = min(found["face"], apex * to * tn / (tn - to) / math.sin(math.radians(target_deg)))
    else:
        found = plain(knife, delta, target_deg)
        if found is None:
            return None
    if kind == "serrated":
        gone = toothed_chips(wear, length, face, old)
    else:
        def thickness(y):
            r = wear.get("radius_mm", 0)
            if kind == "double" and r and y < r * (1 - math.sin(face.theta)):
                return 2 * math.sqrt(max(r * r - (r - y)**2, 0))
            return face.sides * face.x(face.lam + y)
        breaks = [v - face.lam for v in face.breaks()]
        if kind == "double" and wear.get("radius_mm"):
            # The round bottom begins like a square root: a few short steps up to where the flats begin.
            reach = wear["radius_mm"] * (1 - math.sin(face.theta))
            breaks += [reach * f for f in (1e-4, 1e-3, 0.01, 0.1, 0.4, 1)]
        gone = chip_volume(wear.get("chips", []), length, thickness, breaks)
    edge_mm3 = found["section"] * length - gone
    more = along(knife, delta, target_deg) if "more" in knife else {}
    if more is None:
        return None
    out = {**more,
        "recession_mm": delta, "height_after_mm": blade["height_mm"] - delta,
        "removed.section_mm2": found["section"], "removed.edge_mm3": edge_mm3,
        "removed.thinning_mm3": found["thinning"] * length,
        "after.behind_edge_mm": found["behind"], "after.bevel_face_mm": found["face"],
    }
    if "stiffness" in found:
        out["after.stiffness_pct"] = found["stiffness"]
    hardness = blade.get("hardness")
    if hardness:
        out["after.edge_hrc"] = hrc(hardness, delta)
    # Life.
    gullet = (new or old).depth if kind == "serrated" and target.get("mode") != "plain" else 0
    rooms = []
    if "least_height_mm" in blade:
        rooms.append((blade["height_mm"] - delta - blade["least_height_mm"], "height"))
    if hardness:
        room = hard_room(hardness, blade["height_mm"])
        if room is not None:
            rooms.append((room - delta - gullet, "hardness"))
    if "behind_edge_mm" in target:
        rise, slope = target.get("thin_to_mm", 12), math.tan(math.radians(target_deg))
        fits = lambda climb: face.x(min(face.lam + climb + rise, face.top)) < slope * rise
        room = face.top - rise - face.lam
        if not fits(room):
            lo, hi = -face.lam, room
            for _ in range(100):
                mid = (lo + hi) / 2
                lo, hi = (mid, hi) if fits(mid) else (lo, mid)
            room = lo
        rooms.append((room - delta, "thickness"))
    if rooms:
        least = min(r for r, _ in rooms)
        out["limited_by"] = next(name for r, name in rooms if r <= least + 1e-9)
        later = knife["typical_recession_mm"]
        out["services"] = services(least, later["median"], later["spread"], rng)
        out["near"] = later["spread"] == 0 and abs(least / later["median"] + 1e-9 - round(least / later["median"])) < 1e-6
    else:
        out["limited_by"], out["services"] = "none", None
    return out


def compare(knife, answer, want):
    wrong = []
    for key, value in want.items():
        if key in ("limited_by", "services", "near"):
            continue
        got = answer
        for part in key.split("."):
            got = got[part]
        # Registration is brute force: its own grid error is the tolerance; everything else agrees to 1e-7.
        loose = 1e-7
        if "wheel" in knife["target"]:
            loose = 2e-3
        elif key.startswith("along."):
            loose = 1e-6
        elif key in ("removed.section_mm2", "removed.edge_mm3") and knife["edge"]["kind"] == "serrated":
            # Nodes here are not placed where a flat or a steeper bevel changes its law along a tooth.
            loose = 2e-5
        tolerance = loose * max(abs(value), 1e-3) + 1e-9
        if got is None or abs(got - value) > tolerance:
            wrong.append((key, value, got))
    removed = answer["removed"]
    parts = removed["edge_mm3"] + removed["thinning_mm3"] + removed["tip_mm3"]
    if abs(parts - removed["total_mm3"]) > 1e-8 * max(parts, 1):
        wrong.append(("removed.total_mm3", parts, removed["total_mm3"]))
    if abs(removed["mass_g"] - parts * DENSITY[knife["steel"]]) > 1e-8 * max(parts, 1):
        wrong.append(("removed.mass_g", parts * DENSITY[knife["steel"]], removed["mass_g"]))
    if answer["limited_by"] != want["limited_by"]:
        wrong.append(("limited_by", want["limited_by"], answer["limited_by"]))
    left = answer["services_left"]
    if want["services"] is None:
        if left is not None:
            wrong.append(("services_left", None, left))
    else:
        got = (left["p10"], left["p50"], left["p90"])
        spread = knife["typical_recession_mm"]["spread"]
        for a, b in zip(got, want["services"]):
            slack = (1 if want["near"] or "wheel" in knife["target"] else 0) if spread == 0 else 1 + 0.02 * b
            if abs(a - b) > slack:
                wrong.append(("services_left", want["services"], got))
                break
    return wrong


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--bin", help="program to judge")
    parser.add_argument("--bare", action="store_true", help="the program is the stream itself, without `estimate`")
    parser.add_argument("--knives", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=20260)
    parser.add_argument("--write", metavar="FILE", help="only write the knives, one request a line")
    options = parser.parse_args()
    rng = random.Random(options.seed)
    knives = [random_knife(rng) for _ in range(options.knives)]
    if options.write:
        with open(options.write, "w", encoding="utf-8") as out:
            out.writelines(json.dumps(knife) + "\n" for knife in knives)
        return
    if not options.bin:
        parser.error("--bin is needed to judge")
    command = shlex.split(options.bin) + ([] if options.bare else ["estimate"])
    stream = "".join(json.dumps(knife) + "\n" for knife in knives)
    run = subprocess.run(command, input=stream, capture_output=True, text=True, check=False)
    refused = {}
    for line in run.stderr.splitlines():
        record = json.loads(line)
        refused[record["line"] - 1] = record
    answers = iter(run.stdout.splitlines())
    numbers = np.random.default_rng(options.seed)
    compared, out_of_scope, failures = 0, 0, []
    for i, knife in enumerate(knives):
        if i in refused:
            reason = impossible(knife)
            if reason is None:
                failures.append((i, knife, [("refused", "an answer", refused[i])]))
            else:
                out_of_scope += 1
            continue
        answer = json.loads(next(answers))
        reason = impossible(knife)
        if reason is not None:
            failures.append((i, knife, [("answered", reason, answer["recession_mm"])]))
            continue
        want = expected(knife, answer, numbers)
        if want is None:
            out_of_scope += 1
            continue
        compared += 1
        wrong = compare(knife, answer, want)
        if wrong:
            failures.append((i, knife, wrong))
    for i, knife, wrong in failures[:8]:
        print(f"knife {i}: {json.dumps(knife)}")
        for key, value, got in wrong:
            print(f"    {key}: expected {value}, got {got}")
    print(f"{compared} knives compared, {out_of_scope} impossible or without an answer, {len(failures)} wrong")
    if failures or compared < 0.7 * options.knives:
        sys.exit(1)


def impossible(knife):
    """Why no such knife exists, by the contract's rules; None when it does."""
    edge, blade, target = knife["edge"], knife["blade"], knife["target"]
    angle = edge.get("half_angle_deg") or edge["angle_deg"]
    target_deg = target.get("half_angle_deg") or target.get("angle_deg") or angle
    if "wheel" in target:
        target_deg = target["wheel"]["angle_deg"]
    if edge["kind"] == "serrated":
        k = (blade["spine_mm"] - blade["behind_edge_mm"]) / (blade["height_mm"] + lam(knife))
        if k >= math.tan(math.radians(min(angle, target_deg))):
            return "bevel flatter than the blade's own taper"
        return None
    sides = 2 if edge["kind"] == "double" else 1
    h = blade["behind_edge_mm"] / sides / math.tan(math.radians(angle))
    to = blade.get("grind", {}).get("to_mm", blade["height_mm"]) + lam(knife)
    if h >= to:
        return "shoulder above the grind"
    grind = blade.get("grind", {})
    if grind.get("kind", "flat") != "flat":
        chord = math.hypot((blade["spine_mm"] - blade["behind_edge_mm"]) / sides, to - h)
        if grind["radius_mm"] < chord / 2:
            return "radius under the half chord"
    face = Face(knife)
    slope = face.slope_at_shoulder()
    if slope < 0:
        return "thinner than behind the edge"
    if slope >= math.tan(math.radians(min(angle, target_deg))):
        return "edge angle under the primary's"
    return None


if __name__ == "__main__":
    main()
