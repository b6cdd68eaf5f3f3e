package engine_test

import (
	"testing"

	"sternfan/engine"
)

// Each plan is a file that reads, has the plan's rods, and says why of every one.
func TestLay(t *testing.T) {
	given := engine.Given{Text: example(t, "class.yaml")}
	var e engine.Engine
	got := do[engine.LayAnswer](t, &e, "lay", engine.LayAsk{Given: given, Top: 1, Seed: 1})
	if len(got.Layout.Plans) != 1 || len(got.Plans) != 1 || got.Headline == "" {
		t.Fatalf("%d plans, %d files, headline %q", len(got.Layout.Plans), len(got.Plans), got.Headline)
	}
	plan := got.Layout.Plans[0]
	checked := do[engine.Checked](t, &e, "check", engine.CheckAsk{Given: engine.Given{Text: got.Plans[0].Text}})
	if len(checked.Faults) > 0 || len(checked.Rods) != len(plan.Rods) {
		t.Errorf("the plan's file: %v, %d rods for %d", checked.Faults, len(checked.Rods), len(plan.Rods))
	}
	for i, r := range got.Plans[0].Reasons {
		if r.Rod != plan.Rods[i].Rod || r.Text == "" {
			t.Errorf("no reason for %s: %+v", plan.Rods[i].Rod, r)
		}
	}
}

func TestReset(t *testing.T) {
	given := engine.Given{Text: example(t, "class.yaml")}
	var e engine.Engine
	rods := do[engine.Checked](t, &e, "check", engine.CheckAsk{Given: given}).Rods
	got := do[engine.ResetAnswer](t, &e, "reset", engine.ResetAsk{Given: given, Rod: rods[0].ID})
	if got.Reset.Rod != rods[0].ID || got.Words == "" || (got.Text == "") != (got.Reset.How == "none") {
		t.Errorf("%s: how %q, words %q, a file of %d bytes", got.Reset.Rod, got.Reset.How, got.Words, len(got.Text))
	}
	if faults, _ := refused(t, &e, "reset", engine.ResetAsk{Given: given, Rod: "nobody"}); faults[0].Code != "unknown-rod" {
		t.Errorf("a rod that is not there: %v", faults)
	}
}
