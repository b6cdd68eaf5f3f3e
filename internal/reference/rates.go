package reference

// TwoRatesRow compares two counts with their efforts.
type TwoRatesRow struct {
	CountA, CountB   int
	EffortA, EffortB float64
	Ratio            float64 // rate A over rate B
	PCentral         float64 // twice the smaller tail; 0 when the source gives none
	PMinLike         float64 // sum of outcomes no likelier than the one seen; 0 when not given
	Low, High        float64 // exact 95 % interval of the ratio
	Tolerance        float64 // absolute
	Origin
}

// TwoRates holds two published examples of exact comparisons.
var TwoRates = []TwoRatesRow{
	{2, 9, 17877, 16660, 0.2070941557, 0.0501064956, 0, 0.02177406, 1.00054910, 1e-6, Origin{Seen, "Fay, rateratio.test vignette"}},
	{11, 21, 800, 3011, 1.971488, 0, 0.0796686, 0.858426, 4.277266, 1e-6, Origin{Seen, "R, poisson.test example"}},
}

// GammaPoissonRow is a conjugate update of a rate.
type GammaPoissonRow struct {
	PriorShape, PriorRate float64
	Count                 int
	Exposure              float64
	Shape, Rate           float64 // posterior
	Mean                  float64
	MeanTolerance         float64
	ProbAboveOne          float64
	Low, High             float64 // 95 %
	Tolerance             float64 // absolute, of the others
	Origin
}

// GammaPoisson holds the textbook's example; it prints the mean and the
// probability, the further digits are computed.
var GammaPoisson = []GammaPoissonRow{
	{3, 5, 3, 2, 6, 7, 0.857, 0.0005, 0.30070828, 0.31455632, 1.66690458, 1e-6, Origin{Seen, "Gelman et al., Bayesian Data Analysis 3rd ed., section 2.6 (printed .857 and .30)"}},
}

// EqualEffortRow is the two-sided p of two counts at equal effort: even two to
// one at n = 30 is not yet evidence.
type EqualEffortRow struct {
	CountA, CountB int
	P              float64
	Tolerance      float64
	Origin
}

var binomialOrigin = Origin{Exact, "exact conditional binomial"}

// EqualEffort holds two such pairs.
var EqualEffort = []EqualEffortRow{
	{4, 12, 0.076813, 1e-5, binomialOrigin},
	{10, 20, 0.098737, 1e-5, binomialOrigin},
}

// PoissonLimitsRow is the exact 95 % interval of a count's mean.
type PoissonLimitsRow struct {
	Count     int
	Low, High float64
	Tolerance float64
	Origin
}

var garwood = Origin{Exact, "Garwood 1936, by chi-square quantiles"}

// PoissonLimits holds three counts.
var PoissonLimits = []PoissonLimitsRow{
	{0, 0, 3.6889, 1e-4, garwood},
	{3, 0.6187, 8.7673, 1e-4, garwood},
	{10, 4.7954, 18.3904, 1e-4, garwood},
}
