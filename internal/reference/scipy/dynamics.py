"""Lines in motion: the reference of package tow/dynamics, by solve_ivp (Radau).

The same equations as the project's own (docs/theory.md, "A line in motion"), written
again: equal segments between points that carry the mass; a segment pulls by its stretch
and does not push; its load is taken where the middle of its wet part is and shared by
its two ends; the water's mass counts across the segments. The course is integrated along
with the points.
"""

import json
import math
import os
import platform
import sys

import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import root
from scipy.sparse import lil_matrix

G = 9.80665
EDGE = 0.02  # m over which a level segment passes the surface


def cheng(re):
    re = np.maximum(re, 1e-12)
    return 11 * re ** -0.75 + 0.9 * (1 - np.exp(-1000 / re)) + 1.2 * (1 - np.exp(-((re / 4500) ** 0.7)))


class Chain:
    """One line of equal segments from a tip on the boat (point 0) to a body (point n)."""

    def __init__(self, case):
        self.c = case
        self.n = case["segments"]
        ln = case["line"]
        self.piece = ln["length_m"] / self.n
        self.rho, self.nu = case["density_kg_m3"], case["kinematic_viscosity_m2_s"]
        cross = math.pi * ln["diameter_m"] ** 2 / 4
        self.mu = ln["mass_per_length_kg_m"]
        self.added = self.rho * cross
        self.weight = (self.mu - self.rho * cross) * G
        self.d, self.ea, self.cf = ln["diameter_m"], ln["axial_stiffness_n"], ln["tangential_coefficient"]
        self.mass = np.full(self.n, self.mu * self.piece)
        self.mass[-1] = self.mu * self.piece / 2 + case["body"]["mass_kg"] + case["body"]["added_mass_kg"]
        prof = case["current"]
        self.cz = np.array([p["depth_m"] for p in prof] or [0.0])
        self.cx = np.array([p["x_mps"] for p in prof] or [0.0])
        self.cy = np.array([p["y_mps"] for p in prof] or [0.0])

    def current(self, z):
        return np.stack([np.interp(z, self.cz, self.cx), np.interp(z, self.cz, self.cy), np.zeros_like(z)], axis=-1)

    def legs(self, t):
        """Yaw rate and speed at time t."""
        left = t
        for leg in self.c["legs"]:
            if left < leg["duration_s"]:
                x = left / leg["duration_s"]
                return (leg["yaw_rad_s"][0] * (1 - x) + leg["yaw_rad_s"][1] * x,
                        leg["speed_mps"][0] * (1 - x) + leg["speed_mps"][1] * x)
            left -= leg["duration_s"]
        return 0.0, self.c["legs"][-1]["speed_mps"][1]

    def forces(self, r, v):
        """Force on every point but the tip, and 3x3 masses. r, v with the tip first."""
        d = r[:-1] - r[1:]  # toward the boat
        span = np.linalg.norm(d, axis=1)
        t = d / span[:, None]
        pull = np.maximum(0.0, self.ea * (span / self.piece - 1))
        lower, upper = r[1:, 2], r[:-1, 2]
        half = np.maximum(np.abs(lower - upper) / 2, EDGE / 2)
        wet = np.clip(0.5 + (lower + upper) / 2 / (2 * half), 0, 1)
        lean = (lower - upper) / (2 * half)
        a = 0.5 + (1 - wet) / 2 * lean  # lower end's share of the wet load
        b = 1 - a
        dry = 0.5 - wet / 2 * lean
        z = a * lower + b * upper
        u = self.current(z) - a[:, None] * v[1:] - b[:, None] * v[:-1]
        ut = np.sum(u * t, axis=1)
        un = u - ut[:, None] * t
        q = np.linalg.norm(un, axis=1)
        cn = self.c["line"]["normal_coefficient"]
        cn = cheng(q * self.d / self.nu) if cn == "auto" else np.full_like(q, cn)
        f = 0.5 * self.rho * self.d * (cn * q)[:, None] * un
        f += (0.5 * self.rho * self.cf * math.pi * self.d * np.abs(ut) * ut)[:, None] * t
        f[:, 2] += self.weight
        f *= (self.piece * wet)[:, None]
        air = self.mu * G * self.piece * (1 - wet)
        out = np.zeros_like(r)
        out[1:] += pull[:, None] * t + a[:, None] * f
        out[:-1] += -pull[:, None] * t + b[:, None] * f
        out[1:, 2] += dry * air
        out[:-1, 2] += (1 - dry) * air
        body = self.c["body"]
        ub = self.current(r[-1:, 2])[0] - v[-1]
        out[-1] += 0.5 * self.rho * body["drag_area_m2"] * np.linalg.norm(ub) * ub
        out[-1, 2] += (body["mass_kg"] - self.rho * body["volume_m3"]) * G
        across = (self.added * self.piece * wet / 2)[:, None, None] * (np.eye(3) - t[:, :, None] * t[:, None, :])
        m = self.mass[:, None, None] * np.eye(3)
        m = m + across
        m[:-1] += across[1:]
        return out[1:], m

    def tip(self, pose, yaw, speed):
        x, y, psi = pose
        s, c = math.sin(psi), math.cos(psi)
        ax, ay, az = self.c["tip_m"]
        qx, qy = c * ax - s * ay, s * ax + c * ay
        top = self.current(np.zeros(1))[0]
        vel = np.array([speed * c + top[0] - yaw * qy, speed * s + top[1] + yaw * qx, 0.0])
        return np.array([x + qx, y + qy, az]), vel

    def rhs(self, t, y):
        yaw, speed = self.legs(t)
        pose = y[:3]
        rt, vt = self.tip(pose, yaw, speed)
        n = self.n
        r = np.vstack([rt, y[3:3 + 3 * n].reshape(n, 3)])
        v = np.vstack([vt, y[3 + 3 * n:].reshape(n, 3)])
        f, m = self.forces(r, v)
        acc = np.linalg.solve(m, f[:, :, None])[:, :, 0]
        top = self.current(np.zeros(1))[0]
        boat = [speed * math.cos(pose[2]) + top[0], speed * math.sin(pose[2]) + top[1], yaw]
        return np.concatenate([boat, v[1:].ravel(), acc.ravel()])

    def sparsity(self):
        n = self.n
        s = lil_matrix((3 + 6 * n, 3 + 6 * n), dtype=int)
        s[:2, 2] = 1
        for i in range(n):
            rows = slice(3 + 3 * n + 3 * i, 6 + 3 * n + 3 * i)
            for k in range(3):
                s[3 + 3 * i + k, 3 + 3 * n + 3 * i + k] = 1
            for j in range(max(0, i - 1), min(n, i + 2)):
                s[rows, 3 + 3 * j:6 + 3 * j] = 1
                s[rows, 3 + 3 * n + 3 * j:6 + 3 * n + 3 * j] = 1
            if i == 0:
                s[rows, :3] = 1
        return s

    def rest(self):
        """Places at rest in the boat's frame."""
        speed = self.c["legs"][0]["speed_mps"][0]
        n = self.n
        top = self.current(np.zeros(1))[0]
        going = np.array([speed + top[0], top[1], 0.0])
        tip = np.array(self.c["tip_m"])

        def balance(x):
            r = np.vstack([tip, x.reshape(n, 3)])
            f, _ = self.forces(r, np.tile(going, (n + 1, 1)))
            return f.ravel()

        # From a straight line, by heavily damped motion, then a root.
        k = np.arange(1, n + 1)[:, None] * self.piece * 1.0005
        x = (tip + k * np.array([-0.6, 0.0, 0.8])).ravel()

        def slow(t, x):
            return balance(x)

        s = solve_ivp(slow, (0, 3e4), x, method="BDF", rtol=1e-6, atol=1e-8)
        got = root(balance, s.y[:, -1], tol=1e-13)
        worst = np.abs(balance(got.x)).max()
        if worst > 1e-7:
            raise ArithmeticError(f"{self.c['id']}: no rest, {worst}")
        return got.x.reshape(n, 3), going

    def run(self):
        r, going = self.rest()
        y = np.concatenate([[0, 0, 0], r.ravel(), np.tile(going, self.n)])
        times = np.arange(0, self.c["until_s"] + 0.5, self.c["every_s"])
        rows = [np.concatenate([[0.0], r[-1], r[self.n // 2 - 1]])]
        # A kink of the course ends a piece of the integration.
        kinks, at = [], 0.0
        for leg in self.c["legs"]:
            at += leg["duration_s"]
            kinks.append(at)
        t, counts = 0.0, 0
        for end in [k for k in kinks if k < self.c["until_s"]] + [self.c["until_s"]]:
            inside = times[(times > t) & (times <= end)]
            eval_at = np.unique(np.append(inside, end))
            s = solve_ivp(self.rhs, (t, end), y, method="Radau", rtol=1e-6, atol=1e-5,
                          t_eval=eval_at, jac_sparsity=self.sparsity())
            if not s.success:
                raise ArithmeticError(f"{self.c['id']}: {s.message}")
            counts += s.nfev
            for k, tk in enumerate(s.t):
                if tk in inside:
                    p = s.y[3:3 + 3 * self.n, k].reshape(self.n, 3)
                    rows.append(np.concatenate([[tk], p[-1], p[self.n // 2 - 1]]))
            y, t = s.y[:, -1], end
        return rows, counts


def leg(duration, yaw=(0.0, 0.0), speed=(0.0, 0.0)):
    return dict(duration_s=duration, yaw_rad_s=list(yaw), speed_mps=list(speed))


def turn(speed, rate, angle, ramp, before):
    s = (speed, speed)
    return [leg(before, speed=s), leg(ramp, (0.0, rate), s), leg(angle / abs(rate) - ramp, (rate, rate), s),
            leg(ramp, (rate, 0.0), s), leg(1000.0, speed=s)]


def cases():
    wire = dict(length_m=60.0, diameter_m=0.0005, mass_per_length_kg_m=0.0015, axial_stiffness_n=40000.0,
                normal_coefficient="auto", tangential_coefficient=0.02)
    mono = dict(length_m=40.0, diameter_m=0.0004, mass_per_length_kg_m=0.00014, axial_stiffness_n=250.0,
                normal_coefficient=1.2, tangential_coefficient=0.015)
    weight = dict(mass_kg=0.5, volume_m3=0.5 / 11300, added_mass_kg=0.022, drag_area_m2=0.0015)
    lure = dict(mass_kg=0.06, volume_m3=1e-5, added_mass_kg=0.005, drag_area_m2=0.003)
    base = dict(segments=20, density_kg_m3=999.7, kinematic_viscosity_m2_s=1.307e-6, current=[], every_s=2.0)
    shear = [dict(depth_m=0.0, x_mps=0.2, y_mps=0.1), dict(depth_m=12.0, x_mps=-0.05, y_mps=0.2),
             dict(depth_m=40.0, x_mps=0.0, y_mps=0.0)]
    return [
        dict(base, id="turn", description="a weight on wire through a half turn to starboard of 25 m radius",
             tip_m=[-0.5, 2.0, -1.5], line=wire, body=weight, until_s=160.0,
             legs=turn(1.1, 1.1 / 25, math.pi, 3.0, 10.0)),
        dict(base, id="stop", description="a lure on stretchy line; the boat loses its way in 5 s and lies still",
             tip_m=[0.0, -1.0, -1.0], line=mono, body=lure, until_s=120.0,
             legs=[leg(5.0, speed=(1.2, 1.2)), leg(5.0, speed=(1.2, 0.0)), leg(1000.0)]),
        dict(base, id="shear", description="the weight on wire turned to port in a current that changes with depth",
             tip_m=[-0.5, -2.0, -1.5], line=wire, body=weight, until_s=120.0, current=shear,
             legs=turn(1.0, -1.0 / 40, math.pi / 2, 3.0, 10.0)),
    ]


def number(v):
    return float(f"{v:.9g}")


def family():
    out = []
    for c in cases():
        chain = Chain(c)
        rows, counts = chain.run()
        names = ["t_s", "end_x_m", "end_y_m", "end_z_m", "mid_x_m", "mid_y_m", "mid_z_m"]
        out.append(dict(c, expected=dict(columns=names, rows=[[number(v) for v in row] for row in rows])))
        depths = [row[3] for row in rows]
        print(f"{c['id']}: {counts} evaluations, end from {min(depths):.3f} to {max(depths):.3f} m down", file=sys.stderr, flush=True)
    return dict(family="dynamics", about="Computed by dynamics.py; equations in its head and in docs/theory.md. Invented rigs, no real gear.",
                python=platform.python_version(), numpy=np.__version__, scipy=scipy.__version__,
                gravity_mps2=G, cases=out)


PATH = os.path.join(os.path.dirname(os.path.abspath(__file__)), "dynamics", "dynamics.json")

# How closely another machine's integration agrees: its steps may differ.
RELATIVE = 1e-4


def check():
    """Recomputes and returns the faults against the fixture."""
    with open(PATH) as f:
        old = json.load(f)
    new = family()
    faults = []
    for a, b in zip(old["cases"], json.loads(json.dumps(new["cases"]))):
        for k in a:
            if k != "expected" and a[k] != b.get(k):
                faults.append(f"dynamics.{a['id']}.{k}: {a[k]!r}, now {b.get(k)!r}")
        x, y = np.array(a["expected"]["rows"]), np.array(b["expected"]["rows"])
        if x.shape != y.shape:
            faults.append(f"dynamics.{a['id']}: {x.shape} figures, now {y.shape}")
            continue
        scale = np.abs(x[:, 3]).max()
        worst = np.abs(x - y).max()
        if not worst <= RELATIVE * scale:
            faults.append(f"dynamics.{a['id']}: off by {worst:.2e} m")
    if len(old["cases"]) != len(new["cases"]):
        faults.append("dynamics: other cases")
    return faults


def write(text):
    made = text(family())
    with open(PATH, "w") as f:
        f.write(made)
