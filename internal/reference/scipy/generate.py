#!/usr/bin/python3
"""Writes the fixtures of this folder; with --check recomputes and compares them.

Every case is solved again by solve_bvp when writing, the first of each family when checking.

usage: generate.py [--check] [family letter ... | dynamics]
"""
import json
import math
import os
import platform
import re
import sys

import numpy as np
import scipy

sys.dont_write_bytecode = True

import cases
import dynamics
import statics

HERE = os.path.dirname(os.path.abspath(__file__))
RELATIVE = 1e-8


def chain_guess(s, case):
    """A start for a rig without branches: move the whole line so that its end meets the tip (or its board the surface)."""
    n0 = s.order[0]
    x = {f"{n0}.x": -30.0, f"{n0}.y": 0.0, f"{n0}.z": float(case["_z0"])}
    floats = [n["id"] for n in case["nodes"] if n["role"] == "board"]
    for _ in range(4):
        res, out = s.run([x[n] for n in s.names])
        x[f"{n0}.x"] -= res[0]
        x[f"{n0}.y"] -= res[1]
        x[f"{n0}.z"] -= out["pos"][floats[0]][2] if floats else res[2]
        x[f"{n0}.z"] = max(x[f"{n0}.z"], 0.05)
    return x


def vec(a):
    return [float(v) + 0.0 for v in a]


def stretched(s, i, out):
    """Stretched length of line i, by Gauss-Legendre quadrature of the tension."""
    keep = {}
    s.run([out["x"][n] for n in s.names], keep)
    ln, total = s.lines[i], 0.0
    gx, gw = np.polynomial.legendre.leggauss(40)
    for p in keep[i]:
        sec = ln["sections"][p["section"]]
        span = p["s1"] - p["s0"]
        if not sec["axial_stiffness_n"]:
            total += span
            continue
        if span <= 0:
            continue
        at = p["s0"] + span * (gx + 1) / 2
        sol = statics.solve_ivp(statics.make_rhs(s.water, sec, p["layer"]), (p["s0"], p["s1"]), p["y0"], method="DOP853",
                                rtol=statics.RTOL, atol=statics.ATOL, max_step=span / 8, t_eval=at)
        ten = np.sqrt((sol.y[3:] ** 2).sum(0))
        total += span + span / 2 * float(gw @ ten) / sec["axial_stiffness_n"]
    return total


def ring_stability(s, out, best):
    """d(driving force up the belly)/d(ring position), from the ring held 5 cm off its place: negative is stable."""
    rings = [n for n in s.nodes.values() if n["kind"] == "ring"]
    if not rings:
        return None
    lo, hi = rings[0]["slides_on"]
    net = []
    for h in (-0.05, 0.05):
        held = lambda v, h=h: _held(s, v, lo, out["x"][lo + ".length"] + h)
        sol = statics.root(held, best, method="hybr", options=dict(xtol=1e-11, eps=1e-8))
        assert np.abs(sol.fun).max() < 1e-7, "held ring not found"
        _, o = s.run(sol.x)
        net.append(float(np.linalg.norm(o["force"][hi]) - np.linalg.norm(o["top"][lo][3:])))
    # Tension above less tension below is what friction would have to give to hold the ring there;
    # the load that drives the ring up the line is its negative.
    return -(net[1] - net[0]) / 0.1


def _held(s, v, lo, length):
    r, o = s.run(v)
    free = [ln["id"] for ln in s.case["lines"] if ln["free"]]
    r = r.copy()
    r[len(r) - len(free) + free.index(lo)] = o["x"][lo + ".length"] - length
    return r


def solve(case, bvp):
    s = statics.System(case)
    guess = case["_guess"] or chain_guess(s, case)
    best, norm, count = s.solve(guess)
    _, out = s.run(best)
    nodes, lines = [], []
    for n in s.nodes.values():
        i = n["id"]
        nodes.append(dict(id=i, position_m=vec(out["pos"][i]), force_n=vec(out["own"].get(i, np.zeros(3)))))
    worst = 0.0
    for n in s.order:
        if s.nodes[n]["kind"] == "fixed" or (s.bottom and not s.below[n]):
            continue
        f = sum((out["force"][ln["id"]] for ln in s.above[n]), np.zeros(3)) + out["own"][n]
        f = f - sum((out["top"][ln["id"]][3:] for ln in s.below[n]), np.zeros(3))
        worst = max(worst, float(np.abs(f).max()))
    for ln in case["lines"]:
        i = ln["id"]
        lower, upper = out["force"][i], out["top"][i][3:]
        un = out["x"][i + ".length"] if ln["free"] else sum(c["length_m"] for c in ln["sections"])
        st = stretched(s, i, out)
        if out["laid"] and not s.below[ln["from"]]:
            st += out["laid"]["flat"]
        lines.append(dict(id=i, unstretched_length_m=float(un), stretched_length_m=float(st), lower_force_n=vec(lower),
                          upper_force_n=vec(upper), lower_tension_n=float(np.linalg.norm(lower)),
                          upper_tension_n=float(np.linalg.norm(upper))))
    exp = dict(nodes=nodes, lines=lines,
               lures=[dict(id=n["id"], depth_m=float(out["pos"][n["id"]][2])) for n in case["nodes"] if n["role"] == "lure"],
               laid=None)
    if out["laid"]:
        la = out["laid"]
        exp["laid"] = dict(unstretched_length_m=float(la["ell"]), stretched_length_m=float(la["flat"]),
                           touchdown_m=vec(la["touch"]), tension_n=float(la["t1"]))
    info = dict(unknowns=s.names, residual_max=norm, evaluations=count, node_balance_max_n=worst,
                ring_stiffness_n_per_m=ring_stability(s, out, best), tension_invariant_n=invariant(case, out), bvp=None)
    if bvp:
        b = info["bvp"] = statics.cross_check(s, best)
        worst = max(b[k] for k in b if k.startswith("max_")) if b["success"] else math.inf
        if not worst < 1e-6:
            raise ArithmeticError(f"{case['id']}: solve_bvp disagrees: {b}")
    if info["ring_stiffness_n_per_m"] is not None and not info["ring_stiffness_n_per_m"] < 0:
        raise ArithmeticError(f"{case['id']}: the ring is not at a stable place")
    return exp, info


def invariant(case, out):
    """T + T^2/2EA less the work of weight, upper less lower end: zero for one section without tangential drag."""
    if len(case["lines"]) != 1 or case["water"]["temperature"] or case["bottom"]:
        return None
    ln = case["lines"][0]
    c = ln["sections"][0]
    if len(ln["sections"]) != 1 or c["tangential_coefficient"] or not c["axial_stiffness_n"]:
        return None
    e = lambda f: float(np.linalg.norm(f)) + float(f @ f) / (2 * c["axial_stiffness_n"])
    air = c["mass_per_length_kg_m"] * statics.G
    wet = air - case["water"]["density_kg_m3"] * math.pi * c["diameter_m"] ** 2 / 4 * statics.G
    zt, zb = out["pos"][ln["to"]][2], out["pos"][ln["from"]][2]
    return e(out["top"][ln["id"]][3:]) - e(out["force"][ln["id"]]) - wet * zb + air * zt


def family(name, make, bvp):
    got = []
    for k, c in enumerate(make()):
        exp, info = solve(c, bvp or k == 0)
        got.append(dict({k: v for k, v in c.items() if not k.startswith("_")}, expected=exp, solution=info))
        b = info["bvp"]
        print(f"{c['id']}: residual {info['residual_max']:.1e}, {info['evaluations']} evaluations, lures at "
              + ", ".join(f"{x['depth_m']:.3f}" for x in exp["lures"]) + " m"
              + (f"; bvp {b}" if b else ""), file=sys.stderr, flush=True)
    return dict(family=name, about="Computed by generate.py; equations and schema in README.md. Invented rigs, no real gear.",
                python=platform.python_version(), numpy=np.__version__, scipy=scipy.__version__,
                gravity_mps2=statics.G, cases=got)


def text(data):
    t = json.dumps(data, indent=1)
    t = re.sub(r"\[\s+((?:-?[\d.e+-]+|\"[^\"]*\")(?:,\s+(?:-?[\d.e+-]+|\"[^\"]*\"))*)\s+\]",
               lambda m: "[" + re.sub(r",\s+", ", ", m.group(1)) + "]", t)
    return t + "\n"


def compare(path, old, new, faults):
    """Numbers at RELATIVE of their own size; a vector's parts at that of the vector."""
    if isinstance(old, dict) and isinstance(new, dict):
        for k in sorted(set(old) | set(new)):
            if k not in old or k not in new:
                faults.append(f"{path}.{k}: only in the {'fixture' if k in old else 'new result'}")
            else:
                compare(f"{path}.{k}", old[k], new[k], faults)
    elif isinstance(old, list) and isinstance(new, list):
        if len(old) != len(new):
            faults.append(f"{path}: {len(old)} entries, now {len(new)}")
        elif old and all(isinstance(v, float) for v in old + new):
            scale = math.sqrt(sum(v * v for v in old))
            for k, (a, b) in enumerate(zip(old, new)):
                if not abs(a - b) <= RELATIVE * scale:
                    faults.append(f"{path}[{k}]: {a!r}, now {b!r}")
        else:
            for k, (a, b) in enumerate(zip(old, new)):
                i = a.get("id", k) if isinstance(a, dict) else k
                compare(f"{path}[{i}]", a, b, faults)
    elif isinstance(old, float) and isinstance(new, float):
        if not abs(old - new) <= RELATIVE * abs(old):
            faults.append(f"{path}: {old!r}, now {new!r}")
    elif old != new:
        faults.append(f"{path}: {old!r}, now {new!r}")


def main():
    args = sys.argv[1:]
    check = "--check" in args
    want = [a.lower() for a in args if not a.startswith("-")]
    faults = []
    if not want or "dynamics" in want:
        if check:
            faults += dynamics.check()
        else:
            dynamics.write(text)
    for name, make in cases.FAMILIES:
        if want and name[0] not in want:
            continue
        path = os.path.join(HERE, name + ".json")
        if not check:
            data = family(name, make, True)
            with open(path, "w") as f:
                f.write(text(data))
            continue
        if not os.path.exists(path):
            faults.append(f"{name}.json: missing")
            continue
        with open(path) as f:
            old = json.load(f)
        new = json.loads(text(family(name, make, False)))
        for data in (old, new):
            # The way to the root may differ between machines; the root may not.
            for c in data["cases"]:
                del c["solution"]
            for k in ("python", "numpy", "scipy"):
                del data[k]
        compare(name, old, new, faults)
    for f in faults:
        print(f)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
