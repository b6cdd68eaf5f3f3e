package report

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"sternfan"
	"sternfan/geom"
)

// TestTurnPageHoldsTheBoat reads a page's data back: what hangs beside the boat is in every
// view and inside its frame, a raised kicker in none, and names cannot end the script.
func TestTurnPageHoldsTheBoat(t *testing.T) {
	sc := &sternfan.Scenario{}
	sc.Boat.Hull = []geom.Vec{{Y: -1}, {X: 6}, {Y: 1}}
	sc.Boat.Kickers = []sternfan.Kicker{{At: geom.Vec{X: -0.3, Y: 0.8}}}
	sc.Boat.SpeedBags = []sternfan.SpeedBag{{At: geom.Vec{X: 2, Y: -1.5, Z: -0.6}}, {At: geom.Vec{X: 2, Y: 1.5, Z: -0.6}}}
	turn := &sternfan.Turn{Name: "</script><b>", Every: 1, Boat: []sternfan.TurnPose{{}, {T: 1, X: 1}}}
	page := func() (text string, p pageTurn) {
		var b strings.Builder
		if err := TurnPage(&b, turn, Options{Scenario: sc}); err != nil {
			t.Fatal(err)
		}
		data := regexp.MustCompile(`(?m)^const d = (.*);$`).FindStringSubmatch(b.String())
		if data == nil {
			t.Fatal("no data on the page")
		}
		if err := json.Unmarshal([]byte(data[1]), &p); err != nil {
			t.Fatal(err)
		}
		return b.String(), p
	}
	text, p := page()
	if strings.Count(text, "</script>") != 1 || strings.Contains(text, "<b>") || strings.Contains(text, "http://") && !strings.Contains(text, "http://www.w3.org/2000/svg") {
		t.Error("a name gets out of its place")
	}
	got := map[string]int{}
	for _, b := range p.Beside {
		got[b.View+" "+b.Name]++
		for _, q := range b.Points {
			u, v := p.Extent.Astern, p.Extent.Depth
			switch b.View {
			case "above":
				v = p.Extent.Side
			case "astern":
				u = p.Extent.Side
			}
			if q[0] < u[0] || q[0] > u[1] || q[1] < v[0] || q[1] > v[1] {
				t.Errorf("%s from %s lies outside of its view: %v", b.Name, b.View, q)
			}
		}
	}
	for _, view := range []string{"side", "above", "astern"} {
		for name, n := range map[string]int{"The kicker": 2, "The port speed bag": 1, "The port speed bag's rope": 1, "The starboard speed bag": 1, "The starboard speed bag's rope": 1} {
			if got[view+" "+name] != n {
				t.Errorf("from %s: %d times %s, want %d", view, got[view+" "+name], name, n)
			}
		}
	}
	sc.Boat.Kickers[0].Raised = true
	if _, p := page(); len(p.Beside) != 12 {
		t.Errorf("%d parts with the kicker raised, want the bags' 12", len(p.Beside))
	}
}
