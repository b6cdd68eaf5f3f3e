package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"sternfan/event"
	"sternfan/report"

	"sternfan"
	"sternfan/scenario"
	"sternfan/setting"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/trip"
)

// errNoScenario is a trip that was begun without a scenario: its lines cannot be solved.
var errNoScenario = errors.New("the trip has no scenario")

// base returns the trip's scenario with every rig as parts, and the kinds that the rigs
// were.
func (e *entry) base(file string) (*sternfan.Scenario, map[string]sternfan.RigKind, error) {
	name, text := "the trip's scenario", e.trip.Begins.Scenario
	if file != "" {
		data, got, err := readInput(e.ctx, e.w, file, maxBytes)
		if err != nil {
			return nil, nil, err
		}
		name, text = got, string(data)
	}
	if text == "" {
		return nil, nil, errNoScenario
	}
	sc, model, err := modelOf(name, text)
	if err != nil {
		return nil, nil, err
	}
	kinds := map[string]sternfan.RigKind{}
	out := *sc
	out.Rods = slices.Clone(sc.Rods)
	for i := range out.Rods {
		kinds[out.Rods[i].ID] = sc.Rods[i].Rig.Kind
		if parts := model.Scenario.Rods[i].Rig.Parts; len(parts) > 0 {
			out.Rods[i].Rig = sternfan.Rig{Parts: parts}
		}
	}
	return &out, kinds, nil
}

func modelOf(name, text string) (*sternfan.Scenario, *tackle.Model, error) {
	sc, src, err := scenario.DecodeWith(name, []byte(text), scenario.Options{Known: tackle.Known, List: tackle.Names})
	if err != nil {
		return nil, nil, err
	}
	model, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		src.Fill(faults)
		return nil, nil, faults
	}
	return sc, model, nil
}

// lineUp returns the spread at the entry's moment with the rod's line as it is to be:
// as it is out, or was last out, or as the scenario has it; then changed.
func (e *entry) lineUp(file, rod string, changes []string) (*event.Line, *event.Fan, error) {
	base, kinds, err := e.base(file)
	if err != nil {
		return nil, nil, err
	}
	state, err := e.now()
	if err != nil {
		return nil, nil, err
	}
	with := *state
	kind := kinds[rod]
	if o, out := state.Line(rod); out && file == "" {
		kind = o.Line.Rig
	} else {
		with.Lines = slices.DeleteFunc(slices.Clone(state.Lines), func(o trip.Out) bool { return o.Rod == rod })
		if i := slices.IndexFunc(state.Was, func(o trip.Out) bool { return o.Rod == rod }); i >= 0 && file == "" {
			kind = state.Was[i].Line.Rig
			with.Lines = append(with.Lines, state.Was[i])
		}
	}
	sc := trip.Scenario(base, &with)
	if sc.Rod(rod) == nil {
		own := base.Rod(rod)
		if own == nil {
			return nil, nil, unknownRod(rod, base)
		}
		sc.Rods = append(sc.Rods, *own)
	}
	var faults sternfan.Faults
	for _, change := range changes {
		if err := scenario.ChangeRod(sc, sc.Rod(rod), change); err != nil {
			faults = append(faults, err.(sternfan.Faults)...)
		}
	}
	if len(faults) > 0 {
		return nil, nil, faults
	}
	model, fan, err := e.solved(sc, rod)
	if err != nil {
		return nil, nil, err
	}
	line, ok := trip.LineOf(sc, model.Scenario, rod)
	if !ok {
		return nil, nil, fmt.Errorf("the rig of %s cannot be written out as parts", rod)
	}
	line.Rig = kind
	return &line, fan, nil
}

// solved returns where a rod's lures run in a spread.
func (e *entry) solved(sc *sternfan.Scenario, rod string) (*tackle.Model, *event.Fan, error) {
	model, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		return nil, nil, blame(faults, "the spread of the trip")
	}
	fan, err := spread.Solve(e.ctx, model, spread.Options{Intervals: true, Tolerance: sc.Solver.Tolerance})
	if err != nil {
		return nil, nil, err
	}
	kept, _ := trip.FanOf(fan, rod, e.w.version)
	return model, kept, nil
}

func unknownRod(rod string, sc *sternfan.Scenario) error {
	var names []string
	for _, r := range sc.Rods {
		names = append(names, r.ID)
	}
	return &usageError{fmt.Sprintf("the trip's scenario has no rod %q", rod), "its rods are " + report.List(names)}
}

// fanNow solves a rod's line as it is out at the entry's moment; nil when the trip has no
// scenario to solve it by, or no such line.
func (e *entry) fanNow(rod string) (*event.Fan, error) {
	state, err := e.now()
	if err != nil {
		return nil, err
	}
	if _, out := state.Line(rod); !out {
		return nil, nil
	}
	base, _, err := e.base("")
	if errors.Is(err, errNoScenario) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	_, fan, err := e.solved(trip.Scenario(base, state), rod)
	return fan, err
}

type logSetCmd struct {
	eventFlags
	Rods     []string `arg:"" optional:"" name:"rod" help:"Rods by id, then changes as in line_out=180ft dial=2 lure=spoon-light. A rod that was out before is set as it was."`
	All      bool     `help:"Every rod of the trip's scenario that is in."`
	Scenario string   `placeholder:"FILE" help:"Take the rods from this scenario instead."`
}

// split tells rods from changes.
func split(args []string) (rods, changes []string) {
	for _, a := range args {
		if strings.Contains(a, "=") {
			changes = append(changes, a)
		} else {
			rods = append(rods, a)
		}
	}
	return rods, changes
}

func (c *logSetCmd) Run(ctx ctxArg, w *world) error {
	return c.write(ctx, w, true, func(e *entry) error {
		rods, changes := split(c.Rods)
		if c.All {
			base, _, err := e.base(c.Scenario)
			if err != nil {
				return noScenario(err)
			}
			state, err := e.now()
			if err != nil {
				return err
			}
			for _, r := range base.Rods {
				if _, out := state.Line(r.ID); !out {
					rods = append(rods, r.ID)
				}
			}
		}
		if len(rods) == 0 {
			return &usageError{"no rod is named", "name rods by their id, or --all"}
		}
		var events []event.Event
		for _, rod := range rods {
			line, fan, err := e.lineUp(c.Scenario, rod, changes)
			if err != nil {
				return noScenario(err)
			}
			event := e.make(rod, event.LineSet{Line: *line, Fan: fan})
			events = append(events, event)
			// The next rod is solved with this one out.
			e.state.Lines = append(slices.DeleteFunc(slices.Clone(e.state.Lines), func(o trip.Out) bool { return o.Rod == rod }),
				trip.Out{Rod: rod, Set: event.ID, Moved: e.at.Milli, Line: *line, Fan: fan})
		}
		return e.add(events...)
	})
}

func noScenario(err error) error {
	if errors.Is(err, errNoScenario) {
		return &usageError{"the trip was begun without a scenario, so its rods are not known", "name one with --scenario FILE"}
	}
	return err
}

type logChangeCmd struct {
	eventFlags
	Rod     string   `arg:"" help:"The rod by its id."`
	Changes []string `arg:"" name:"change" help:"What changes, as in line_out=180ft or dial=2."`
}

func (c *logChangeCmd) Run(ctx ctxArg, w *world) error {
	return c.write(ctx, w, true, func(e *entry) error {
		state, err := e.now()
		if err != nil {
			return err
		}
		if _, out := state.Line(c.Rod); !out {
			return &usageError{"no line of " + c.Rod + " is out to change", "set it with sternfan log add set " + c.Rod}
		}
		line, fan, err := e.lineUp("", c.Rod, c.Changes)
		if err != nil {
			return noScenario(err)
		}
		events := []event.Event{e.make(c.Rod, event.LineChanged{Line: *line, Fan: fan})}
		for _, rod := range onSameDevice(state, c.Rod, c.Changes) {
			other, fan, err := e.lineUp("", rod, ofDevice(c.Changes))
			if err != nil {
				return err
			}
			events = append(events, e.make(rod, event.LineChanged{Line: *other, Fan: fan}))
		}
		return e.add(events...)
	})
}

// onSameDevice returns the other rods that move when the line of a rod's device is
// changed.
func onSameDevice(state *trip.State, rod string, changes []string) []string {
	if len(ofDevice(changes)) == 0 {
		return nil
	}
	o, _ := state.Line(rod)
	var out []string
	for i := range state.Lines {
		if l := &state.Lines[i]; l.Rod != rod && l.Device() == o.Device() {
			out = append(out, l.Rod)
		}
	}
	return out
}

// ofDevice returns the changes of what a rod is clipped to.
func ofDevice(changes []string) []string {
	return slices.DeleteFunc(slices.Clone(changes), func(c string) bool {
		name, _, _ := strings.Cut(c, "=")
		row, ok := setting.Find(strings.TrimSpace(name))
		return !ok || row.Owner == setting.Rod
	})
}
