"""Statics of lines and bodies towed by a boat, by general-purpose SciPy solvers.

Shooting: every line is integrated upward from its lower node with
scipy.integrate.solve_ivp (DOP853); the unknown positions, forces and lengths
are found with scipy.optimize.root. cross_check() states the same system anew
as a boundary value problem for scipy.integrate.solve_bvp, with its own
vectorised line loads. README.md in this folder holds equations and schema.
"""
import math

import numpy as np
from scipy.integrate import solve_bvp, solve_ivp
from scipy.optimize import root

G = 9.80665
RTOL = 1e-12
ATOL = np.array([1e-12, 1e-12, 1e-12, 1e-13, 1e-13, 1e-13])


def density(t):
    """Tanaka et al. (2001), Metrologia 38:301; t in deg C, kg/m3."""
    return 999.974950 * (1 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))


def viscosity(t):
    """IAPWS SR6-08 at 0.1 MPa; t in deg C, Pa s."""
    h = (t + 273.15) / 300.0
    return 1e-6 * (280.68 * h ** -1.9 + 511.45 * h ** -7.7 + 61.131 * h ** -19.6 + 0.45903 * h ** -40)


class Water:
    """Water as seen from the boat: u(z), rho(z), nu(z), and smooth layers."""

    def __init__(self, case):
        w = case["water"]
        self.rho, self.nu = w["density_kg_m3"], w["kinematic_viscosity_m2_s"]
        self.temp = [(p["depth_m"], p["temperature_c"]) for p in w["temperature"]]
        self.cur = [(p["depth_m"], p["x_mps"], p["y_mps"]) for p in w["current"]] or [(0.0, 0.0, 0.0)]
        self.v = np.array([self._current(0.0)[0] + case["speed_surface_mps"], self._current(0.0)[1]])
        self.levels = sorted({0.0} | {p[0] for p in self.cur if p[0] > 0} | {p[0] for p in self.temp if p[0] > 0})

    def _current(self, z):
        d = [p[0] for p in self.cur]
        return np.array([np.interp(z, d, [p[1] for p in self.cur]), np.interp(z, d, [p[2] for p in self.cur])])

    def u(self, z):
        c = self._current(max(z, 0.0)) - self.v
        return np.array([c[0], c[1], 0.0])

    def rho_at(self, z):
        if not self.temp:
            return self.rho
        return density(np.interp(z, [p[0] for p in self.temp], [p[1] for p in self.temp]))

    def layer_of(self, z, rising):
        """0 is the air; layer i lies between levels[i-1] and levels[i]."""
        i = sum(1 for level in self.levels if z > level)
        if not rising and z in self.levels:
            i += 1
        return i

    def layer(self, i):
        """Linear u and temperature inside layer i, continued beyond its ends: None in the air."""
        if i == 0:
            return None
        lo = self.levels[i - 1]
        hi = self.levels[i] if i < len(self.levels) else lo + 1.0
        a, b = self.u(lo), self.u(hi)
        slope = (b - a) / (hi - lo)
        if not self.temp:
            return (a[0] - slope[0] * lo, slope[0], a[1] - slope[1] * lo, slope[1], None, None)
        d, t = [p[0] for p in self.temp], [p[1] for p in self.temp]
        ta, tb = np.interp(lo, d, t), np.interp(hi, d, t)
        ts = (tb - ta) / (hi - lo)
        return (a[0] - slope[0] * lo, slope[0], a[1] - slope[1] * lo, slope[1], ta - ts * lo, ts)


def cheng(re):
    """Drag coefficient of a circular cylinder, Cheng (2013)."""
    return 11 * re ** -0.75 + 0.9 * (1 - math.exp(-1000 / re)) + 1.2 * (1 - math.exp(-(re / 4500) ** 0.7))


def make_rhs(water, sec, layer):
    d, m = sec["diameter_m"], sec["mass_per_length_kg_m"]
    cn, cf = sec["normal_coefficient"], sec["tangential_coefficient"]
    flex = 1.0 / sec["axial_stiffness_n"] if sec["axial_stiffness_n"] else 0.0
    lay = water.layer(layer)
    area = math.pi * d * d / 4

    def rhs(s, y):
        fx, fy, fz = y[3], y[4], y[5]
        ten = math.sqrt(fx * fx + fy * fy + fz * fz)
        tx, ty, tz = fx / ten, fy / ten, fz / ten
        st = 1 + ten * flex
        if lay is None:
            return [st * tx, st * ty, st * tz, 0.0, 0.0, -m * G]
        z = y[2]
        ux, uy = lay[0] + lay[1] * z, lay[2] + lay[3] * z
        if lay[4] is None:
            rho, nu = water.rho, water.nu
        else:
            t = lay[4] + lay[5] * z
            rho = density(t)
            nu = viscosity(t) / rho
        ut = ux * tx + uy * ty
        nx, ny, nz = ux - ut * tx, uy - ut * ty, -ut * tz
        un = math.sqrt(nx * nx + ny * ny + nz * nz)
        if cn == "auto":
            re = un * d / nu
            k = 0.5 * rho * d * un * cheng(re) if re > 1e-30 else 0.0
        else:
            k = 0.5 * rho * d * un * cn
        q = 0.5 * rho * cf * math.pi * d * abs(ut) * ut
        w = (m - rho * area) * G
        return [st * tx, st * ty, st * tz, -(k * nx + q * tx), -(k * ny + q * ty), -(w + k * nz + q * tz)]

    return rhs


def integrate(water, sections, lengths, y0, keep=None):
    """Carries (r, F) up the sections; keep, when a list, takes the smooth pieces."""
    y = np.array(y0, float)
    layer = None
    for si, (sec, total) in enumerate(zip(sections, lengths)):
        s = 0.0
        while True:
            if layer is None:
                layer = water.layer_of(y[2], y[5] < 0)
            rhs = make_rhs(water, sec, layer)
            events, marks = [], []
            if layer > 0:
                top = water.levels[layer - 1]
                e = lambda s, y, level=top: y[2] - level
                e.terminal, e.direction = True, -1
                events.append(e)
                marks.append((top, layer - 1))
            if layer < len(water.levels):
                low = water.levels[layer]
                e = lambda s, y, level=low: y[2] - level
                e.terminal, e.direction = True, 1
                events.append(e)
                marks.append((low, layer + 1))
            sol = solve_ivp(rhs, (s, total), y, method="DOP853", rtol=RTOL, atol=ATOL, events=events)
            if not sol.success and sol.status != 1:
                raise ArithmeticError(sol.message)
            if sol.status != 1:
                if keep is not None:
                    keep.append(dict(section=si, s0=s, s1=total, y0=y.copy(), layer=layer, level=None))
                y = sol.y[:, -1]
                break
            j = next(i for i, t in enumerate(sol.t_events) if len(t))
            level, nxt = marks[j]
            se = sol.t_events[j][0]
            # The interpolant inside a step is of lower order than the step:
            # the crossing is settled by integrating right up to it.
            for _ in range(3):
                if se <= s:
                    end = y.copy()
                    break
                end = solve_ivp(rhs, (s, se), y, method="DOP853", rtol=RTOL, atol=ATOL).y[:, -1]
                miss = (end[2] - level) / rhs(se, end)[2]
                if abs(miss) < 1e-14:
                    break
                se -= miss
            if total - se < 1e-9:
                # The section ends on the level itself (a tip at the water): nothing lies beyond.
                if keep is not None:
                    keep.append(dict(section=si, s0=s, s1=total, y0=y.copy(), layer=layer, level=None))
                y = solve_ivp(rhs, (s, total), y, method="DOP853", rtol=RTOL, atol=ATOL).y[:, -1]
                break
            if keep is not None:
                keep.append(dict(section=si, s0=s, s1=se, y0=y.copy(), layer=layer, level=level))
            y, s, layer = end, se, nxt
    return y


# sin a cos a, sin^2 a, sin^2 a cos a: a flat disc's normal force is a sum of these.
PLATE_SHAPES = (lambda a: math.sin(2 * a) / 2, lambda a: (1 - math.cos(2 * a)) / 2,
                lambda a: (math.cos(a) - math.cos(3 * a)) / 4)


def plate_normal(a, at_45):
    """Normal-force coefficient of a disc: slope 32/(8 + pi^2) at a = 0, 1.17 at 90 deg, at_45 at 45 deg."""
    rows = [[1.0, 0.0, 0.0],  # slopes at no incidence
            [f(math.pi / 2) for f in PLATE_SHAPES], [f(math.pi / 4) for f in PLATE_SHAPES]]
    weights = np.linalg.solve(rows, [32 / (8 + math.pi ** 2), 1.17, at_45])
    return sum(w * f(a) for w, f in zip(weights, PLATE_SHAPES))


def body_force(water, loads, z, pulls):
    """Sum of a node's own loads; pulls: line id -> tension at that line's upper end."""
    f = np.zeros(3)
    u, rho = water.u(z), water.rho_at(z)
    sp = np.linalg.norm(u)
    down = np.array([0.0, 0.0, 1.0])
    e = u / sp
    dhat = down - (down @ e) * e
    dhat /= np.linalg.norm(dhat)
    shat = np.cross(e, down)
    shat /= np.linalg.norm(shat)
    q = 0.5 * rho * sp * sp
    for ld in loads:
        kind = ld["type"]
        if kind == "weight":
            f += ld["submerged_n"] * down
        elif kind == "drag":
            f += q * ld["drag_area_m2"] * e
        elif kind == "lift":
            b = math.radians(ld["roll_deg"])
            f += q * ld["lift_area_m2"] * (math.cos(b) * dhat + math.sin(b) * shat)
        elif kind == "side":
            f += q * ld["side_area_m2"] * shat
        elif kind == "kite":
            a = math.radians(ld["incidence_deg"]) - ld["incidence_loss_rad_per_n"] * pulls.get(ld["leader_line"], 0.0)
            c = plate_normal(a, ld["normal_coefficient_45"])
            b = math.radians(ld["roll_deg"])
            f += q * ld["area_m2"] * (c * math.sin(a) * e + c * math.cos(a) * (math.cos(b) * dhat + math.sin(b) * shat))
        elif kind == "buoyancy":
            h = ld["immersion_height_m"]
            f += (ld["weight_air_n"] - ld["buoyancy_max_n"] * min(max((z + h / 2) / h, 0.0), 1.0)) * down
        else:
            raise ValueError(kind)
    return f


class System:
    def __init__(self, case):
        self.case, self.water = case, Water(case)
        self.nodes = {n["id"]: n for n in case["nodes"]}
        self.lines = {ln["id"]: ln for ln in case["lines"]}
        self.below = {n: [ln for ln in case["lines"] if ln["to"] == n] for n in self.nodes}
        self.above = {n: [ln for ln in case["lines"] if ln["from"] == n] for n in self.nodes}
        self.bottom = case["bottom"]
        self.order, done = [], set()
        while len(self.order) < len(self.nodes):
            for n in self.nodes:
                if n not in done and all(ln["from"] in done for ln in self.below[n]):
                    self.order.append(n)
                    done.add(n)
        self.names = []
        for n in self.order:
            if self.nodes[n]["kind"] == "fixed":
                continue
            if not self.below[n]:
                third = "laid_length" if self.bottom else "z"
                self.names += [f"{n}.x", f"{n}.y", f"{n}.{third}"]
            for ln in self.above[n][1:]:
                self.names += [f"{ln['id']}.lower_force_{a}" for a in "xyz"]
        self.names += [f"{ln['id']}.length" for ln in case["lines"] if ln["free"]]

    def laid(self, node, x):
        """Start of the suspended part, and the part that lies on the bottom (uniform water)."""
        ln = self.above[node][0]
        sec, b, w = ln["sections"][0], self.bottom, self.water
        x0, y0, ell = x[f"{node}.x"], x[f"{node}.y"], x[f"{node}.laid_length"]
        u, rho = w.u(b["depth_m"]), w.rho_at(b["depth_m"])
        assert u[1] == 0 and len(w.cur) == 1, "the laid part is stated for uniform water"
        own = body_force(w, self.nodes[node]["loads"], b["depth_m"], {})
        t0 = -own[0] + b["body_friction"] * own[2]
        d = sec["diameter_m"]
        wet = (sec["mass_per_length_kg_m"] - rho * math.pi * d * d / 4) * G
        q = b["line_friction"] * wet + 0.5 * rho * sec["tangential_coefficient"] * math.pi * d * u[0] ** 2
        flex = 1.0 / sec["axial_stiffness_n"] if sec["axial_stiffness_n"] else 0.0
        flat = ell + flex * (t0 * ell + q * ell * ell / 2)
        td = np.array([x0 + flat, y0, b["depth_m"]])
        return dict(t0=t0, t1=t0 + q * ell, flat=flat, touch=td, start=np.r_[td, t0 + q * ell, 0.0, 0.0], ell=ell)

    def run(self, vec, keep=None):
        x = dict(zip(self.names, vec))
        pos, force, top, res, pulls, own = {}, {}, {}, [], {}, {}
        laid = None
        for n in self.order:
            nd = self.nodes[n]
            arr = [top[ln["id"]] for ln in self.below[n]]
            if nd["kind"] == "fixed":
                pos[n] = np.array(nd["position_m"], float)
                for y in arr:
                    res += list(y[:3] - pos[n])
                continue
            if arr:
                pos[n] = arr[0][:3]
                for y in arr[1:]:
                    res += list(y[:3] - pos[n])
            elif self.bottom:
                laid = self.laid(n, x)
                pos[n] = np.array([x[f"{n}.x"], x[f"{n}.y"], self.bottom["depth_m"]])
            else:
                pos[n] = np.array([x[f"{n}.{a}"] for a in "xyz"])
            own[n] = body_force(self.water, nd["loads"], pos[n][2], pulls)
            total = sum((y[3:] for y in arr), np.zeros(3)) - own[n]
            for ln in self.above[n][1:]:
                force[ln["id"]] = np.array([x[f"{ln['id']}.lower_force_{a}"] for a in "xyz"])
                total = total - force[ln["id"]]
            force[self.above[n][0]["id"]] = total
            for ln in self.above[n]:
                i = ln["id"]
                lens = [s["length_m"] for s in ln["sections"]]
                if ln["free"]:
                    lens = [x[i + ".length"]]
                y0 = np.r_[pos[n], force[i]]
                if laid is not None and not arr:
                    y0, lens = laid["start"], [lens[0] - laid["ell"]] + lens[1:]
                    force[i] = np.array([laid["t0"], 0.0, 0.0])
                k = [] if keep is not None else None
                top[i] = integrate(self.water, ln["sections"], lens, y0, k)
                pulls[i] = float(np.linalg.norm(top[i][3:]))
                if keep is not None:
                    keep[i] = k
        for ln in self.case["lines"]:
            if ln["free"] and ln["closed_by"] == "upper_tension":
                res.append(pulls[ln["id"]] - ln["upper_tension_n"])
            elif ln["free"]:
                up = self.nodes[ln["to"]]["slides_on"][1]
                res.append(float(np.linalg.norm(force[up])) - pulls[ln["id"]])
        return np.array(res), dict(pos=pos, force=force, top=top, own=own, laid=laid, x=x)

    def solve(self, guess):
        count = [0]
        vec = np.array([guess[n] for n in self.names], float)

        def f(v):
            count[0] += 1
            return self.run(v)[0]

        # Powell's hybrid method, restarted so that its Jacobian is fresh near the root.
        for _ in range(4):
            sol = root(f, vec, method="hybr", options=dict(xtol=1e-13, eps=1e-9))
            vec = sol.x
            r = np.abs(f(vec)).max()
            if r < 2e-11:
                break
        # Newton's last steps with a central-difference Jacobian.
        for _ in range(4):
            r0 = f(vec)
            if np.abs(r0).max() < 1e-12:
                break
            jac = np.empty((len(vec), len(vec)))
            for j in range(len(vec)):
                h = 1e-6 * max(1.0, abs(vec[j]))
                e = np.zeros(len(vec))
                e[j] = h
                jac[:, j] = (f(vec + e) - f(vec - e)) / (2 * h)
            trial = vec - np.linalg.solve(jac, r0)
            if np.abs(f(trial)).max() >= np.abs(r0).max():
                break
            vec = trial
        res = f(vec)
        if np.abs(res).max() > 1e-9:
            raise ArithmeticError(f"{self.case['id']}: residual {np.abs(res).max():g} after {count[0]} evaluations: {sol.message}")
        return vec, float(np.abs(res).max()), count[0]


def vector_loads(water, sec, layer, r, f):
    """The right-hand side over an array of points, for solve_bvp."""
    t_abs = np.sqrt((f * f).sum(0))
    t = f / t_abs
    st = 1 + (t_abs / sec["axial_stiffness_n"] if sec["axial_stiffness_n"] else 0.0)
    load = np.zeros_like(f)
    lay = water.layer(layer)
    m, d = sec["mass_per_length_kg_m"], sec["diameter_m"]
    if lay is None:
        load[2] = m * G
    else:
        u = np.array([lay[0] + lay[1] * r[2], lay[2] + lay[3] * r[2], 0 * r[2]])
        rho, nu = water.rho, water.nu
        if lay[4] is not None:
            tc = lay[4] + lay[5] * r[2]
            rho, nu = density(tc), viscosity(tc) / density(tc)
        ut = (u * t).sum(0) * t
        un = u - ut
        un_abs, ut_abs = np.sqrt((un * un).sum(0)), np.sqrt((ut * ut).sum(0))
        cn = sec["normal_coefficient"]
        if cn == "auto":
            re = np.maximum(un_abs * d / nu, 1e-30)
            cn = 11 * re ** -0.75 - 0.9 * np.expm1(-1000 / re) - 1.2 * np.expm1(-(re / 4500) ** 0.7)
        load = 0.5 * rho * cn * d * un_abs * un + 0.5 * rho * sec["tangential_coefficient"] * np.pi * d * ut_abs * ut
        load[2] += (m - rho * np.pi * d * d / 4) * G
    return st * t, -load


def cross_check(sysm, vec, points=25, shift=0.01):
    """Solves the whole system again with solve_bvp from a disturbed start; returns the differences."""
    keep = {}
    _, out = sysm.run(vec, keep)
    blocks = []
    for i, pieces in keep.items():
        for p in pieces:
            blocks.append(dict(p, line=i, sec=sysm.lines[i]["sections"][p["section"]]))
    xs = np.linspace(0, 1, points)
    guess = []
    for b in blocks:
        rhs = make_rhs(sysm.water, b["sec"], b["layer"])
        sol = solve_ivp(rhs, (b["s0"], b["s1"]), b["y0"], method="DOP853", rtol=1e-10, atol=1e-11,
                        t_eval=np.minimum(b["s0"] + xs * (b["s1"] - b["s0"]), b["s1"]))
        guess.append(sol.y)
    guess = np.vstack(guess) * (1 + shift)
    lengths = np.array([b["s1"] - b["s0"] for b in blocks])
    if sysm.bottom:
        lengths = np.r_[lengths, out["laid"]["ell"]]
    lengths0 = lengths * (1 - shift)
    first, last = {}, {}
    for k, b in enumerate(blocks):
        first.setdefault(b["line"], k)
        last[b["line"]] = k

    def fun(x, y, p):
        dy = np.empty_like(y)
        for k, b in enumerate(blocks):
            a, c = vector_loads(sysm.water, b["sec"], b["layer"], y[6 * k:6 * k + 3], y[6 * k + 3:6 * k + 6])
            dy[6 * k:6 * k + 3], dy[6 * k + 3:6 * k + 6] = p[k] * a, p[k] * c
        return dy

    def bc(ya, yb, p):
        r = []
        lo = lambda i: ya[6 * first[i]:6 * first[i] + 6]
        hi = lambda i: yb[6 * last[i]:6 * last[i] + 6]
        for k, b in enumerate(blocks):
            if k + 1 < len(blocks) and blocks[k + 1]["line"] == b["line"]:
                r += list(ya[6 * k + 6:6 * k + 12] - yb[6 * k:6 * k + 6])
            if b["level"] is not None:
                r.append(yb[6 * k + 2] - b["level"])
        for i, ln in sysm.lines.items():
            if ln["free"]:
                up = sysm.nodes[ln["to"]].get("slides_on")
                goal = np.linalg.norm(lo(up[1])[3:]) if ln["closed_by"] == "ring" else ln["upper_tension_n"]
                r.append(np.linalg.norm(hi(i)[3:]) - goal)
                continue
            for si, sec in enumerate(ln["sections"]):
                have = sum(p[k] for k, b in enumerate(blocks) if b["line"] == i and b["section"] == si)
                if sysm.bottom and si == 0:
                    have += p[-1]
                r.append(have - sec["length_m"])
        pulls = {i: np.linalg.norm(hi(i)[3:]) for i in sysm.lines}
        for n in sysm.order:
            nd, dn, up = sysm.nodes[n], sysm.below[n], sysm.above[n]
            if nd["kind"] == "fixed":
                for ln in dn:
                    r += list(hi(ln["id"])[:3] - np.array(nd["position_m"]))
                continue
            if sysm.bottom and not dn:
                la = sysm.laid(n, {f"{n}.x": 0.0, f"{n}.y": 0.0, f"{n}.laid_length": p[-1]})
                a = lo(up[0]["id"])
                r += list(a[3:] - la["start"][3:]) + [a[2] - sysm.bottom["depth_m"]]
                continue
            here = lo(up[0]["id"])[:3]
            for ln in dn:
                r += list(hi(ln["id"])[:3] - here)
            for ln in up[1:]:
                r += list(lo(ln["id"])[:3] - here)
            own = body_force(sysm.water, nd["loads"], here[2], pulls)
            r += list(sum(lo(ln["id"])[3:] for ln in up) - sum((hi(ln["id"])[3:] for ln in dn), np.zeros(3)) + own)
        return np.array(r)

    sol = solve_bvp(fun, bc, xs, guess, p=lengths0, tol=1e-9, max_nodes=6000, bc_tol=1e-10)
    if not sol.success:
        return dict(success=False, message=sol.message)
    dr = df = 0.0
    for n in sysm.order:
        if sysm.nodes[n]["kind"] == "fixed" or (sysm.bottom and not sysm.below[n]):
            continue
        k = first[sysm.above[n][0]["id"]]
        dr = max(dr, float(np.abs(sol.y[6 * k:6 * k + 3, 0] - out["pos"][n]).max()))
    for i in sysm.lines:
        k, j = last[i], first[i]
        df = max(df, float(np.abs(sol.y[6 * k + 3:6 * k + 6, -1] - out["top"][i][3:]).max()))
        lower = out["laid"]["start"][3:] if out["laid"] else out["force"][i]
        df = max(df, float(np.abs(sol.y[6 * j + 3:6 * j + 6, 0] - lower).max()))
    return dict(success=True, tolerance=1e-9, mesh_points=int(sol.x.size), max_position_difference_m=dr,
                max_force_difference_n=df, max_length_difference_m=float(np.abs(sol.p - lengths).max()))
