package engine_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"sternfan"
	"sternfan/engine"
)

// Whatever an engine did before, it answers as one that did nothing: no operation changes
// what is remembered of the file.
func TestRemembersWhatIsSo(t *testing.T) {
	given := engine.Given{Text: example(t, "class.yaml")}
	rod := do[engine.Checked](t, new(engine.Engine), "check", engine.CheckAsk{Given: given}).Rods[0].ID
	tried := engine.Given{Text: given.Text, Set: []string{"rods." + rod + ".settings.line_out=77 ft"}}
	answer := func(e *engine.Engine, g engine.Given) string {
		ask, err := json.Marshal(engine.SpreadAsk{Given: g, Fan: true})
		if err != nil {
			t.Fatal(err)
		}
		return string(e.Handle(context.Background(), "spread", ask, nil))
	}
	want, wantTried := answer(new(engine.Engine), given), answer(new(engine.Engine), tried)
	var e engine.Engine
	for _, op := range []struct {
		name string
		ask  any
	}{
		{"check", engine.CheckAsk{Given: given}},
		{"move", tried},
		{"paths", engine.PathsAsk{Given: tried, Rod: rod, Drawing: true}},
		{"speeds", engine.SpeedsAsk{Given: given, At: "20 ft", Want: "2 mph"}},
		{"expand", tried},
		{"aim", engine.AimAsk{Given: tried, Rod: rod, Depth: 9}},
		{"order", engine.OrderAsk{Given: tried, Order: "down 5 ft"}},
		{"lay", engine.LayAsk{Given: tried, Top: 1, Seed: 1}},
		{"reset", engine.ResetAsk{Given: tried, Rod: rod}},
		{"turn", engine.TurnAsk{Given: tried, To: sternfan.Port, Angle: new(math.Pi / 2), Radius: new(60.0), Before: new(5.0), After: new(5.0), Every: new(5.0)}},
	} {
		ask, err := json.Marshal(op.ask)
		if err != nil {
			t.Fatal(err)
		}
		var reply struct{ Answer json.RawMessage }
		if text := e.Handle(context.Background(), op.name, ask, nil); json.Unmarshal(text, &reply) != nil || reply.Answer == nil {
			t.Fatalf("%s: %.300s", op.name, text)
		}
		if answer(&e, tried) != wantTried || answer(&e, given) != want {
			t.Errorf("after %s the spread is another", op.name)
		}
	}
}

// One frame of a drag: the demonstration's high diver with a few feet more or less out.
func BenchmarkMove(b *testing.B) {
	text := example(b, "summer.yaml")
	var asks [][]byte
	for i := range 20 {
		ask, err := json.Marshal(engine.Given{Text: text, As: "1", Edits: []sternfan.Edit{{Owner: "rods.s-high", Key: "settings.line_out", Value: fmt.Sprintf("%d ft", 180+i)}}})
		if err != nil {
			b.Fatal(err)
		}
		asks = append(asks, ask)
	}
	var e engine.Engine
	e.Handle(context.Background(), "move", asks[0], nil)
	b.ReportAllocs()
	for i := 1; b.Loop(); i++ {
		e.Handle(context.Background(), "move", asks[i%20], nil)
	}
}
