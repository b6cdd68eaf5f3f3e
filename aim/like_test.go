package aim

import (
	"context"
	"errors"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/tackle"
	"sternfan/unit"
)

func TestListen(t *testing.T) {
	ft := func(v float64) sternfan.Q[unit.Length] { return sternfan.Of(unit.Length(v) * unit.Foot) }
	for said, want := range map[string]heard{
		"wire, large diver, dial 2, 180ft":            {kind: sternfan.RigDiver, line: "wire", size: "large", dial: sternfan.Of(2.0), out: ft(180)},
		"180 ft of wire on the large diver dial 2½":   {kind: sternfan.RigDiver, line: "wire", size: "large", dial: sternfan.Of(2.5), out: ft(180)},
		"dial 1 1/2 standard diver no ring 90ft":      {kind: sternfan.RigDiver, size: "standard", dial: sternfan.Of(1.5), ring: sternfan.Of(0.0), out: ft(90)},
		"Diver ring dial 1 150ft":                     {kind: sternfan.RigDiver, dial: sternfan.Of(1.0), ring: sternfan.Of(1.0), out: ft(150)},
		"slide-through, 90ft out, 30ft lead, mono":    {kind: sternfan.RigSlideThrough, line: "mono", out: ft(90), lead: ft(30)},
		"slide through 90ft, 30 ft lead":              {kind: sternfan.RigSlideThrough, out: ft(90), lead: ft(30)},
		"7 colors of lead core, light spoon":          {line: "lead-core", colors: sternfan.Of(7.0), lure: "spoon", lureSize: "light"},
		"rigger, 80ft of cable, 15ft lead":            {kind: sternfan.RigDownrigger, cable: ft(80), lead: ft(15)},
		"wire, large, dial 2, 180":                    {kind: sternfan.RigDiver, line: "wire", size: "large", dial: sternfan.Of(2.0), out: ft(180)},
		"65ft down":                                   {down: ft(65)},
		"80ft deep":                                   {down: ft(80)},
		"board, 80ft deep plug":                       {board: true, out: ft(80), lure: "plug", lureSize: "deep"},
		"port large diver dial 3 6ft leader flashers": {kind: sternfan.RigDiver, size: "large", side: sternfan.Port, dial: sternfan.Of(3.0), leader: ft(6), attr: "flasher"},
	} {
		got, err := listen(said)
		if err != nil {
			t.Errorf("%s: %v", said, err)
			continue
		}
		for _, v := range []*sternfan.Q[unit.Length]{&got.out, &got.lead, &got.leader, &got.cable, &got.down, &want.out, &want.lead, &want.leader, &want.cable, &want.down} {
			v.Value = unit.Length(math.Round(v.SI()*1e6) / 1e6)
		}
		if got != want {
			t.Errorf("%s:\n got %+v\nwant %+v", said, got, want)
		}
	}
	got, err := listen("30lb wire 12 lb ball 2oz weight 2.4 mph")
	if err != nil || math.Abs(got.strength.SI()-133.45) > .01 || math.Abs(got.ball.SI()-5.443) > .001 || math.Abs(got.ounces.SI()-.0567) > .0001 || math.Abs(got.speed.SI()-1.0729) > .0001 {
		t.Errorf("%+v, %v", got, err)
	}
	for said, hint := range map[string]string{"wier diver": "did you mean wire?", "large dvier": "did you mean diver?", "8": "write 180ft, 2.4mph, 30lb or dial 2",
		"coppr": "did you mean copper?", "xyzzy": "say it as in: wire, large diver, dial 2, 180ft"} {
		var faults sternfan.Faults
		if _, err := listen(said); !errors.As(err, &faults) || faults[0].Hint != hint {
			t.Errorf("%s: %v", said, err)
		}
	}
}

func FuzzListen(f *testing.F) {
	f.Add("wire, large diver, dial 2, 180ft")
	f.Add("7 colors 2½ 1 1/2 65ft down")
	f.Fuzz(func(t *testing.T, said string) {
		h, err := listen(said)
		if err == nil {
			for _, v := range []float64{h.out.SI(), h.lead.SI(), h.dial.SI(), h.colors.SI(), h.speed.SI()} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Errorf("%q: %+v", said, h)
				}
			}
			again, err := listen(strings.ToUpper(strings.ToLower(said)))
			if ascii(said) && (err != nil || again != h) {
				t.Errorf("%q: %+v and %+v", said, h, again)
			}
		}
	})
}

func ascii(s string) bool {
	for _, r := range s {
		if r > 126 {
			return false
		}
	}
	return true
}

// The lure that was heard of runs where this boat's own rod with those settings runs it,
// and that rod is told its own settings.
func TestLikeOwn(t *testing.T) {
	data, err := os.ReadFile("../examples/summer.yaml")
	if err != nil {
		t.Fatal(err)
	}
	sc, _, err := scenario.DecodeWith("summer", data, scenario.Options{Known: tackle.Known, List: tackle.Names})
	if err != nil {
		t.Fatal(err)
	}
	b, err := New(sc, Options{Top: 1})
	if err != nil {
		t.Fatal(err)
	}
	for said, rod := range map[string]string{"wire, large diver, ring, dial 1, 130 ft, port": "p-low", "300ft copper 45lb": "chute", "slide-through, mono, 100ft, 40ft lead": "s-slide"} {
		a, err := b.Like(context.Background(), said)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(a.Ways, func(w sternfan.Aim) bool { return w.Rod == rod })
		if own := &a.Ways[i]; math.Abs(own.Now.Lure.Depth-a.Lure.Depth) > .01 || len(own.Ways) == 0 || math.Abs(own.Ways[0].LineOut-own.Now.LineOut) > .31 {
			t.Errorf("%s: runs %g m, %s %g m: %+v", said, a.Lure.Depth, rod, own.Now.Lure.Depth, own.Ways)
		}
		if len(a.Ways) != len(sc.Rods) {
			t.Errorf("%s: %d rods", said, len(a.Ways))
		}
	}
	for said, hint := range map[string]string{"wire, large diver, 180ft": "add it, as in: dial 2", "diver dial 2": "add it with its unit, as in: 180ft",
		"rigger": "add it, as in: 80ft of cable, or say 65ft down", "port": "name the device or the line, as in: wire, large diver, dial 2, 180ft"} {
		var faults sternfan.Faults
		if _, err := b.Like(context.Background(), said); !errors.As(err, &faults) || faults[0].Hint != hint {
			t.Errorf("%s: %v", said, err)
		}
	}
}
