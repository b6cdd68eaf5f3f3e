package scipy

import (
	"math"
	"reflect"
	"testing"
)

const gravityMPS2 = 9.80665

// balanceN bounds sums of forces: the script stops at residuals of 1e-9 or less
// and the fixtures hold every digit.
const balanceN = 1e-9

func load(t *testing.T) []Case {
	t.Helper()
	cases, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	return cases
}

func norm(v Vector) float64 { return math.Sqrt(v[0]*v[0] + v[1]*v[1] + v[2]*v[2]) }

func add(a Vector, k float64, b Vector) Vector {
	return Vector{a[0] + k*b[0], a[1] + k*b[1], a[2] + k*b[2]}
}

func TestFamiliesAreComplete(t *testing.T) {
	got, seen := map[string]int{}, map[string]bool{}
	for _, c := range load(t) {
		got[c.Family]++
		if seen[c.ID] {
			t.Errorf("case %s is there twice", c.ID)
		}
		seen[c.ID] = true
	}
	least := map[string]int{"a_sheared_current": 4, "b_stretch": 3, "c_diver": 4, "d_downrigger": 4,
		"e_board": 3, "f_segmented": 1, "g_touchdown": 2, "h_thermocline": 1}
	for f, n := range least {
		if got[f] < n {
			t.Errorf("family %s has %d cases, want at least %d", f, got[f], n)
		}
	}
	if len(got) != len(least) {
		t.Errorf("families %v, want those of %v", got, least)
	}
}

func finite(t *testing.T, path string, v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		if math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0) {
			t.Errorf("%s is %v", path, v.Float())
		}
	case reflect.Pointer:
		if !v.IsNil() {
			finite(t, path, v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			finite(t, path+"."+v.Type().Field(i).Name, v.Field(i))
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			finite(t, path, v.Index(i))
		}
	}
}

func TestCasesAreWellFormed(t *testing.T) {
	for _, c := range load(t) {
		finite(t, c.ID, reflect.ValueOf(c))
		kinds := map[string]Node{}
		for _, n := range c.Nodes {
			kinds[n.ID] = n
			switch n.Kind {
			case "fixed", "body", "junction", "ring":
			default:
				t.Errorf("%s: node %s has kind %q", c.ID, n.ID, n.Kind)
			}
			if (n.Kind == "fixed") != (n.PositionM != nil) {
				t.Errorf("%s: node %s: a position belongs to fixed nodes alone", c.ID, n.ID)
			}
			if (n.Kind == "ring") != (len(n.SlidesOn) == 2) {
				t.Errorf("%s: node %s: two lines to slide on belong to rings alone", c.ID, n.ID)
			}
		}
		for _, l := range c.Lines {
			if _, ok := kinds[l.From]; !ok {
				t.Errorf("%s: line %s comes from unknown node %q", c.ID, l.ID, l.From)
			}
			if _, ok := kinds[l.To]; !ok {
				t.Errorf("%s: line %s goes to unknown node %q", c.ID, l.ID, l.To)
			}
			if l.Free == (l.ClosedBy == "none") || l.Free && len(l.Sections) != 1 {
				t.Errorf("%s: line %s: free %v, closed by %q, %d sections", c.ID, l.ID, l.Free, l.ClosedBy, len(l.Sections))
			}
			for _, s := range l.Sections {
				if s.DiameterM <= 0 || s.MassPerLengthKgM <= 0 || !s.NormalCoefficient.Auto && s.NormalCoefficient.Value <= 0 ||
					(s.LengthM > 0) == l.Free {
					t.Errorf("%s: line %s has section %+v", c.ID, l.ID, s)
				}
			}
		}
		if len(c.Expected.Nodes) != len(c.Nodes) || len(c.Expected.Lines) != len(c.Lines) || len(c.Expected.Lures) == 0 {
			t.Errorf("%s: results for %d nodes, %d lines, %d lures", c.ID,
				len(c.Expected.Nodes), len(c.Expected.Lines), len(c.Expected.Lures))
		}
	}
}

func TestForcesBalanceAtEveryNode(t *testing.T) {
	for _, c := range load(t) {
		for _, n := range c.Nodes {
			if n.Kind == "fixed" {
				continue
			}
			r, ok := c.Expected.Node(n.ID)
			if !ok {
				t.Fatalf("%s: no result for node %s", c.ID, n.ID)
			}
			sum := r.ForceN
			lowest := true
			for _, l := range c.Lines {
				lr, ok := c.Expected.Line(l.ID)
				if !ok {
					t.Fatalf("%s: no result for line %s", c.ID, l.ID)
				}
				if l.From == n.ID {
					sum = add(sum, 1, lr.LowerForceN)
				}
				if l.To == n.ID {
					lowest = false
					sum = add(sum, -1, lr.UpperForceN)
				}
			}
			if c.Bottom != nil && lowest {
				// The bottom carries the weight and rubs with its share of it.
				sum = add(sum, -1, Vector{c.Bottom.BodyFriction * r.ForceN[2], 0, r.ForceN[2]})
			}
			if norm(sum) > balanceN {
				t.Errorf("%s: forces at node %s sum to %v N", c.ID, n.ID, sum)
			}
		}
	}
}

func TestLinesHangTogether(t *testing.T) {
	for _, c := range load(t) {
		for _, n := range c.Nodes {
			if r, _ := c.Expected.Node(n.ID); n.PositionM != nil && r.PositionM != *n.PositionM {
				t.Errorf("%s: fixed node %s moved to %v", c.ID, n.ID, r.PositionM)
			}
		}
		for _, l := range c.Lines {
			r, _ := c.Expected.Line(l.ID)
			a, _ := c.Expected.Node(l.From)
			b, _ := c.Expected.Node(l.To)
			if r.LowerTensionN <= 0 || r.UpperTensionN <= 0 {
				t.Errorf("%s: line %s pulls %v N and %v N", c.ID, l.ID, r.LowerTensionN, r.UpperTensionN)
			}
			if d := math.Abs(norm(r.LowerForceN) - r.LowerTensionN); d > balanceN {
				t.Errorf("%s: line %s: lower force and tension differ by %v N", c.ID, l.ID, d)
			}
			if d := math.Abs(norm(r.UpperForceN) - r.UpperTensionN); d > balanceN {
				t.Errorf("%s: line %s: upper force and tension differ by %v N", c.ID, l.ID, d)
			}
			if chord := norm(add(b.PositionM, -1, a.PositionM)); r.StretchedLengthM < chord-1e-9 {
				t.Errorf("%s: line %s of %v m spans %v m", c.ID, l.ID, r.StretchedLengthM, chord)
			}
			if r.StretchedLengthM < r.UnstretchedLengthM-1e-12 {
				t.Errorf("%s: line %s shrinks from %v m to %v m", c.ID, l.ID, r.UnstretchedLengthM, r.StretchedLengthM)
			}
			given := 0.0
			for _, s := range l.Sections {
				given += s.LengthM
			}
			if !l.Free && math.Abs(given-r.UnstretchedLengthM) > 1e-12*given {
				t.Errorf("%s: line %s is %v m long, given %v m", c.ID, l.ID, r.UnstretchedLengthM, given)
			}
			if l.ClosedBy == "upper_tension" && math.Abs(r.UpperTensionN-l.UpperTensionN) > balanceN {
				t.Errorf("%s: line %s pulls %v N at its tip, set %v N", c.ID, l.ID, r.UpperTensionN, l.UpperTensionN)
			}
		}
		for _, lu := range c.Expected.Lures {
			n, _ := c.Expected.Node(lu.ID)
			if n.PositionM[2] != lu.DepthM || lu.DepthM <= 0 {
				t.Errorf("%s: lure %s at %v m is listed at %v m", c.ID, lu.ID, n.PositionM[2], lu.DepthM)
			}
		}
	}
}

func TestRingsAreFrictionlessAndStable(t *testing.T) {
	rings := 0
	for _, c := range load(t) {
		for _, n := range c.Nodes {
			if n.Kind != "ring" {
				continue
			}
			rings++
			lo, _ := c.Expected.Line(n.SlidesOn[0])
			hi, _ := c.Expected.Line(n.SlidesOn[1])
			if d := math.Abs(lo.UpperTensionN - hi.LowerTensionN); d > balanceN {
				t.Errorf("%s: tension jumps by %v N at ring %s", c.ID, d, n.ID)
			}
			if k := c.Solution.RingStiffnessNPerM; k == nil || *k >= 0 {
				t.Errorf("%s: ring %s is not held stably", c.ID, n.ID)
			}
		}
	}
	if rings == 0 {
		t.Error("no case has a ring")
	}
}

// Closed form: along one section without tangential drag in water of one
// density, T + T²/2EA rises by the weight in water times the height under water
// and the weight in air times the height above it, whatever the shape.
func TestTensionFollowsDepth(t *testing.T) {
	checked := 0
	for _, c := range load(t) {
		if len(c.Lines) != 1 || len(c.Lines[0].Sections) != 1 || c.Bottom != nil || len(c.Water.Temperature) > 0 {
			continue
		}
		l, s := c.Lines[0], c.Lines[0].Sections[0]
		if s.TangentialCoefficient != 0 || s.AxialStiffnessN == 0 {
			continue
		}
		checked++
		r, _ := c.Expected.Line(l.ID)
		a, _ := c.Expected.Node(l.From)
		b, _ := c.Expected.Node(l.To)
		air := s.MassPerLengthKgM * gravityMPS2
		wet := air - c.Water.DensityKgM3*math.Pi*s.DiameterM*s.DiameterM/4*gravityMPS2
		energy := func(f float64) float64 { return f + f*f/(2*s.AxialStiffnessN) }
		want := energy(r.LowerTensionN) + wet*a.PositionM[2] - air*b.PositionM[2]
		if d := energy(r.UpperTensionN) - want; math.Abs(d) > balanceN {
			t.Errorf("%s: T + T²/2EA at the tip is off by %v N", c.ID, d)
		}
	}
	if checked < 2 {
		t.Errorf("%d cases checked, want at least 2", checked)
	}
}

// Closed form: the pull along a straight laid line grows by friction on its
// weight and by the drag along it.
func TestLaidPartPull(t *testing.T) {
	checked := 0
	for _, c := range load(t) {
		if c.Bottom == nil {
			continue
		}
		checked++
		l, s, laid := c.Lines[0], c.Lines[0].Sections[0], c.Expected.Laid
		if laid == nil {
			t.Fatalf("%s: nothing laid", c.ID)
		}
		rho := c.Water.DensityKgM3
		wet := (s.MassPerLengthKgM - rho*math.Pi*s.DiameterM*s.DiameterM/4) * gravityMPS2
		drag := rho / 2 * s.TangentialCoefficient * math.Pi * s.DiameterM * c.SpeedSurfaceMPS * c.SpeedSurfaceMPS
		r, _ := c.Expected.Line(l.ID)
		want := r.LowerTensionN + (c.Bottom.LineFriction*wet+drag)*laid.UnstretchedLengthM
		if math.Abs(laid.TensionN-want) > balanceN {
			t.Errorf("%s: %v N at touchdown, want %v N", c.ID, laid.TensionN, want)
		}
		lure, _ := c.Expected.Node(l.From)
		if d := norm(add(laid.TouchdownM, -1, lure.PositionM)); math.Abs(d-laid.StretchedLengthM) > 1e-9 || laid.TouchdownM[2] != c.Bottom.DepthM {
			t.Errorf("%s: laid %v m from %v to %v", c.ID, laid.StretchedLengthM, lure.PositionM, laid.TouchdownM)
		}
	}
	if checked < 2 {
		t.Errorf("%d cases checked, want at least 2", checked)
	}
}

func TestMirrorPairs(t *testing.T) {
	byID := map[string]Case{}
	for _, c := range load(t) {
		byID[c.ID] = c
	}
	for _, pair := range [][2]string{{"C2", "C3"}, {"E2", "E3"}} {
		a, b := byID[pair[0]], byID[pair[1]]
		if len(a.Expected.Nodes) == 0 {
			t.Errorf("%s is missing", pair[0])
		}
		for _, n := range a.Expected.Nodes {
			m, _ := b.Expected.Node(n.ID)
			m.PositionM[1] = -m.PositionM[1]
			// Both are roots found to 1e-11 or so; 1e-8 m leaves room for how stiff the rig is.
			if d := norm(add(n.PositionM, -1, m.PositionM)); d > 1e-8 {
				t.Errorf("%s and %s: node %s is %v m off its mirror image", pair[0], pair[1], n.ID, d)
			}
		}
	}
}

func TestTwoSolversAgree(t *testing.T) {
	for _, c := range load(t) {
		s := c.Solution
		if s.ResidualMax > 1e-9 {
			t.Errorf("%s: residual %v", c.ID, s.ResidualMax)
		}
		b := s.BoundaryValueSolver
		if b == nil || !b.Success {
			t.Errorf("%s: not confirmed by the boundary value solver", c.ID)
			continue
		}
		// Its relative tolerance is 1e-9 on lines of up to 100 m.
		if d := max(b.MaxPositionDifferenceM, b.MaxForceDifferenceN, b.MaxLengthDifferenceM); d > 1e-7 {
			t.Errorf("%s: the boundary value solver differs by %v", c.ID, d)
		}
	}
}
