package stats

import (
	"math"
	"slices"
	"sync"

	"sternfan"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
)

const (
	// SpreadScale is the scale of the half-normal prior of the relative spread between
	// the true rates of one attribute's levels: two levels in three within half of their
	// mean, a factor of three between them common, of ten rare. Assumed.
	SpreadScale = 0.5
	spreadMost  = 3 * SpreadScale // beyond, few levels would leave the mean without a bound

	spreadNodes = 32
	mostMean    = 600 // nodes of the mean
	mostMixed   = 12  // levels for which the interval is taken from the whole mixture
)

// PoolMethod is what it is called.
const PoolMethod = "gamma-Poisson, mean and spread integrated out"

// gamma is a gamma distribution of a rate.
type gamma struct{ shape, rate float64 }

// after returns the distribution once so many events were seen in such an exposure.
func (g gamma) after(events, exposure float64) gamma {
	return gamma{g.shape + events, g.rate + exposure}
}

func (g gamma) mean() float64 { return g.shape / g.rate }

// below returns the chance of a rate below x.
func (g gamma) below(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return mathext.GammaIncReg(g.shape, g.rate*x)
}

func (g gamma) quantile(p float64) float64 {
	if x := g.shape * cubed(g.shape, mathext.NormalQuantile(p)); x > 0 {
		// From there Halley's steps, whose errors are the third power of those before.
		logged, _ := math.Lgamma(g.shape)
		for range 8 {
			miss := (mathext.GammaIncReg(g.shape, x) - p) / math.Exp((g.shape-1)*math.Log(x)-x-logged)
			step := miss / (1 - miss*((g.shape-1)/x-1)/2)
			if !(math.Abs(step) < x/2) {
				break
			}
			if x -= step; math.Abs(step) < 1e-5*x {
				return x / g.rate
			}
		}
	}
	return mathext.GammaIncRegInv(g.shape, p) / g.rate
}

// roughly returns the quantile that lies z normal deviations up, good to a few percent for
// shapes of two and more.
func (g gamma) roughly(z float64) float64 { return g.mean() * max(0, cubed(g.shape, z)) }

// cubed returns a gamma variate over its mean as the cube of a normal one (Wilson and
// Hilferty, Proc. Natl. Acad. Sci. 17, 1931).
func cubed(shape, z float64) float64 {
	c := 1 / (9 * shape)
	root := 1 - c + z*math.Sqrt(c)
	return root * root * root
}

// Pooled is what the levels together say of each.
type Pooled struct {
	Mean     []float64
	Interval []sternfan.Interval
	First    []float64 // chance that the level's rate is the highest
	Spread   float64   // relative, of the true rates: posterior mean
	SpreadIn sternfan.Interval
}

func total(of []float64) float64 {
	sum := 0.0
	for _, v := range of {
		sum += v
	}
	return sum
}

// prior is one node of the integral over the levels' common mean and spread.
type prior struct {
	gamma
	spread, weight float64
	sharp          bool // its components are narrower than the steps of the mean
}

// Pool returns each level's rate drawn toward the others. The true rates are taken as
// gamma about a common mean with a common relative spread, events as Poisson; mean and
// spread are integrated out (mean: even on its logarithm; spread: half-normal) instead of set to their likeliest values, because with the few levels of
// most attributes the likeliest spread is often none at all, and intervals that took it
// for granted would be far too narrow.
func Pool(events, exposure []float64, confidence float64) Pooled {
	k := len(events)
	out := Pooled{Mean: make([]float64, k), Interval: make([]sternfan.Interval, k), First: make([]float64, k)}
	if k == 0 {
		return out
	}
	sum := total(exposure)
	tail := (1 - confidence) / 2
	if total(events) == 0 {
		// Nothing struck: all that is known is a common ceiling.
		g := gamma{0.5, max(sum, 1e-9)}
		for i := range events {
			out.Mean[i] = g.mean()
			out.Interval[i] = sternfan.Interval{Hi: g.quantile(1 - 2*tail)}
			out.First[i] = 1 / float64(k)
		}
		return out
	}
	nodes := hyper(events, exposure)
	for _, n := range nodes {
		out.Spread += n.weight * n.spread
	}
	out.SpreadIn = spreadInterval(nodes, tail)
	matched := make([]gamma, k)
	var parts []component
	for i := range events {
		mean, square := moments(nodes, events[i], exposure[i])
		out.Mean[i] = mean
		matched[i] = gamma{mean * mean / (square - mean*mean), mean / (square - mean*mean)}
		lo, hi := matched[i].quantile(tail), matched[i].quantile(1-tail)
		if k <= mostMixed {
			parts = mixture(parts[:0], nodes, events[i], exposure[i])
			lo, hi = mixedQuantiles(parts, tail, lo, hi)
		}
		out.Interval[i] = sternfan.Interval{Lo: lo, Hi: hi}
	}
	chanceFirst(matched, out.First)
	return out
}

// moments returns the mean and the mean square of a level's posterior.
func moments(nodes []prior, events, exposure float64) (mean, square float64) {
	for i := 0; i < len(nodes); {
		// Nodes of one spread share their shape.
		shape, once, twice := nodes[i].shape, 0.0, 0.0
		for ; i < len(nodes) && nodes[i].shape == shape; i++ {
			f := 1 / (nodes[i].rate + exposure)
			w := nodes[i].weight * f
			once += w
			twice += w * f
		}
		mean += (shape + events) * once
		square += (shape + events) * (shape + events + 1) * twice
	}
	return mean, square
}

// component is a part of a level's posterior.
type component struct {
	gamma
	weight float64
	logged float64 // of the density's factor: weight rate^shape / gamma function of the shape
}

// mixture appends a level's posterior. At a spread so small that its components would
// stand apart like stairs they are taken as one gamma of their mean and variance, which is
// exact where the spread is none.
func mixture(out []component, nodes []prior, events, exposure float64) []component {
	add := func(g gamma, weight float64) {
		logged, _ := math.Lgamma(g.shape)
		out = append(out, component{g, weight, math.Log(weight) + g.shape*math.Log(g.rate) - logged})
	}
	for i := 0; i < len(nodes); {
		if !nodes[i].sharp {
			add(nodes[i].after(events, exposure), nodes[i].weight)
			i++
			continue
		}
		spread, weight, mean, square := nodes[i].spread, 0.0, 0.0, 0.0
		for ; i < len(nodes) && nodes[i].spread == spread; i++ {
			g, w := nodes[i].after(events, exposure), nodes[i].weight
			weight += w
			mean += w * g.mean()
			square += w * g.mean() * (g.mean() + 1/g.rate)
		}
		mean /= weight
		variance := square/weight - mean*mean
		add(gamma{mean * mean / variance, mean / variance}, weight)
	}
	return out
}

// mixedQuantiles returns where a mixture reaches a tail and leaves the other, from guesses
// that are a percent or two away. Its distribution function is summed once; from there on
// the density is integrated, which costs a hundredth.
func mixedQuantiles(parts []component, tail, lo, hi float64) (float64, float64) {
	density := func(u float64) (sum float64) { // of the logarithm
		x := math.Exp(u)
		for i := range parts {
			g := &parts[i]
			sum += math.Exp(g.logged + g.shape*u - g.rate*x)
		}
		return sum
	}
	from, below := math.Log(lo), 0.0
	for _, g := range parts {
		below += g.weight * g.below(lo)
	}
	find := func(p, guess float64) float64 {
		u := guess
		for range 12 {
			d := density(u)
			if !(d > 0) {
				break
			}
			step := (p - below - integral(density, from, u)) / d
			u += max(-0.5, min(0.5, step))
			if math.Abs(step) < 1e-7 {
				break
			}
		}
		return u
	}
	u := find(tail, from)
	below, from = tail, u
	return math.Exp(u), math.Exp(find(1-tail, math.Log(hi)))
}

// legendre are nodes and weights on -1 to 1.
var legendre = sync.OnceValues(func() (x, w []float64) {
	x, w = make([]float64, 24), make([]float64, 24)
	gauss(x, w, -1, 1)
	return x, w
})

// integral returns that of a smooth function.
func integral(f func(float64) float64, from, to float64) float64 {
	if from == to {
		return 0
	}
	x, w := legendre()
	sum, half := 0.0, (to-from)/2
	for i := range x {
		sum += w[i] * f(from+half*(1+x[i]))
	}
	return sum * half
}

// Spread returns the posterior mean of the relative spread alone.
func Spread(events, exposure []float64) float64 {
	spread := 0.0
	for _, n := range hyper(events, exposure) {
		spread += n.weight * n.spread
	}
	return spread
}

// hyper returns the nodes of the posterior of mean and spread, weights adding to one.
// Nodes that would not move the seventh digit are left out.
func hyper(events, exposure []float64) []prior {
	c := countedOf(events, exposure)
	lo, hi := 0.0, spreadMost
	var rows [][]prior
	var logs []float64
	// Twice: the second time over the part of the range that holds the mass.
	for _, size := range []int{spreadNodes / 2, spreadNodes} {
		x, w := make([]float64, size), make([]float64, size)
		gauss(x, w, lo, hi)
		rows, logs = rows[:0], logs[:0]
		top := math.Inf(-1)
		for i, spread := range x {
			row, logMass := c.overMean(spread)
			logMass += math.Log(w[i]) - spread*spread/(2*SpreadScale*SpreadScale)
			rows, logs = append(rows, row), append(logs, logMass)
			top = max(top, logMass)
		}
		from, to := hi, lo
		for i := range x {
			if logs[i] > top-25 {
				from, to = min(from, x[max(i-1, 0)]), max(to, x[min(i+1, size-1)])
			}
		}
		if from == x[0] {
			from = 0
		}
		if to == x[size-1] {
			to = spreadMost
		}
		lo, hi = from, to
		for i := range logs {
			logs[i] -= top
		}
	}
	var out []prior
	total := 0.0
	for i, row := range rows {
		for _, n := range row {
			n.weight *= math.Exp(logs[i])
			total += n.weight
			out = append(out, n)
		}
	}
	kept, sum := out[:0], 0.0
	for _, n := range out {
		if n.weight > 1e-10*total {
			kept = append(kept, n)
			sum += n.weight
		}
	}
	for i := range kept {
		kept[i].weight /= sum
	}
	return kept
}

// gauss fills in Gauss-Legendre nodes, ascending, and their weights.
func gauss(x, w []float64, lo, hi float64) {
	quad.Legendre{}.FixedLocations(x, w, lo, hi)
	if x[0] > x[len(x)-1] {
		slices.Reverse(x)
		slices.Reverse(w)
	}
}

// counted is the levels with what the integrals ask of them, over and over.
type counted struct {
	events, exposure []float64
	total, sum       float64 // of either
	kinds            []kind
	top              float64 // log mean found last
}

// kind is so many levels with a count of events.
type kind struct{ events, levels float64 }

func countedOf(events, exposure []float64) *counted {
	c := &counted{events: events, exposure: exposure, total: total(events), sum: total(exposure)}
	c.top = math.Log(c.total / c.sum)
	sorted := slices.Sorted(slices.Values(events))
	for _, x := range sorted {
		if k := len(c.kinds) - 1; k >= 0 && c.kinds[k].events == x {
			c.kinds[k].levels++
			continue
		}
		c.kinds = append(c.kinds, kind{x, 1})
	}
	return c
}

// at returns the log of the likelihood at the log mean u, a negative binomial term a
// level without what the mean leaves alone.
func (c *counted) at(shape, u float64) float64 {
	rate := shape * math.Exp(-u)
	inverse := 1 / rate
	s := 0.0
	for i, x := range c.events {
		s += (shape + x) * math.Log1p(c.exposure[i]*inverse)
	}
	return -s - c.total*math.Log(rate)
}

// slopes returns the first two derivatives of at: the second negative everywhere, so that
// Newton's steps find the top.
func (c *counted) slopes(shape, u float64) (slope, bend float64) {
	rate := shape * math.Exp(-u)
	slope = c.total
	for i, x := range c.events {
		f := 1 / (rate + c.exposure[i])
		p := c.exposure[i] * f
		slope -= (shape + x) * p
		bend -= (shape + x) * p * rate * f
	}
	return slope, bend
}

// series returns the second to the sixth derivative of at, over their factorials.
func (c *counted) series(shape, u float64) (of [5]float64) {
	rate := shape * math.Exp(-u)
	for i, x := range c.events {
		// Derivatives of the logistic function p.
		p := c.exposure[i] / (rate + c.exposure[i])
		q := 1 - p
		v := p * q
		w := (shape + x) * v
		of[0] -= w
		of[1] -= w * (q - p)
		of[2] -= w * (1 - 6*v)
		of[3] -= w * (q - p) * (1 - 12*v)
		of[4] -= w * (1 - 30*v*(1-4*v))
	}
	for i, f := range []float64{2, 6, 24, 120, 720} {
		of[i] /= f
	}
	return of
}

// enoughEvents make the likelihood of the mean so narrow that its series tells it.
const enoughEvents = 300

// overMean returns the nodes of the posterior of the mean at one spread, weights adding
// to one, and the log of the marginal likelihood there.
func (c *counted) overMean(spread float64) ([]prior, float64) {
	shape := 1 / (spread * spread)
	fixed := 0.0
	base, _ := math.Lgamma(shape)
	for _, k := range c.kinds {
		// Nothing but the negative binomial's part without the mean.
		up, _ := math.Lgamma(k.events + shape)
		fixed += k.levels * (up - base)
	}
	top := c.top
	slope, bend := c.slopes(shape, top)
	for range 50 {
		step := max(-1, min(1, -slope/bend))
		top += step
		if slope, bend = c.slopes(shape, top); math.Abs(step) < 1e-6 {
			break
		}
	}
	c.top = top
	best := c.at(shape, top)
	logged := func(off float64) float64 { return c.at(shape, top+off) }
	if len(c.events) > mostMixed && -bend > enoughEvents {
		of := c.series(shape, top)
		logged = func(off float64) float64 {
			return best + off*(slope+off*(of[0]+off*(of[1]+off*(of[2]+off*(of[3]+off*of[4])))))
		}
	}
	step := min(0.2/math.Sqrt(max(-bend, 0.05)), 0.08)
	if len(c.events) > mostMixed {
		step = 0.5 / math.Sqrt(max(-bend, 0.05)) // only sums are taken, none of them a stair
	}
	out := func(way float64) (logs []float64) {
		for n := 1; ; n++ {
			logs = append(logs, logged(way*float64(n)*step))
			if n == mostMean/2 || logs[n-1] < best-22 {
				return logs
			}
		}
	}
	// The trapezoid is as good as exact for a function that dies away at both ends; steps
	// of a fifth of a deviation leave no stairs in what is averaged,
	// unless the components are sharper still.
	below, above := out(-1), out(1)
	nodes, mass := make([]prior, len(below)+1+len(above)), 0.0
	for i := range nodes {
		n, logged := i-len(below), best
		switch {
		case n < 0:
			logged = below[-n-1]
		case n > 0:
			logged = above[n-1]
		}
		u := top + float64(n)*step
		nodes[i] = prior{gamma: gamma{shape, shape * math.Exp(-u)}, spread: spread, weight: math.Exp(logged - best), sharp: spread < step}
		mass += nodes[i].weight
	}
	for i := range nodes {
		nodes[i].weight /= mass
	}
	return nodes, fixed + best + math.Log(mass*step)
}

func spreadInterval(nodes []prior, tail float64) sternfan.Interval {
	// Nodes come in ascending spread; the chance of each is taken as spread evenly up to
	// it from the one before.
	at := func(p float64) float64 {
		sum, before := 0.0, 0.0
		for i := 0; i < len(nodes); {
			mass, spread := 0.0, nodes[i].spread
			for ; i < len(nodes) && nodes[i].spread == spread; i++ {
				mass += nodes[i].weight
			}
			if sum+mass >= p {
				return before + (spread-before)*(p-sum)/mass
			}
			sum, before = sum+mass, spread
		}
		return before
	}
	return sternfan.Interval{Lo: at(tail), Hi: at(1 - tail)}
}
