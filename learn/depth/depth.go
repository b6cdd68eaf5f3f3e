// Package depth finds a boat's own numbers from what was measured on the water: which of
// the registry's entries explain it, how well, what cannot be told apart and what to
// measure next.
package depth

import (
	"context"
	"errors"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/learn/rows"
	"sternfan/spread"
	"sternfan/tackle"
)

// Query asks what measurements say of a boat's own numbers.
type Query struct {
	Scenario *sternfan.Scenario     // as it is, earlier calibrations in use
	Measured []sternfan.Measurement // that no earlier calibration rests on
	// With returns the scenario with settings changed, in the form of Measurement.Settings.
	With     func(set []string) (*sternfan.Scenario, error)
	Mark     string   // of the measurements; "" to have none
	Readings []string // the entries of the log among the measurements
	File     string   // of the measurements, for faults
}

// Learn fits the registry's entries to what was measured: their scores start standard
// normal, as the registry says; the fit is the maximum of the posterior by damped
// Gauss-Newton steps through the engine; intervals are Laplace's. A measurement may be a
// gross error and then hardly counts. Errors are [sternfan.Faults] or ctx's.
func Learn(ctx context.Context, q Query) (*sternfan.DepthFit, error) {
	out := &sternfan.DepthFit{Version: 1, Mark: q.Mark, Measured: []sternfan.MeasuredFit{}, Numbers: []sternfan.FittedNumber{}, Alike: []sternfan.AlikeNumbers{},
		Quiet: []string{}, Lures: []sternfan.FittedLure{}, Next: []sternfan.NextMeasurement{}, Save: []sternfan.SavedNumber{}}
	if len(q.Measured) == 0 {
		return nil, sternfan.Faults{{Code: "missing", File: q.File, Text: "there is nothing measured", Hint: "add a row for each measurement"}}
	}
	for _, c := range q.Scenario.Calibrations {
		if !c.Off {
			out.Earlier++
		}
		if q.Mark != "" && !c.Off && markOf(&c) == q.Mark {
			return nil, sternfan.Faults{{Code: "refused", File: q.File, Text: "these measurements are already in the scenario's calibrations and would count twice",
				Found: c.Name + ", " + c.Source, Hint: "undo them first, or give only what was measured since"}}
		}
	}
	w := &workshop{q: q, stands: map[string]*stand{}, fills: map[string]float64{}}
	w.boat.index = map[string]int{}
	data, faults := w.ask(ctx)
	if len(faults) > 0 {
		return nil, faults
	}
	w.boat.prune(ctx)
	zero := make([]float64, len(w.boat.columns))
	before := make([]float64, len(w.boat.readings))
	w.boat.predict(ctx, zero, before)
	f := maximize(ctx, &w.boat, data, w.boat.prior())
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	out.Passes, out.Settled = f.passes, f.settled
	w.told(out, f, data, before)
	w.numbers(out, f)
	if out.Strange() {
		out.Save = []sternfan.SavedNumber{}
		for i := range out.Numbers {
			out.Numbers[i].Saved = false
		}
	}
	if err := w.ahead(ctx, out, f); err != nil {
		return nil, err
	}
	return out, ctx.Err()
}

// workshop is the state of one Learn.
type workshop struct {
	q      Query
	boat   boat
	stands map[string]*stand
	fills  map[string]float64
	data   []asked
}

// settingFor returns the place of a setting, made when it is new. occasion names the
// settings that share what was set by hand.
func (w *workshop) settingFor(ctx context.Context, id string, set []string, day, occasion string) (int, error) {
	key := id + "\n" + text(set)
	k := w.stands[key+"\n"+day+"\n"+occasion]
	if k != nil {
		for i := range w.boat.settings {
			if w.boat.settings[i].stand == k {
				return i, nil
			}
		}
	}
	sc, err := w.q.With(set)
	if err != nil {
		return 0, err
	}
	k, err = newStand(ctx, sc, id)
	if err != nil {
		return 0, err
	}
	k.spool /= w.fill(ctx, id)
	w.stands[key+"\n"+day+"\n"+occasion] = k
	return w.boat.addSetting(k, day, id+" "+occasion), nil
}

// fill returns the effect of a wrong fill at the scenario's own count, to which a saved
// number belongs.
func (w *workshop) fill(ctx context.Context, id string) float64 {
	v, ok := w.fills[id]
	if !ok {
		v = 1
		if k, err := newStand(ctx, w.q.Scenario, id); err == nil {
			v = k.spool
		}
		w.fills[id] = v
	}
	return v
}

func text(set []string) string { return strings.Join(set, "\n") }

// ask makes the settings and readings of all measurements.
func (w *workshop) ask(ctx context.Context) ([]asked, sternfan.Faults) {
	var faults sternfan.Faults
	var data []asked
	for i := range w.q.Measured {
		m := &w.q.Measured[i]
		wrong := func(err error) {
			var many sternfan.Faults
			var one sternfan.Fault
			switch {
			case errors.As(err, &many) && len(many) > 0:
				one = many[0]
			case errors.As(err, &one):
			default:
				one = sternfan.Fault{Code: "refused", Text: err.Error()}
			}
			one.File, one.Line, one.Column = w.q.File, m.Line, 1
			if len(faults) < rows.MostFaults {
				faults = append(faults, one)
			}
		}
		a := asked{at: -1, clear: -1, bottom: m.Kind == sternfan.MeasuredBottom, value: m.Value, sd: m.SD}
		occasion := text(m.Settings)
		add := func(set []string) int {
			k, err := w.settingFor(ctx, m.Rod, set, m.Dated, occasion)
			if err != nil {
				wrong(err)
				return -1
			}
			s := &w.boat.settings[k]
			node := s.first
			if m.Part != "" {
				n, ok := s.node[m.Part]
				if !ok {
					wrong(sternfan.Fault{Code: "unknown-id", Text: "the rod has no such part", Found: m.Part, Allowed: slices.Sorted(maps.Keys(s.node))})
					return -1
				}
				node = n
			}
			if node < 0 {
				wrong(sternfan.Fault{Code: "missing", Text: "the rod has no lure to measure", Found: m.Rod})
				return -1
			}
			r := reading{setting: k, what: m.Kind, node: node, from: m.Transducer, sd: m.SD}
			w.boat.readings = append(w.boat.readings, r)
			return len(w.boat.readings) - 1
		}
		before := len(faults)
		if !a.bottom || m.Touched {
			a.at = add(m.Settings)
		}
		if a.bottom && m.ClearAt != nil && len(faults) == before {
			a.clear = add(m.ClearAt)
		}
		if a.bottom && a.at < 0 && a.clear < 0 && len(faults) == before {
			wrong(sternfan.Fault{Code: "missing", Text: "a bottom needs the line out at which it touched, or at which it did not"})
		}
		data = append(data, a)
	}
	return data, faults
}

// told fills in what was measured against what is reckoned.
func (w *workshop) told(out *sternfan.DepthFit, f *fit, data []asked, before []float64) {
	scatter, n := 0.0, 0.0
	for i := range data {
		m := sternfan.MeasuredFit{Measurement: w.q.Measured[i], Trust: f.trust[i], Solved: true}
		if m.Settings == nil {
			m.Settings = []string{}
		}
		if m.Dated > out.Dated {
			out.Dated = m.Dated
		}
		k := data[i].at
		if k < 0 {
			k = data[i].clear
		}
		m.Before, m.After = before[k], f.y[k]
		for _, k := range data[i].preds() {
			if k >= 0 && (math.IsNaN(before[k]) || math.IsNaN(f.y[k])) {
				m.Solved = false
			}
		}
		if !m.Solved {
			m.Before, m.After, m.Trust = 0, 0, 0
			out.Unreckoned++
		} else if !data[i].bottom && !m.Aside() {
			r := (m.After - m.Value) / m.SD
			scatter += r * r
			n++
		}
		out.Measured = append(out.Measured, m)
	}
	out.Unmodeled = n >= 4 && scatter/n > 1.8*1.8
}

// What is worth saving: a number whose interval shrank or that moved.
const (
	shrunk    = 0.95
	movedBy   = 0.2
	quietSD   = 0.9
	tellsLess = 0.3 // of a standard error, the most that a quiet number may tell to go unsaid
	alikeRho  = 0.9
	tiedRho   = 0.02 // below which two saved numbers go without a tie
)

// numbers fills in the entries before and after, what to save, and what the data cannot
// tell.
func (w *workshop) numbers(out *sternfan.DepthFit, f *fit) {
	n := len(w.boat.columns)
	days := map[string]bool{}
	for _, m := range w.q.Measured {
		days[m.Dated] = true
	}
	source := strconv.Itoa(len(w.q.Measured)) + " measured"
	if w.q.Mark != "" {
		source += ", mark " + w.q.Mark
	}
	var shown, kept []int
	for c := range w.boat.columns {
		col := &w.boat.columns[c]
		ofDay := col.occasion != ""
		if !col.active || ofDay && (col.entry.Param != tackle.ParamCurrent || col.occasion != col.day) {
			continue
		}
		e := &col.entry
		x, sd := f.x[c], math.Sqrt(f.cov[c*n+c])
		num := sternfan.FittedNumber{Name: e.Name, Param: e.Param, Target: e.Target, Unit: e.Unit, Before: e.Nominal, Score: x, ScoreSD: sd}
		if ofDay {
			num.Day = col.day
		}
		num.BeforeL, num.BeforeH = e.Scatter.At(e.Nominal, -spread.Eighty*col.part), e.Scatter.At(e.Nominal, spread.Eighty*col.part)
		// The other part of an entry is new on each occasion, and stays as it was.
		num.After = e.Scatter.At(e.Nominal, x*col.part)
		num.AfterL, num.AfterH = e.Scatter.At(e.Nominal, (x-spread.Eighty*sd)*col.part), e.Scatter.At(e.Nominal, (x+spread.Eighty*sd)*col.part)
		if sd < shrunk || math.Abs(x) > movedBy {
			num.Saved = true
			s := saved(e, x*col.part, math.Sqrt(sd*sd*col.part*col.part+math.Max(0, 1-col.part*col.part)))
			s.Dated, s.Source, s.Mark, s.Readings = out.Dated, source, w.q.Mark, w.q.Readings
			if ofDay {
				s.Dated, s.Source = col.day, "that day's only, off until switched on; "+source
				s.Off = true
				num.Saved = len(days) == 1
			}
			if num.Saved {
				out.Save = append(out.Save, s)
				kept = append(kept, c)
			}
		}
		out.Numbers = append(out.Numbers, num)
		shown = append(shown, c)
		tells := 0.0
		for k := range w.boat.readings {
			tells = math.Max(tells, math.Abs(f.jac[k*n+c])/w.boat.readings[k].sd)
		}
		if sd > quietSD && tells > tellsLess {
			out.Quiet = append(out.Quiet, e.Name)
		}
	}
	for i, c := range kept {
		for k, d := range kept[:i] {
			rho := f.cov[c*n+d] / math.Sqrt(f.cov[c*n+c]*f.cov[d*n+d])
			rho *= lasting(w.boat.columns[c].part, f.cov[c*n+c]) * lasting(w.boat.columns[d].part, f.cov[d*n+d])
			if math.Abs(rho) > tiedRho && !out.Save[i].Off && !out.Save[k].Off {
				out.Save[i].Corr = append(out.Save[i].Corr, sternfan.Correlation{With: out.Save[k].Name, Rho: math.Round(rho*1e4) / 1e4})
			}
		}
	}
	for i, c := range shown {
		for k, d := range shown[:i] {
			rho := f.cov[c*n+d] / math.Sqrt(f.cov[c*n+c]*f.cov[d*n+d])
			if math.Abs(rho) > alikeRho {
				out.Alike = append(out.Alike, sternfan.AlikeNumbers{A: out.Numbers[k].Name, B: out.Numbers[i].Name, Rho: rho})
			}
		}
	}
}

// lasting returns the part of a saved deviation that is of the number for good: the
// square root of its share of the variance.
func lasting(part, variance float64) float64 {
	v := part * part * variance
	return math.Sqrt(v / (v + math.Max(0, 1-part*part)))
}

// saved returns the calibration that takes an entry to score x, sd.
func saved(e *sternfan.Entry, x, sd float64) sternfan.SavedNumber {
	s := sternfan.SavedNumber{Name: e.Name, Kind: sternfan.Normal.String(), SD: e.Scatter.SD * sd}
	switch e.Scatter.Kind {
	case sternfan.LogNormal:
		s.Kind, s.Scale = sternfan.LogNormal.String(), math.Exp(e.Scatter.SD*x)
	case sternfan.Uniform:
		// A flat range becomes a bell of the same slope.
		s.Shift = e.Scatter.SD * math.Erf(x/math.Sqrt2)
		s.SD = e.Scatter.SD * math.Sqrt(2/math.Pi) * math.Exp(-x*x/2) * sd
	default:
		s.Shift = e.Scatter.SD * x
	}
	s.Scale, s.Shift, s.SD = sixDigits(s.Scale), sixDigits(s.Shift), sixDigits(s.SD)
	return s
}

// sixDigits keeps a file readable.
func sixDigits(v float64) float64 {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		panic("depth: a number does not read back")
	}
	return short
}
