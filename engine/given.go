package engine

import (
	"cmp"
	"fmt"
	"slices"

	"sternfan"
	"sternfan/report"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// Given is what most requests carry.
type Given struct {
	Text  string          `json:"text"`            // of the scenario file, YAML or JSON
	As    string          `json:"as,omitempty"`    // a name for the text: given once with it, it stands for it while no other text is read
	Name  string          `json:"name,omitempty"`  // what faults call it; "scenario" when not given
	Set   []string        `json:"set,omitempty"`   // edits to try as a command line has them, OWNER.KEY=VALUE: rods.p1.settings.dial=2
	Edits []sternfan.Edit `json:"edits,omitempty"` // edits to try
	Units string          `json:"units,omitempty"` // of what a person reads: "us" (feet, mph, pounds) or "si"

	// Profile is the water's temperature by depth as a file has it, instead of the scenario's.
	Profile *ProfileAsk `json:"profile,omitempty"`
}

func (g *Given) system() unit.System {
	if g.Units == "si" {
		return unit.SI
	}
	return unit.US
}

func (g *Given) name() string {
	if g.Name == "" {
		return "scenario"
	}
	return g.Name
}

// readFile is the file that was read last.
type readFile struct {
	text, as, name string
	doc            *scenario.Document
}

// solved is the boat that was solved last.
type solved struct {
	units     unit.System
	tolerance float64
	session   *spread.Session
	doc       *scenario.Document
	set       []string
	edits     []sternfan.Edit
	profile   *ProfileAsk
	sc        *sternfan.Scenario
	src       *scenario.Source
	model     *tackle.Model
}

// document reads the file, or remembers having read it.
func (e *Engine) document(g *Given) (*scenario.Document, error) {
	r := &e.read
	known := r.doc != nil && r.name == g.name()
	switch {
	case known && g.Text == "" && g.As != "" && r.as == g.As:
		return r.doc, nil
	case g.Text == "" && g.As != "":
		return nil, &BadAsk{fmt.Errorf("the text that was given as %.40q is not remembered", g.As)}
	case known && r.text == g.Text:
		r.as = cmp.Or(g.As, r.as)
		return r.doc, nil
	}
	doc, err := scenario.Read(g.name(), []byte(g.Text))
	if err != nil {
		return nil, err
	}
	*r = readFile{g.Text, g.As, g.name(), doc}
	return doc, nil
}

// model makes the model of what was given.
func (e *Engine) model(g *Given) (*sternfan.Scenario, *tackle.Model, error) {
	doc, err := e.document(g)
	if err != nil {
		return nil, nil, err
	}
	was := &e.done
	if was.model != nil && was.doc == doc && slices.Equal(was.set, g.Set) && slices.Equal(was.edits, g.Edits) && was.profile.same(g.Profile) {
		return was.sc, was.model, nil
	}
	sc, src, err := e.decode(g, doc)
	if err != nil {
		return nil, nil, err
	}
	var since []sternfan.Edit
	if was.model != nil {
		since = slices.Concat(doc.Differs(was.doc), was.src.Edits(), src.Edits())
		if was.sc.Water.Measured != "" || sc.Water.Measured != "" {
			since = append(since, sternfan.Edit{Owner: "water", Key: "temperature"})
		}
	}
	model, faults := tackle.Changed(was.model, sc, since)
	if len(faults) > 0 {
		src.Fill(faults)
		return nil, nil, faults
	}
	was.doc, was.set, was.edits, was.profile = doc, slices.Clone(g.Set), slices.Clone(g.Edits), g.Profile
	was.sc, was.src, was.model = sc, src, model
	return sc, model, nil
}

// decode decodes what was given.
func (e *Engine) decode(g *Given, doc *scenario.Document) (*sternfan.Scenario, *scenario.Source, error) {
	sc, src, err := doc.Decode(scenario.Options{Known: tackle.Known, List: tackle.Names, Set: g.Set, Edits: g.Edits})
	if err != nil {
		return nil, nil, err
	}
	return sc, src, e.measured(g.Profile, sc, src)
}

// Read returns the scenario that was given before any of it is resolved.
func (e *Engine) Read(g *Given) (*sternfan.Scenario, error) {
	doc, err := e.document(g)
	if err != nil {
		return nil, err
	}
	sc, _, err := e.decode(g, doc)
	return sc, err
}

// Scenario returns the scenario that was given as its answers rest on it: for reports.
func (e *Engine) Scenario(g *Given) (*sternfan.Scenario, error) {
	sc, _, err := e.model(g)
	return sc, err
}

// session returns the session for the units and tolerance asked for.
func (e *Engine) session(g *Given, sc *sternfan.Scenario) *spread.Session {
	d := &e.done
	if d.session == nil || d.units != g.system() || d.tolerance != sc.Solver.Tolerance {
		d.units, d.tolerance = g.system(), sc.Solver.Tolerance
		d.session = spread.NewSession(options(g, sc))
	}
	return d.session
}

func options(g *Given, sc *sternfan.Scenario) spread.Options {
	return spread.Options{Tolerance: sc.Solver.Tolerance, Units: g.system()}
}

func reporting(g *Given, sc *sternfan.Scenario) report.Options {
	return report.Options{Units: g.system(), Scenario: sc}
}
