// Package manoeuvre takes a solved spread through what a boat does with lines out: turns,
// stops, strikes, recorded tracks, and setting and clearing the lines themselves. It
// begins from the statics of package spread and carries every system on in time, side by
// side, asking how near lines come to each other and to the boat.
package manoeuvre

import (
	"context"
	"slices"

	"sternfan"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/tow"
)

// Helm takes one solver's spread through manoeuvres. It is not for use by two goroutines
// at once.
type Helm struct {
	*spread.Solver
	model *tackle.Model
}

// New returns the helm of a model.
func New(m *tackle.Model, opt spread.Options) *Helm { return Of(spread.New(m, opt)) }

// Of returns the helm of a solver.
func Of(s *spread.Solver) *Helm { return &Helm{s, s.Model()} }

// group is one coupled system as hands and events see it.
type group struct{ *spread.System }

// again returns a helm of its own for another goroutine, solved in the nominal world.
func (s *Helm) again(ctx context.Context) *Helm { return Of(s.Again(ctx)) }

// systems returns the systems that the statics brought to rest.
func (s *Helm) systems() []*group {
	var out []*group
	for gi := range s.model.Groups {
		if s.rests(gi) {
			out = append(out, &group{s.System(gi)})
		}
	}
	return out
}

// rests reports whether the statics brought a system to rest.
func (s *Helm) rests(gi int) bool {
	g := s.System(gi)
	return g.Sol != nil && g.Sol.Status == tow.Converged
}

// parts are the parts of a rod, expanded.
func (s *Helm) parts(rod int) []sternfan.Part { return s.model.Scenario.Rods[rod].Rig.Parts }

// clipAt is the index of the release among parts, -1 for none.
func clipAt(parts []sternfan.Part) int {
	return slices.IndexFunc(parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartRelease })
}
