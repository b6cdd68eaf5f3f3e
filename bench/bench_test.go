package bench_test

import (
	"context"
	"math"
	"os"
	"testing"

	"sternfan"
	"sternfan/bench"
	"sternfan/internal/exampletest"
	"sternfan/spread"
	"sternfan/tackle"
)

var examples = []string{"class", "summer", "spring", "deep", "laketrout"}

func load(t *testing.T, name string) *sternfan.Scenario {
	t.Helper()
	data, err := os.ReadFile("../examples/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	return exampletest.Decode(t, name, data)
}

func resolve(t *testing.T, sc *sternfan.Scenario) *tackle.Model {
	t.Helper()
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return m
}

// withProbes returns the scenario as it is and with its speed measured on each of its balls.
func withProbes(sc *sternfan.Scenario) map[string]*sternfan.Scenario {
	out := map[string]*sternfan.Scenario{"as it is": sc}
	for _, d := range sc.Downriggers {
		other := *sc
		other.Speed.Given, other.Speed.Ball, other.Speed.Depth.Given = sternfan.SpeedProbe, d.ID, false
		out["the probe on "+d.ID] = &other
	}
	return out
}

// A ball's depth is settled to a millionth, and the lines with it.
func same(a, b float64) bool { return math.Abs(a-b) <= 1e-5*(1+math.Abs(b)) }

// Every rod of the demos runs alone as it does in the whole boat, whichever ball carries
// the speed probe.
func TestAloneAsInTheBoat(t *testing.T) {
	ctx := context.Background()
	for _, name := range examples {
		for how, sc := range withProbes(load(t, name)) {
			m := resolve(t, sc)
			whole, err := spread.Solve(ctx, m, spread.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for i := range sc.Rods {
				// With the boat's model at hand, and without.
				for _, model := range []*tackle.Model{m, nil} {
					k, err := bench.New(sc, model, spread.Options{}).Of(ctx, sc.Rods[i].ID)
					if err != nil {
						t.Fatal(name, how, err)
					}
					fan, err := k.Begin(ctx, false)
					if err != nil {
						t.Fatal(err)
					}
					is, want := &fan.Rods[k.Rod], &whole.Rods[i]
					if k.Whole != i || is.Status != want.Status || len(is.Lures) != len(want.Lures) || len(want.Lures) == 0 {
						t.Fatalf("%s, %s, %s: %s with %d lures, in the boat %s with %d", name, how, want.Rod, is.Status, len(is.Lures), want.Status, len(want.Lures))
					}
					for n, l := range is.Lures {
						w := &want.Lures[n]
						if !same(l.Depth, w.Depth) || !same(l.Side, w.Side) || !same(l.Astern, w.Astern) || !same(l.ThroughWater, w.ThroughWater) || !same(is.TipPull, want.TipPull) {
							t.Errorf("%s, %s, %s: alone %+v, in the boat %+v", name, how, want.Rod, l, *w)
						}
					}
				}
			}
		}
	}
}

// Each rod, and each downrigger by itself, goes to the same place in a world as the whole
// boat's does.
func TestAloneInAWorld(t *testing.T) {
	ctx := context.Background()
	for _, name := range []string{"summer", "laketrout"} {
		for how, sc := range withProbes(load(t, name)) {
			m := resolve(t, sc)
			scores := map[string]float64{}
			world := make([]float64, len(m.Registry))
			for i, e := range m.Registry {
				world[i] = math.Sin(float64(7 * i))
				scores[e.Name] = world[i]
			}
			s := spread.New(m, spread.Options{})
			check := func(id string, group, rod int) {
				k, err := bench.New(sc, m, spread.Options{}).Of(ctx, id)
				if err != nil {
					t.Fatal(err)
				}
				own := make([]float64, len(k.Model.Registry))
				for i, e := range k.Model.Registry {
					v, ok := scores[e.Name]
					if !ok {
						t.Fatalf("%s: the boat has no %s", id, e.Name)
					}
					own[i] = v
				}
				var want spread.Placed
				w := k.World()
				if !s.Place(ctx, group, rod, world, &want) || !w.Place(ctx, own) {
					t.Fatalf("%s, %s, %s: no place", name, how, id)
				}
				for i, p := range w.Nodes {
					if d := p.Sub(want.Nodes[i]).Norm(); !(d < 1e-4*(1+math.Abs(want.Nodes[i].Z))) {
						t.Errorf("%s, %s, %s: node %d is %.5f m from where the boat has it", name, how, id, i, d)
					}
				}
				if math.Abs(w.TipPull-want.TipPull) > 1e-3*want.TipPull {
					t.Errorf("%s, %s, %s: %.4f N, in the boat %.4f", name, how, id, w.TipPull, want.TipPull)
				}
			}
			for i, r := range sc.Rods {
				check(r.ID, m.Rods[i].Group, i)
			}
			for gi, g := range m.Groups {
				if g.Downrigger >= 0 {
					check(sc.Downriggers[g.Downrigger].ID, gi, -1)
				}
			}
		}
	}
}

// What is not there, and what must not be fished, is said.
func TestFaults(t *testing.T) {
	ctx := context.Background()
	sc := load(t, "summer")
	b := bench.New(sc, nil, spread.Options{})
	code := func(err error, want string) {
		t.Helper()
		if faults, ok := err.(sternfan.Faults); !ok || len(faults) != 1 || faults[0].Code != want {
			t.Errorf("%v, want one fault %s", err, want)
		}
	}
	_, err := b.Of(ctx, "nowhere")
	code(err, "unknown-id")
	_, err = b.Paths(ctx, "nowhere", false)
	code(err, "unknown-rod")
	_, err = b.Speeds(ctx, "nowhere", 1)
	code(err, "unknown-place")

	wire := exampletest.Decode(t, "wire", []byte(`
version: 1
name: solid wire through a diver that slides
boat: {length: 20 ft, beam: 8 ft, holders: [{id: h, position: port, tip: {port: 4 ft, up: 4 ft}}]}
water: {temperature: [{depth: 0 ft, temp: 60 F}]}
speed: {given: surface, value: 2.2 mph}
gear: {lines: [{id: stiff, from: wire-30, solid: true}]}
rods: [{id: r, holder: h, rig: {kind: slide-through, line: stiff, diver: slide-through-standard, behind: [{lure: spoon-standard}]}, settings: {line_out: 100 ft, lead: 20 ft}}]
`))
	for _, m := range []*tackle.Model{nil, resolve(t, wire)} {
		_, err = bench.New(wire, m, spread.Options{}).Of(ctx, "r")
		code(err, "refused")
		_, err = bench.New(wire, m, spread.Options{}).Paths(ctx, "r", false)
		code(err, "refused")
	}
}
