// Package portable has the elementary functions whose last digits package math leaves to
// each machine: on amd64 math.Exp, Log, Pow and Hypot run instructions that the browser
// does not, and an iteration that stops one step earlier shows it. These are made of
// additions, multiplications, divisions and square roots alone, which IEEE 754 fixes, so
// that the command line and the browser print the same digits. Products are rounded
// before they are added (float64(a*b)), since arm64 would fuse the two.
//
// The rest of math that the project uses (Sin, Cos, Atan2, Cbrt, Erf, ...) is the same
// Go code on amd64 and in the browser.
package portable

import "math"

// ln2 in two parts: the product of the first with an exponent is exact (Cody & Waite 1980,
// ch. 6). The first holds the leading 33 bits.
const (
	ln2Hi = 6.93147180369123816490e-01
	ln2Lo = 1.90821492927058770002e-10
)

// Exp returns e to the x, with an error of about one unit in the last place. It is +Inf
// above 709.78 and 0 below -745.13, as math.Exp.
func Exp(x float64) float64 {
	switch {
	case x != x || x > 709.782712893384:
		return x + math.Inf(1) // NaN stays NaN
	case x < -745.1332191019412:
		return 0
	}
	k := math.Floor(float64(x*math.Log2E) + 0.5)
	r := (x - float64(k*ln2Hi)) - float64(k*ln2Lo)
	// Taylor's series; |r| is at most ln 2 / 2, where the first term left out is below 4e-18.
	y := 1.0
	for n := 13.0; n >= 1; n-- {
		y = 1 + float64(y*(r/n))
	}
	if k > -1022 && k < 1024 {
		return y * math.Float64frombits(uint64(int64(k)+1023)<<52)
	}
	return math.Ldexp(y, int(k))
}

// Log returns the natural logarithm of x, with an error of about one unit in the last
// place; NaN below 0 and -Inf at 0, as math.Log.
func Log(x float64) float64 {
	switch {
	case x != x || x > math.MaxFloat64:
		return x
	case x < 0:
		return math.NaN()
	case x == 0:
		return math.Inf(-1)
	}
	m, e := math.Frexp(x)
	if m < math.Sqrt2/2 {
		m, e = 2*m, e-1
	}
	// log m = 2 artanh s; s is at most 0.172, where the first term left out is below 1e-18.
	f := m - 1
	s := f / (2 + f)
	s2 := float64(s * s)
	sum := 0.0
	for n := 23.0; n >= 3; n -= 2 {
		sum = float64(s2 * (sum + 1/n))
	}
	k := float64(e)
	return float64(k*ln2Hi) + (float64(2*s) + (float64(2*float64(s*sum)) + float64(k*ln2Lo)))
}

// Pow returns x to the y for x of at least 0; NaN for a negative x. The error grows with
// the size of y log x, whose units in the last place it takes over.
func Pow(x, y float64) float64 {
	switch {
	case y == 0 || x == 1:
		return 1
	case x == 0 && y > 0:
		return 0
	case x == 0:
		return math.Inf(1)
	}
	return Exp(float64(y * Log(x)))
}

// Log10 returns the decimal logarithm of x.
func Log10(x float64) float64 { return Log(x) / math.Ln10 }

// Hypot returns the length of the vector (x, y). It is for lengths of this world: squares
// beyond the range of a float64 overflow.
func Hypot(x, y float64) float64 { return math.Sqrt(float64(x*x) + float64(y*y)) }
