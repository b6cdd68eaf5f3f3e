"""The cases: invented but realistic numbers for lake trolling; no real gear is meant."""
import math

RHO, NU = 999.7, 1.306e-6


def sec(length, d_mm, kg_m, ea=None, cn=1.2, cf=0.02):
    return dict(length_m=length, diameter_m=d_mm * 1e-3, mass_per_length_kg_m=kg_m, axial_stiffness_n=ea,
                normal_coefficient=cn, tangential_coefficient=cf)


def mono(length, d=0.40, ea=350.0, **k):
    return sec(length, d, 1140 * math.pi * (d * 1e-3) ** 2 / 4, ea, **k)


def braid(length, d=0.28, ea=4000.0, **k):
    return sec(length, d, 6.0e-5 * (d / 0.28) ** 2, ea, **k)


def wire(length, d=0.38, ea=15000.0, **k):
    return sec(length, d, 7.0e-4 * (d / 0.38) ** 2, ea, **k)


def lead(length, **k):
    k = dict(dict(ea=8000.0, cn=1.3, cf=0.03), **k)
    return sec(length, 0.9, 8.0e-3, **k)


def cable(length, d=0.9, **k):
    return sec(length, d, 3.2e-3 * (d / 0.9) ** 2, 60000.0, **k)


def line(i, a, b, *sections, tension=None, ring=False):
    free = tension is not None or ring
    return {"id": i, "from": a, "to": b, "sections": list(sections), "free": free,
            "closed_by": "upper_tension" if tension is not None else "ring" if ring else "none",
            "upper_tension_n": tension if tension is not None else 0.0}


def node(i, kind, role, *loads, at=None, slides_on=None):
    return {"id": i, "kind": kind, "role": role, "position_m": at, "slides_on": slides_on, "loads": list(loads)}


def tip(x, y, z, i="tip", role="tip"):
    return node(i, "fixed", role, at=[float(x), float(y), float(z)])


def weight(n):
    return dict(type="weight", submerged_n=n)


def drag(ca):
    return dict(type="drag", drag_area_m2=ca)


def lift(cla, roll=0.0):
    return dict(type="lift", lift_area_m2=cla, roll_deg=roll)


def side(ca):
    return dict(type="side", side_area_m2=ca)


def kite(d, roll, leader, incidence=45.0, k=0.004, cn45=1.3):
    return dict(type="kite", area_m2=math.pi * d * d / 4, normal_coefficient_45=cn45, incidence_deg=incidence,
                incidence_loss_rad_per_n=k, roll_deg=roll, leader_line=leader)


def body(i, role, *loads):
    return node(i, "body", role, *loads)


def lure(ca=1.5e-3, w=0.2, i="lure", *more):
    return body(i, "lure", weight(w), drag(ca), *more)


def board(sign, i="board", area=0.02):
    return body(i, "board", drag(0.3 * area), side(sign * 0.6 * area),
                dict(type="buoyancy", weight_air_n=4.0, buoyancy_max_n=12.0, immersion_height_m=0.08))


def water(current=(), temperature=(), rho=RHO, nu=NU):
    return dict(density_kg_m3=rho, kinematic_viscosity_m2_s=nu,
                current=[dict(depth_m=float(z), x_mps=x, y_mps=y) for z, x, y in current],
                temperature=[dict(depth_m=float(z), temperature_c=float(t)) for z, t in temperature])


def case(i, what, speed, nodes, lines, wat=None, bottom=None, guess=None, z0=None):
    return dict(id=i, description=what, speed_surface_mps=speed, water=wat or water(), bottom=bottom,
                nodes=nodes, lines=lines, _guess=guess or {}, _z0=z0)


def sheared():
    along = water([(0, 0.10, 0), (8, 0.25, 0), (20, -0.15, 0)])
    cross = water([(0, 0, 0.05), (10, 0, 0.30), (25, 0, -0.10)])
    rev = water([(0, 0.20, -0.10), (6, 0.05, 0.05), (12, -0.20, 0.15), (30, -0.25, -0.20)])
    sink = lambda: body("weight", "sinker", weight(5.0), drag(8e-4))
    return [
        case("A1", "current along the heading, faster at 8 m and reversed at 20 m; wire, heavy lure, tip at the water",
             1.0, [lure(2e-3, 4.0), tip(-0.5, 1.0, 0.0)], [line("main", "lure", "tip", wire(40))], along, z0=15),
        case("A2", "current across the heading; mono with a heavy sinker ahead of the lure; tip at the water", 1.1,
             [lure(), sink(), tip(-0.5, -1.0, 0.0)],
             [line("leader", "lure", "weight", mono(2.0)), line("main", "weight", "tip", mono(45, 0.35))], cross, z0=15),
        case("A3", "current turning and reversing with depth, Cn auto, tip at the water", 0.9,
             [lure(2e-3, 3.0), tip(-0.3, 0.5, 0.0)],
             [line("main", "lure", "tip", wire(50, 0.45, cn="auto", cf=0.015))], rev, z0=18),
        case("A4", "current turning and reversing with depth, Cn auto, 2 m of line in the air, sinker and leader", 1.2,
             [lure(1e-3, 0.1), sink(), tip(-1.0, 2.0, -2.0)],
             [line("leader", "lure", "weight", mono(3.0, 0.30, cn="auto")), line("main", "weight", "tip", braid(60, cn="auto"))],
             rev, z0=12),
        case("A5", "cross current at constant Cn, tip in the air, stretchy mono", 0.8,
             [lure(1e-3, 2.0), tip(-1.0, 2.0, -1.5)], [line("main", "lure", "tip", mono(70, 0.45))], cross, z0=15),
    ]


def stretch():
    d = 0.45e-3
    neutral = dict(diameter_m=d, mass_per_length_kg_m=RHO * math.pi * d * d / 4)
    return [
        case("B1", "soft mono, EA 250 N, sinker at the end, tip at the water", 1.0,
             [lure(2e-3, 8.0), tip(0, 0, 0)], [line("main", "lure", "tip", mono(60, 0.35, 250.0))], z0=25),
        case("B2", "soft mono, EA 700 N, diving lure rolled to starboard, tip in the air", 1.2,
             [lure(2e-3, -0.1, "lure", lift(6e-3, 20.0)), tip(0, 1, -1.8)],
             [line("main", "lure", "tip", mono(80, 0.50, 700.0, cf=0.015))], z0=10),
        case("B3", "heavy wire on a deep weight, tip in the air", 1.0,
             [body("weight", "lure", weight(15.0), drag(2e-3)), tip(0, 0, -1.0)],
             [line("main", "weight", "tip", wire(90, 0.5, 25000.0))], z0=40),
        case("B4", "neutrally buoyant line without tangential drag, EA 300 N: T + T^2/2EA is constant under water", 1.0,
             [lure(2e-3, 6.0), tip(0, 0, 0)],
             [line("main", "lure", "tip", dict(mono(50, 0.45, 300.0, cf=0.0), **neutral))], z0=20),
        case("B5", "floating line, lighter than water, without tangential drag, EA 400 N, tip in the air", 0.9,
             [lure(2e-3, 6.0), tip(0, 0, -1.5)],
             [line("main", "lure", "tip", sec(50, 0.6, 1.8e-4, 400.0, 1.1, 0.0))], z0=20),
    ]


def diver():
    def rig(i, what, v, d, roll, wat=None, tipz=-1.5, inc=45.0, k=0.004, lead_m=4.0, main=(), cn=1.2, weight_n=0.6, z0=12):
        return case(i, what, v,
                    [lure(2.0e-3, 0.15), body("diver", "diver", weight(weight_n), kite(d, roll, "leader", inc, k)),
                     tip(-0.5, math.copysign(1.5, roll), tipz)],
                    [line("leader", "lure", "diver", mono(lead_m, 0.50, 600.0, cn=cn)), line("main", "diver", "tip", *main)],
                    wat, z0=z0)

    return [
        rig("C1", "diver 125 mm without roll, leader, main line in two sections: mono shock length and braid; tip at the water",
            1.0, 0.125, 0.0, tipz=0.0, main=(mono(5, 0.5, 600.0), braid(40))),
        rig("C2", "diver 125 mm rolled 35 deg to starboard, two sections, part of the braid in the air", 1.1, 0.125, 35.0,
            main=(mono(3, 0.5, 600.0), braid(50))),
        rig("C3", "the mirror image of C2: rolled 35 deg to port", 1.1, 0.125, -35.0,
            main=(mono(3, 0.5, 600.0), braid(50))),
        rig("C4", "diver 105 mm rolled 60 deg to starboard, strong loss of incidence with the leader's pull, Cn auto",
            1.2, 0.105, 60.0, inc=50.0, k=0.01, cn="auto", main=(mono(4, 0.5, 600.0, cn="auto"), braid(35, cn="auto")), z0=6),
        rig("C5", "diver 115 mm rolled 15 deg to port on wire behind a soft snubber, cross current, Cn auto, tip in the air",
            0.9, 0.115, -15.0, water([(0, 0.05, 0.0), (5, 0.0, 0.15), (20, -0.10, 0.25)]), inc=47.0, k=0.002, cn="auto",
            main=(sec(0.4, 6.0, 0.034, 60.0, "auto", 0.02), wire(45, cn="auto")), weight_n=1.0),
    ]


def rigger():
    ball = lambda ca=0.005: body("ball", "ball", weight(44.0), drag(ca))
    boom = tip(-0.6, 1.5, -0.5, "boom", "boom")

    def single(i, what, v, cab=20.0, wat=None, belly=None, tension=10.0, rod=(-1.5, 2.2, -2.0), d_cable=0.9, leader=8.0, cn=1.2,
               lu=(1.5e-3, 0.2), z_factor=0.95):
        depth = cab * z_factor
        jx = -0.6 - 0.25 * cab
        dist = math.dist((jx, 1.5, depth), rod)
        g = {"ball.x": jx - 0.4, "ball.y": 1.5, "ball.z": depth + 1.5, "lure.x": jx - leader, "lure.y": 1.5, "lure.z": depth + 1.0,
             "belly.lower_force_x": -0.1 * tension, "belly.lower_force_y": 0.0, "belly.lower_force_z": -0.95 * tension,
             "belly.length": dist}
        return case(i, what, v,
                    [ball(), node("release", "junction", "release"), lure(*lu), boom, tip(*rod, "rod")],
                    [line("cable-low", "ball", "release", cable(1.5, d_cable, cn=cn)),
                     line("leader", "lure", "release", mono(leader, 0.40, cn=cn)),
                     line("cable", "release", "boom", cable(cab, d_cable, cn=cn)),
                     line("belly", "release", "rod", belly or dict(mono(1.0, 0.40, cn=cn), length_m=None), tension=tension)],
                    wat, guess=g)

    shear = water([(0, 0.0, 0.0), (8, 0.05, 0.15), (18, -0.20, 0.20), (40, -0.25, 0.1)])
    out = [
        single("D1", "single release, uniform water, mono belly to a rod tip in the air", 1.0),
        single("D2", "single release, current across and along, Cn auto", 1.1, 25.0, shear, tension=12.0, cn="auto"),
        single("D3", "single release, rod tip at the water, braid belly, thin cable, deep", 0.9, 35.0,
               belly=dict(braid(1.0), length_m=None), rod=(-1.0, 2.5, 0.0), d_cable=0.7),
    ]

    def slider(i, what, v, cab, wat=None, tension=6.0, rod=(-3.0, 2.0, -1.5), d_cable=0.6, frac=0.35):
        c = single(i, what, v, cab, wat, tension=tension, rod=rod, d_cable=d_cable)
        belly = dict(mono(1.0, 0.45), length_m=None)
        c["nodes"] += [node("ring", "ring", "slider", slides_on=["belly-low", "belly-high"]), lure(1e-3, 0.08, "lure-2")]
        c["lines"][3:] = [line("belly-low", "release", "ring", belly, ring=True),
                          line("slider-leader", "lure-2", "ring", mono(1.5, 0.35)),
                          line("belly-high", "ring", "rod", belly, tension=tension)]
        g = c["_guess"]
        total = g.pop("belly.length")
        for a in "xyz":
            g["belly-low.lower_force_" + a] = g.pop("belly.lower_force_" + a)
        g["belly-low.lower_force_x"] = -0.35 * tension
        g["belly-low.length"], g["belly-high.length"] = frac * total, (1 - frac) * total
        g.update({"lure-2.x": g["lure.x"] + 8 - 3.0, "lure-2.y": 1.5, "lure-2.z": cab * 0.95 - frac * total + 0.3})
        return c

    out += [
        slider("D4", "single release with a free slider on the belly, uniform water", 1.1, 20.0),
        slider("D5", "single release with a free slider on the belly, sheared water", 1.1, 18.0,
               water([(0, 0.0, 0.0), (8, -0.05, 0.05), (18, -0.10, 0.10), (40, -0.15, 0.1)])),
    ]

    depth, a, v = 24.0, 8.0, 1.0
    g = {"ball.x": -6.0, "ball.y": 1.5, "ball.z": depth}
    for k, zz, xx in (("1", depth - 1.5, -5.7), ("2", depth - 1.5 - a, -3.8)):
        g.update({f"lure-{k}.x": xx - 8, f"lure-{k}.y": 1.5, f"lure-{k}.z": zz + 1.0, f"belly-{k}.lower_force_x": -1.0,
                  f"belly-{k}.lower_force_y": 0.0, f"belly-{k}.lower_force_z": -9.5, f"belly-{k}.length": zz + 2.5})
    stack = lambda i, what, wat, cn: case(
        i, what, v,
        [ball(), node("release-1", "junction", "release"), node("release-2", "junction", "release"),
         lure(1.5e-3, 0.2, "lure-1"), lure(1e-3, 0.1, "lure-2"), boom, tip(-1.5, 2.2, -2.0, "rod-1"), tip(-1.5, 1.2, -2.2, "rod-2")],
        [line("cable-low", "ball", "release-1", cable(1.5, cn=cn)),
         line("leader-1", "lure-1", "release-1", mono(8.0, cn=cn)),
         line("cable-middle", "release-1", "release-2", cable(a, cn=cn)),
         line("belly-1", "release-1", "rod-1", dict(mono(1.0, cn=cn), length_m=None), tension=10.0),
         line("leader-2", "lure-2", "release-2", mono(6.0, cn=cn)),
         line("cable", "release-2", "boom", cable(depth - 1.5 - a + 1.0, cn=cn)),
         line("belly-2", "release-2", "rod-2", dict(mono(1.0, cn=cn), length_m=None), tension=8.0)],
        wat, guess=dict(g))
    out += [stack("D6", "two stacked releases, uniform water", None, 1.2),
            stack("D7", "two stacked releases, sheared water, Cn auto", shear, "auto")]
    return out


def boards():
    def rig(i, what, v, sign, trail, tow, lu=(1.5e-3, 0.2), wat=None, more=()):
        return case(i, what, v, [lure(*lu, "lure", *more), board(sign), tip(-0.5, sign * 1.5, -1.5)],
                    [line("trail", "lure", "board", *trail), line("tow", "board", "tip", *tow)], wat, z0=5)

    core = (mono(9.0, 0.40), lead(91.44))
    return [
        rig("E1", "mono and a lure trailing from a board to starboard", 1.0, 1, (mono(30, 0.35),), (mono(25, 0.40),)),
        rig("E2", "ten colors of lead core behind a board to starboard", 1.0, 1, core, (braid(25, 0.33),)),
        rig("E3", "the mirror image of E2: board to port", 1.0, -1, core, (braid(25, 0.33),)),
        rig("E4", "diving lure behind a board to port, cross current growing with depth, Cn auto", 1.1, -1,
            (mono(35, 0.35, cn="auto"),), (mono(30, 0.45, cn="auto"),), (2e-3, -0.05),
            water([(0, 0.0, 0.0), (4, 0.05, 0.12), (15, -0.1, 0.2)]), (lift(5e-3, 0.0),)),
    ]


def segmented():
    return [
        case("F1", "lure, leader, clip-on weight, leader, in-line sinker, five colors of lead core, braid backing, tip in the air",
             1.0, [lure(1.2e-3, 0.15), body("clip", "sinker", weight(0.8), drag(2e-4)),
                   body("sinker", "sinker", weight(1.5), drag(3e-4)), tip(-0.5, 1.5, -1.8)],
             [line("leader", "lure", "clip", mono(3.0, 0.30)), line("leader-2", "clip", "sinker", mono(6.0, 0.40)),
              line("main", "sinker", "tip", lead(45.72), braid(30, 0.33))], z0=12),
        case("F2", "the parts of F1 with the sinker midway in the lead core, copper spliced in, sheared water, Cn auto", 1.1,
             [lure(1.2e-3, 0.15), body("clip", "sinker", weight(1.2), drag(2e-4)),
              body("sinker", "sinker", weight(2.0), drag(4e-4)), tip(-0.5, -1.5, -1.2)],
             [line("leader", "lure", "clip", mono(4.0, 0.30, cn="auto")),
              line("lower", "clip", "sinker", mono(5.0, 0.40, cn="auto"), lead(18.288, cn="auto")),
              line("main", "sinker", "tip", lead(18.288, cn="auto"), sec(15.0, 1.1, 6.5e-3, 12000.0, "auto", 0.02),
                   braid(20, 0.33, cn="auto"))],
             water([(0, 0.05, 0.0), (5, 0.10, 0.10), (14, -0.10, 0.20)]), z0=12),
        case("F3", "many short pieces of alternating mono, braid and wire without a body between them", 0.9,
             [lure(2e-3, 5.0), tip(0, 0, -1.0)],
             [line("main", "lure", "tip", mono(5), wire(6), braid(7), mono(8, 0.5, 700.0), wire(9, 0.3), lead(4), braid(20))], z0=20),
    ]


def touchdown():
    def rig(i, what, v, length, depth, mu, mu_body, lu, sections, tipz, ell):
        return case(i, what, v, [lure(*lu), tip(-0.5, 1.0, tipz)], [line("main", "lure", "tip", *sections)],
                    bottom=dict(depth_m=depth, line_friction=mu, body_friction=mu_body),
                    guess={"lure.x": -length, "lure.y": 1.0, "lure.laid_length": ell})

    return [
        rig("G1", "lead core of 8 g/m, longer than reaches, lower part laid on the bottom; tip at the water", 0.8, 60.0, 12.0, 0.5, 0.4,
            (1e-3, 0.3), (lead(60.0),), 0.0, 20.0),
        rig("G2", "thin copper, slow, most of it laid, braid backing, tip in the air", 0.6, 90.0, 9.0, 0.3, 0.3,
            (5e-4, 0.5), (sec(70.0, 1.0, 7.0e-3, 12000.0, 1.2, 0.02), braid(20.0, 0.33)), -1.2, 35.0),
        rig("G3", "lead core without stretch, Cn auto, a draggy lure ticking at the end of the laid part", 0.8, 50.0, 10.0, 0.4, 0.5,
            (3e-3, 0.2), (lead(50.0, ea=None, cn="auto"),), 0.0, 10.0),
    ]


def thermocline():
    prof = [(0, 21.0), (7, 20.0), (11, 9.0), (25, 5.5), (60, 4.2)]
    return [
        case("H1", "wire and a weight through a thermocline, Cn auto, tip at the water", 1.0,
             [lure(2e-3, 5.0), tip(0, 0, 0)], [line("main", "lure", "tip", wire(45, 0.4, cn="auto"))],
             water(temperature=prof), z0=20),
        case("H2", "diver rolled to starboard on braid below a thermocline with sheared current, Cn auto, tip in the air", 1.0,
             [lure(2e-3, 0.15), body("diver", "diver", weight(0.6), kite(0.125, 25.0, "leader")), tip(-0.5, 1.5, -1.5)],
             [line("leader", "lure", "diver", mono(4.0, 0.50, 600.0, cn="auto")), line("main", "diver", "tip", braid(50, cn="auto"))],
             water([(0, 0.1, 0.0), (9, 0.0, 0.05), (20, -0.1, 0.10)], prof), z0=15),
    ]


FAMILIES = [("a_sheared_current", sheared), ("b_stretch", stretch), ("c_diver", diver), ("d_downrigger", rigger),
            ("e_board", boards), ("f_segmented", segmented), ("g_touchdown", touchdown), ("h_thermocline", thermocline)]
