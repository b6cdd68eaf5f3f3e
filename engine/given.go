package engine

import (
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
	Text  string   `json:"text"`            // of the scenario file, YAML or JSON
	Name  string   `json:"name,omitempty"`  // what faults call it; "scenario" when not given
	Set   []string `json:"set,omitempty"`   // KEY=VALUE changes to try, as in rods.p1.settings.dial=2
	Units string   `json:"units,omitempty"` // of what a person reads: "us" (feet, mph, pounds) or "si"

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
	text, name string
	doc        *scenario.Document
}

// solved is the boat that was solved last.
type solved struct {
	units     unit.System
	tolerance float64
	session   *spread.Session
	set       []string
	profile   *ProfileAsk
	text      string
	name      string
	sc        *sternfan.Scenario
	src       *scenario.Source
	model     *tackle.Model
}

// document reads the file, or remembers having read it.
func (e *Engine) document(g *Given) (*scenario.Document, error) {
	if e.read.doc != nil && e.read.text == g.Text && e.read.name == g.name() {
		return e.read.doc, nil
	}
	doc, err := scenario.Read(g.name(), []byte(g.Text))
	if err != nil {
		return nil, err
	}
	e.read = readFile{g.Text, g.name(), doc}
	return doc, nil
}

// model makes the model of what was given.
func (e *Engine) model(g *Given) (*sternfan.Scenario, *tackle.Model, error) {
	if e.done.model != nil && e.done.name == g.name() && e.done.text == g.Text && slices.Equal(e.done.set, g.Set) && e.done.profile.same(g.Profile) {
		return e.done.sc, e.done.model, nil
	}
	sc, src, err := e.decode(g)
	if err != nil {
		return nil, nil, err
	}
	model, faults := tackle.Changed(e.done.model, e.done.sc, sc)
	if len(faults) > 0 {
		src.Fill(faults)
		return nil, nil, faults
	}
	e.done.text, e.done.name, e.done.set, e.done.profile = g.Text, g.name(), slices.Clone(g.Set), g.Profile
	e.done.sc, e.done.src, e.done.model = sc, src, model
	return sc, model, nil
}

// decode reads what was given.
func (e *Engine) decode(g *Given) (*sternfan.Scenario, *scenario.Source, error) {
	doc, err := e.document(g)
	if err != nil {
		return nil, nil, err
	}
	sc, src, err := doc.Decode(scenario.Options{Known: tackle.Known, List: tackle.Names, Set: g.Set})
	if err != nil {
		return nil, nil, err
	}
	return sc, src, e.measured(g.Profile, sc, src)
}

// Read returns the scenario that was given before any of it is resolved.
func (e *Engine) Read(g *Given) (*sternfan.Scenario, error) {
	sc, _, err := e.decode(g)
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
