package sternfan

import (
	"math"

	"sternfan/portable"
)

// Q is a quantity of a person's description: its value in SI, how uncertain it is and
// where it comes from. The zero Q is "not given".
type Q[U ~float64] struct {
	Value   U
	Given   bool
	Scatter Scatter
	Source  string
}

// Of returns a given quantity without uncertainty.
func Of[U ~float64](v U) Q[U] { return Q[U]{Value: v, Given: true} }

// Or returns the quantity if it was given and the fallback otherwise. A quantity given
// without its own uncertainty keeps that of the fallback when this is relative: a diameter
// read off a label is no better known than the table's.
func (q Q[U]) Or(fallback Q[U]) Q[U] {
	if !q.Given {
		return fallback
	}
	if q.Scatter == (Scatter{}) && fallback.Given && fallback.Scatter.Kind == LogNormal {
		q.Scatter = fallback.Scatter
	}
	return q
}

// Fill is Or in place, for quantities of which only the type is not known: from is a Q of
// the same kind.
func (q *Q[U]) Fill(from any) { *q = q.Or(from.(Q[U])) }

// SI returns the value as a plain number.
func (q Q[U]) SI() float64 { return float64(q.Value) }

// ScatterKind says which distribution a quantity has about its value.
type ScatterKind uint8

// The distributions that an entry may have.
const (
	Exact     ScatterKind = iota // no uncertainty
	Normal                       // value + SD xi, xi standard normal
	LogNormal                    // value exp(SD xi): SD is relative; never changes sign
	Uniform                      // value + SD (2 Phi(xi) - 1): SD is the half width
)

// String returns the name used in files.
func (k ScatterKind) String() string {
	switch k {
	case Normal:
		return "normal"
	case LogNormal:
		return "lognormal"
	case Uniform:
		return "uniform"
	}
	return "exact"
}

// Scatter is the uncertainty of a quantity: SD in the quantity's SI unit for Normal, a
// fraction for LogNormal, the half width in SI for Uniform.
type Scatter struct {
	Kind ScatterKind
	SD   float64
}

// Rel is a relative uncertainty of one standard deviation (0.08 for 8 %).
func Rel(sd float64) Scatter { return Scatter{LogNormal, sd} }

// Abs is an absolute uncertainty of one standard deviation in SI units.
func Abs(sd float64) Scatter { return Scatter{Normal, sd} }

// Half is an equally likely range of plus or minus w in SI units.
func Half(w float64) Scatter { return Scatter{Uniform, w} }

// At returns the value that nominal takes at the standard normal score xi.
func (s Scatter) At(nominal, xi float64) float64 {
	switch s.Kind {
	case Normal:
		return nominal + s.SD*xi
	case LogNormal:
		return nominal * portable.Exp(s.SD*xi)
	case Uniform:
		return nominal + s.SD*math.Erf(xi/math.Sqrt2)
	}
	return nominal
}
