"""Knives to compare: any shape, wear and damage a request can describe, some of them impossible on purpose."""
import math

DENSITY = {  # g/mm3, the published table
    "1.3505": 7.81e-3, "52100": 7.81e-3, "100Cr6": 7.81e-3, "1.4125": 7.65e-3, "440C": 7.65e-3, "420": 7.70e-3,
    "1.4109": 7.70e-3, "1.2842": 7.85e-3, "1.2379": 7.70e-3, "D2": 7.70e-3, "1095": 7.85e-3,
}


def random_knife(rng):
    kind = rng.choice(["double", "double", "single", "serrated", "serrated"])
    steel = rng.choice(list(DENSITY))
    height = round(rng.uniform(14, 80), 2)
    spine = round(rng.uniform(1.2, 4.0), 2)
    b = round(rng.uniform(0.1, min(0.9, spine - 0.2)), 3)
    blade = {"edge_length_mm": round(rng.uniform(60, 320), 1), "height_mm": height, "spine_mm": spine, "behind_edge_mm": b}
    knife = {"steel": steel, "blade": blade, "target": {"allowance_mm": round(rng.uniform(0, 0.6), 3)},
             "typical_recession_mm": {"median": round(rng.uniform(0.08, 0.4), 3),
                                      "spread": rng.choice([0, 0, 0, round(rng.uniform(0.1, 0.8), 2)])}}
    wear = {}
    if kind == "double":
        knife["edge"] = {"kind": kind, "half_angle_deg": round(rng.uniform(8, 30), 2)}
    elif kind == "single":
        knife["edge"] = {"kind": kind, "angle_deg": round(rng.uniform(10, 40), 2)}
    else:
        form = rng.choice(["arc", "wavy", "pointed"])
        pitch = round(rng.uniform(1.5, 10), 2)
        edge = {"kind": kind, "form": form, "pitch_mm": pitch, "angle_deg": round(rng.uniform(14, 40), 2)}
        if form == "arc":
            edge["ridge_radius_mm"] = round(pitch * rng.uniform(0.6, 2), 2)
        else:
            edge["depth_mm"] = round(pitch * rng.uniform(0.08, 0.35), 3)
        knife["edge"] = edge
    if kind != "serrated" and rng.random() < 0.45:
        grind = {"kind": rng.choice(["flat", "hollow", "convex"])}
        if rng.random() < 0.5:
            grind["to_mm"] = round(height * rng.uniform(0.45, 1), 2)
        if grind["kind"] != "flat":
            grind["radius_mm"] = round(math.exp(rng.uniform(math.log(150), math.log(8000))), 1)
        blade["grind"] = grind
    choice = rng.random()
    if choice < 0.35:
        wear["land_mm"] = round(rng.uniform(0.005, min(0.12, b * 0.6)), 4)
    elif choice < 0.5:
        wear["radius_mm"] = round(rng.uniform(0.002, 0.03), 4)
    elif choice < 0.75 and kind == "serrated":
        wear["tip_flat_mm"] = round(rng.uniform(0.05, 0.2) * knife["edge"]["pitch_mm"], 3)
    length = blade["edge_length_mm"]
    if rng.random() < 0.4:
        spots = [rng.uniform(0, length)] if rng.random() < 0.5 else [rng.uniform(0, length), 0, length]
        wear["chips"] = [{"depth_mm": round(rng.uniform(0.05, 1.5), 3), "width_mm": round(rng.uniform(0.2, 6), 3),
                          "at_mm": round(min(max(rng.choice(spots) + rng.uniform(-3, 3), 0), length), 2)}
                         for _ in range(rng.randint(1, 5))]
    if rng.random() < 0.15:
        wear["tip_missing_mm"] = round(rng.uniform(0.5, 12), 2)
        if rng.random() < 0.3:
            wear["keep_belly"] = True
    if kind == "serrated" and rng.random() < 0.2:
        wear["missing_teeth"] = [{"at_mm": round(rng.uniform(0, length * 0.8), 1), "leave": rng.random() < 0.3,
                                  "broken_to_mm": round(rng.uniform(0.2, 1.5), 2)} for _ in range(rng.randint(1, 3))]
    if wear:
        knife["wear"] = wear
    angle = knife["edge"].get("half_angle_deg") or knife["edge"]["angle_deg"]
    key = "half_angle_deg" if kind == "double" else "angle_deg"
    if rng.random() < (0.15 if kind == "serrated" else 0.3):
        knife["target"][key] = round(angle + rng.uniform(-5, 5), 2)
    if kind == "serrated" and rng.random() < 0.2:
        # A long scallop between short ones, or any mixture.
        base = knife["edge"]["pitch_mm"]
        teeth = []
        for _ in range(rng.randint(2, 3)):
            form, pitch = rng.choice(["arc", "wavy", "pointed"]), round(base * rng.uniform(0.5, 2), 3)
            size = {"ridge_radius_mm": round(pitch * rng.uniform(0.6, 2), 2)} if form == "arc" else {
                "depth_mm": round(pitch * rng.uniform(0.08, 0.35), 3)}
            teeth.append({"form": form, "pitch_mm": pitch, **size})
        knife["edge"] = {"kind": "serrated", "angle_deg": angle, "form": "mixed", "teeth": teeth}
        if "tip_flat_mm" in wear:
            wear["tip_flat_mm"] = round(0.1 * teeth[0]["pitch_mm"], 3)
            short = min(tooth["pitch_mm"] for tooth in teeth)
            if wear["tip_flat_mm"] > short:
                del wear["tip_flat_mm"]
    elif kind == "serrated" and rng.random() < 0.15:
        # Another wheel, new or worn rounder, over the whole edge, in indexed plunges, tooth by tooth, or to a plain edge.
        blade["edge_length_mm"] = length = round(rng.uniform(40, 90), 1)
        for chip in wear.get("chips", []):
            chip["at_mm"] = min(chip["at_mm"], length)
        for tooth in wear.get("missing_teeth", []):
            tooth["at_mm"] = min(tooth["at_mm"], length * 0.8)
        knife["target"].pop("angle_deg", None)
        own = knife["edge"]
        form = rng.choice([own["form"], "arc", "wavy", "pointed"])
        pitch = round(own["pitch_mm"] * rng.choice([1, 1.004, 1.01, 1.04, 0.97, 0.6]), 3)
        wheel = {"form": form, "pitch_mm": pitch, "angle_deg": round(angle + rng.choice([0, 0, -2, 2]), 2)}
        if form == "arc":
            wheel["ridge_radius_mm"] = round(pitch * rng.uniform(0.6, 2), 2)
        else:
            wheel["depth_mm"] = round(pitch * rng.uniform(0.08, 0.35), 3)
        if own["form"] == "arc" and rng.random() < 0.3:
            # The wheel that cut it, worn rounder since.
            wheel = {"form": "arc", "pitch_mm": own["pitch_mm"], "angle_deg": angle,
                     "ridge_radius_mm": round(own["ridge_radius_mm"] * rng.uniform(1, 1.2), 3)}
        knife["target"]["wheel"] = wheel
        way = rng.choice(["full", "indexed", "tooth", "plain"])
        if way != "full":
            knife["target"]["mode"] = way
        if way == "indexed":
            knife["target"]["ridges"] = rng.randint(2, 6)
        if way == "plain":
            del knife["target"]["wheel"]
    if kind != "serrated" and rng.random() < 0.3:
        knife["target"]["behind_edge_mm"] = round(b * rng.uniform(0.6, 1.3), 3)
        if rng.random() < 0.5:
            knife["target"]["thin_to_mm"] = round(rng.uniform(5, min(16, height * 0.7)), 2)
    if kind != "serrated" and "to_mm" not in blade.get("grind", {}) and rng.random() < 0.15:
        # A curved edge on a blade that tapers from heel to tip.
        rise = rng.uniform(0, 0.06) * length
        knife["more"] = {
            "stations": [{"at_mm": 0, "height_mm": height, "behind_edge_mm": b, "spine_mm": spine},
                         {"at_mm": length, "height_mm": round(height * rng.uniform(0.85, 1), 2), "behind_edge_mm": round(b * rng.uniform(0.8, 1), 3),
                          "spine_mm": round(spine * rng.uniform(0.9, 1), 3)}],
            "edge_line": [[round(length * u, 2), round(rise * u**2 + rng.uniform(-0.2, 0.2), 2)] for u in (0, 0.3, 0.55, 0.8, 1)],
        }
    if rng.random() < 0.6:
        blade["least_height_mm"] = round(height * rng.uniform(0.5, 0.9), 1)
    if rng.random() < 0.5:
        blade["hardness"] = {"edge_hrc": rng.choice([58, 61, 64]), "spine_hrc": rng.choice([30, 40, 52]),
                             "line_mm": round(height * rng.uniform(0.1, 0.6), 1), "least_hrc": rng.choice([50, 54, 57])}
        if rng.random() < 0.7:
            blade["hardness"]["transition_mm"] = round(rng.uniform(0.5, 6), 1)
    return knife
