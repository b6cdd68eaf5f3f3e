package tackle

import (
	"context"
	"math"
	"testing"

	"sternfan"
	"sternfan/geom"
	"sternfan/tow"
	"sternfan/unit"
)

// ft is a length given in feet.
func ft(x float64) sternfan.Q[unit.Length] { return sternfan.Of(unit.Length(x) * unit.Foot) }

func part(kind sternfan.PartKind, gear string) sternfan.Part {
	return sternfan.Part{Kind: kind, Gear: gear}
}

func leaderOf(gear string, feet float64) sternfan.Part {
	p := part(sternfan.PartLeader, gear)
	p.Length = ft(feet)
	return p
}

// behind is what trails in the tests: a leader, a flasher, a leader, a fly.
func behind() []sternfan.Part {
	return []sternfan.Part{part(sternfan.PartSnubber, "snubber-12in"), leaderOf("mono-30", 6), part(sternfan.PartAttractor, "flasher-8in"), leaderOf("fluoro-30", 2), part(sternfan.PartLure, "fly-tinsel")}
}

func spoon(feet float64) []sternfan.Part {
	return []sternfan.Part{leaderOf("fluoro-20", feet), part(sternfan.PartLure, "spoon-standard")}
}

// boat is an invented boat with a rod holder, a boom and a mast on each side.
func boat() *sternfan.Scenario {
	return &sternfan.Scenario{
		Version: 1,
		Boat: sternfan.Boat{
			Holders: []sternfan.Holder{
				{ID: "hp", Position: "port", Tip: geom.Vec{X: -1, Y: -2, Z: -1.5}},
				{ID: "hs", Position: "starboard", Tip: geom.Vec{X: -1, Y: 2, Z: -1.5}},
			},
			Booms: []sternfan.Boom{{ID: "bp", End: geom.Vec{X: -.5, Y: -1.2, Z: -1}}, {ID: "bs", End: geom.Vec{X: -.5, Y: 1.2, Z: -1}}},
			Masts: []sternfan.Mast{{ID: "m", Top: geom.Vec{X: 3, Z: -3}}},
		},
		Water: sternfan.Water{Temperature: []sternfan.TempPoint{{Temperature: 10}}},
		Speed: sternfan.Speed{Given: sternfan.SpeedSurface, Value: sternfan.Of(2.4 * unit.MilePerHour)},
	}
}

// rig is a case of one of the trade's rigs on a side.
type rig struct {
	name string
	make func(sc *sternfan.Scenario, side sternfan.Side)
}

func holder(side sternfan.Side) string {
	if side == sternfan.Port {
		return "hp"
	}
	return "hs"
}

func plain(r sternfan.Rig, s sternfan.Settings) func(sc *sternfan.Scenario, side sternfan.Side) {
	return func(sc *sternfan.Scenario, side sternfan.Side) {
		s := s
		s.Side = side
		sc.Rods = append(sc.Rods, sternfan.Rod{ID: "r" + itoa(len(sc.Rods)+1), Holder: holder(side), Rig: r, Settings: s})
	}
}

func downrigger(slider []sternfan.Part, above ...float64) func(sc *sternfan.Scenario, side sternfan.Side) {
	return func(sc *sternfan.Scenario, side sternfan.Side) {
		boom := "bs"
		if side == sternfan.Port {
			boom = "bp"
		}
		sc.Downriggers = append(sc.Downriggers, sternfan.Downrigger{ID: "d1", Boom: boom, Cable: "rigger-cable-150", Ball: "ball-round-12", CableOut: ft(80)})
		for i, a := range above {
			r := sternfan.Rig{Kind: sternfan.RigDownrigger, Line: "mono-20", Downrigger: "d1", Behind: []sternfan.Part{part(sternfan.PartLure, "spoon-standard")}}
			if i == 0 {
				r.Slider = slider
			}
			set := sternfan.Settings{Lead: ft(15), AboveBall: ft(a)}
			if slider != nil {
				// A slack line has a belly astern, where a slider can rest.
				set.SetLoad = sternfan.Of(4 * unit.Newton)
			}
			plain(r, set)(sc, side)
		}
	}
}

func mast(sc *sternfan.Scenario, side sternfan.Side) {
	sc.MastBoards = append(sc.MastBoards, sternfan.MastBoard{ID: "mb", Mast: "m", Board: "board-mast", Line: "braid-50", LineOut: ft(120), Side: side})
	for _, along := range []float64{60, 90} {
		plain(sternfan.Rig{Kind: sternfan.RigMastBoard, Line: "mono-17", MastBoard: "mb", Behind: spoon(5)},
			sternfan.Settings{Along: ft(along), Lead: ft(80)})(sc, side)
	}
}

var rigs = []rig{
	{"diver", plain(sternfan.Rig{Kind: sternfan.RigDiver, Line: "braid-50", Diver: "diver-standard", Behind: behind()},
		sternfan.Settings{LineOut: ft(120), Dial: sternfan.Of(2.0)})},
	{"diver-wire-ring", plain(sternfan.Rig{Kind: sternfan.RigDiver, Line: "wire-30", Diver: "diver-large", Behind: behind()},
		sternfan.Settings{LineOut: ft(200), Dial: sternfan.Of(1.0), Ring: sternfan.Of(1.0)})},
	{"diver-tripped", plain(sternfan.Rig{Kind: sternfan.RigDiver, Line: "braid-50", Diver: "diver-standard", Behind: behind()},
		sternfan.Settings{LineOut: ft(120), Dial: sternfan.Of(2.0), Tripped: true})},
	{"slide-through", plain(sternfan.Rig{Kind: sternfan.RigSlideThrough, Line: "mono-20", Diver: "slide-through-standard", Behind: spoon(6)},
		sternfan.Settings{LineOut: ft(90), Lead: ft(40), Dial: sternfan.Of(1.0)})},
	{"flat-line", plain(sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: []sternfan.Part{part(sternfan.PartWeight, "sinker-2oz"), leaderOf("fluoro-20", 6), part(sternfan.PartLure, "spoon-light")}},
		sternfan.Settings{LineOut: ft(100)})},
	{"flat-plug", plain(sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: []sternfan.Part{part(sternfan.PartLure, "plug-deep")}},
		sternfan.Settings{LineOut: ft(100)})},
	{"weighted", plain(sternfan.Rig{Kind: sternfan.RigWeighted, Line: "braid-30", Weighted: "lead-core-27", Behind: spoon(20)},
		sternfan.Settings{LineOut: ft(250), Colors: sternfan.Of(5.0)})},
	{"weighted-copper", plain(sternfan.Rig{Kind: sternfan.RigWeighted, Weighted: "copper-45", Behind: spoon(20)},
		sternfan.Settings{LineOut: ft(220)})},
	{"board", plain(sternfan.Rig{Kind: sternfan.RigBoard, Line: "mono-17", Board: "board-in-line", Behind: spoon(6)},
		sternfan.Settings{LineOut: ft(100), Lead: ft(60)})},
	{"board-lead-core", plain(sternfan.Rig{Kind: sternfan.RigBoard, Line: "braid-50", Board: "board-in-line", Weighted: "lead-core-27", Behind: spoon(20)},
		sternfan.Settings{LineOut: ft(100), Lead: ft(150), Colors: sternfan.Of(3.0)})},
	{"downrigger", downrigger(nil, 4)},
	{"downrigger-stacked", downrigger(nil, 4, 25)},
	{"downrigger-slider", downrigger(spoon(6), 4)},
	{"downrigger-alone", downrigger(nil)},
	{"mast-board", mast},
}

func resolve(t testing.TB, sc *sternfan.Scenario) *Model {
	t.Helper()
	m, faults := Resolve(sc)
	if len(faults) > 0 {
		t.Fatalf("resolve: %v", faults)
	}
	return m
}

func solve(t testing.TB, m *Model, g int, world []float64) *tow.Solution {
	t.Helper()
	return solveTo(t, m, g, world, tow.Options{})
}

func solveTo(t testing.TB, m *Model, g int, world []float64, opt tow.Options) *tow.Solution {
	t.Helper()
	var sys tow.System
	env := m.Env(world)
	m.Build(g, world, &sys)
	var solver tow.Solver
	sol := solver.Solve(context.Background(), &sys, &env, opt)
	if sol.Status != tow.Converged {
		t.Fatalf("group %d: %v after %d iterations", g, sol.Status, sol.Iterations)
	}
	return sol
}

func TestEveryRigConverges(t *testing.T) {
	for _, r := range rigs {
		for _, side := range []sternfan.Side{sternfan.Port, sternfan.Starboard} {
			t.Run(r.name+"/"+side.String(), func(t *testing.T) {
				sc := boat()
				r.make(sc, side)
				m := resolve(t, sc)
				if len(m.Groups) != 1 {
					t.Fatalf("%d groups", len(m.Groups))
				}
				sol := solve(t, m, 0, nil)
				g := &m.Groups[0]
				if len(g.Nodes) != len(sol.Nodes) || len(g.Lines) != len(sol.Samples) {
					t.Fatalf("%d nodes and %d lines are described, %d and %d solved", len(g.Nodes), len(g.Lines), len(sol.Nodes), len(sol.Samples))
				}
				for i := range g.Nodes {
					if !sol.Nodes[i].Finite() {
						t.Fatalf("node %d is not finite", i)
					}
				}
			})
		}
	}
}

// Mirroring the boat, the sides and the settings mirrors the answer.
func TestMirror(t *testing.T) {
	for _, r := range rigs {
		t.Run(r.name, func(t *testing.T) {
			var sols [2]*tow.Solution
			tol := 1e-6 // a plain chain takes the same steps on both sides
			for i, side := range []sternfan.Side{sternfan.Port, sternfan.Starboard} {
				sc := boat()
				r.make(sc, side)
				m := resolve(t, sc)
				sols[i] = solve(t, m, 0, nil)
				for _, l := range m.Groups[0].Lines {
					if l.Open {
						tol = .04 // the solver's tolerance, 0.1 % of some 40 m
					}
				}
			}
			for i := range sols[0].Nodes {
				if d := sols[0].Nodes[i].Mirror().Sub(sols[1].Nodes[i]).Norm(); !(d < tol) {
					t.Errorf("node %d: %v and %v", i, sols[0].Nodes[i], sols[1].Nodes[i])
				}
			}
		})
	}
}

// What is kept for warnings points at the right ends.
func TestReferences(t *testing.T) {
	for _, r := range rigs {
		sc := boat()
		r.make(sc, sternfan.Port)
		m := resolve(t, sc)
		for i, info := range m.Rods {
			g := &m.Groups[info.Group]
			first := &g.lines[info.Lines[0]]
			if g.Nodes[first.to].Kind != "tip" && g.Nodes[first.from].Kind != "tip" {
				t.Errorf("%s: the first line of rod %d does not reach a tip", r.name, i)
			}
			for _, k := range info.Lines {
				if g.Lines[k].Rod != i {
					t.Errorf("%s: line %d is not rod %d's", r.name, k, i)
				}
			}
			for _, k := range info.Lures {
				if !g.Nodes[k].Lure || g.Nodes[k].Rod != i || g.Nodes[k].WindowHi <= g.Nodes[k].WindowLo {
					t.Errorf("%s: node %d: %+v", r.name, k, g.Nodes[k])
				}
			}
			for _, trip := range info.Trips {
				end := g.lines[trip.Line].to
				if trip.AtFrom {
					end = g.lines[trip.Line].from
				}
				if end != trip.Node || !(trip.Load > 0) {
					t.Errorf("%s: %+v", r.name, trip)
				}
			}
		}
	}
}

func lurePlace(t testing.TB, m *Model) geom.Vec {
	sol := solve(t, m, m.Rods[0].Group, nil)
	return sol.Nodes[m.Rods[0].Lures[0]]
}

// Common practice, no source: one mark more is shallower and wider, always; a ring is
// deeper.
func TestDialAndRing(t *testing.T) {
	place := func(diver string, dial, ring float64) geom.Vec {
		sc := boat()
		plain(sternfan.Rig{Kind: sternfan.RigDiver, Line: "braid-50", Diver: diver, Behind: behind()},
			sternfan.Settings{LineOut: ft(120), Dial: sternfan.Of(dial), Ring: sternfan.Of(ring)})(sc, sternfan.Starboard)
		return lurePlace(t, resolve(t, sc))
	}
	for _, d := range []string{"diver-small", "diver-standard", "diver-large"} {
		last := place(d, 0, 0)
		for mark := .5; mark <= 4; mark += .5 {
			p := place(d, mark, 0)
			if p.Z >= last.Z || p.Y <= last.Y {
				t.Errorf("%s dial %g at %v is not shallower and wider than %v", d, mark, p, last)
			}
			last = p
		}
	}
	for _, d := range []string{"diver-standard", "diver-large"} {
		for mark := 0.0; mark <= 4; mark++ {
			if on, off := place(d, mark, 1), place(d, mark, 0); on.Z <= off.Z {
				t.Errorf("%s dial %g: %v with the ring, %v without", d, mark, on, off)
			}
		}
	}
}

func TestBuildTwice(t *testing.T) {
	for _, r := range rigs {
		sc := boat()
		r.make(sc, sternfan.Port)
		m := resolve(t, sc)
		world := make([]float64, len(m.Registry))
		for i := range world {
			world[i] = math.Sin(float64(i + 1))
		}
		var a, b tow.System
		m.Build(0, world, &a)
		m.Build(0, nil, &b)
		m.Build(0, world, &b)
		for i := range a.Lines {
			if a.Lines[i] != b.Lines[i] {
				t.Errorf("%s: line %d: %+v and %+v", r.name, i, a.Lines[i], b.Lines[i])
			}
		}
		for i := range a.Nodes {
			for k := range a.Nodes[i].Bodies {
				if a.Nodes[i].Bodies[k] != b.Nodes[i].Bodies[k] {
					t.Errorf("%s: node %d", r.name, i)
				}
			}
		}
		if n := testing.AllocsPerRun(20, func() { m.Build(0, world, &b) }); n != 0 {
			t.Errorf("%s: %g allocations a build", r.name, n)
		}
		solve(t, m, 0, world)
	}
}

func BenchmarkBuild(b *testing.B) {
	sc := boat()
	rigs[0].make(sc, sternfan.Port)
	m := resolve(b, sc)
	world := make([]float64, len(m.Registry))
	for i := range world {
		world[i] = .3
	}
	var sys tow.System
	for b.Loop() {
		m.Build(0, world, &sys)
	}
}

func BenchmarkResolve(b *testing.B) {
	sc := boat()
	rigs[5].make(sc, sternfan.Port)
	for b.Loop() {
		Resolve(sc)
	}
}
