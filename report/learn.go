package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"sternfan"
)

// per10 is the effort that a rate is shown for: strikes per 10 rod-hours read as whole
// numbers where strikes per rod-hour do not.
const per10 = 10

// RatesWords returns what a comparison says, in sentences, the answer first.
func RatesWords(r *sternfan.Rates) []string {
	var out []string
	switch {
	case len(r.Levels) == 0:
		out = append(out, fmt.Sprintf("The log has no effort for which %s is known.", clean(r.Compare)))
	case len(r.Levels) == 1:
		l := &r.Levels[0]
		out = append(out, fmt.Sprintf("%s alone: %s in %s. There is nothing to compare it with.", capital(clean(l.Level)), Count(l.Strikes, "strike"), rodHours(l.RodHours)))
	case len(r.Contrasts) == 1:
		out = append(out, contrastWords(&r.Contrasts[0], r))
	default:
		out = append(out, manyWords(r)...)
	}
	if s := luckWords(r); s != "" {
		out = append(out, s)
	}
	if s := unknownWords(r); s != "" {
		out = append(out, s)
	}
	if r.Demo {
		out = append(out, "Demo data, invented.")
	}
	return out
}

// contrastWords is the whole answer about two levels.
func contrastWords(c *sternfan.Contrast, r *sternfan.Rates) string {
	e := &c.Events
	var b strings.Builder
	b.WriteString(capital(clean(c.A)))
	if c.B != "" {
		b.WriteString(" against " + clean(c.B) + ": ")
	} else {
		b.WriteString(" against the others: ")
	}
	b.WriteString(strikesIn(e))
	if len(r.Given) > 0 && r.Given[0] != "none" {
		b.WriteString(", " + givenWords(r.Given))
	}
	b.WriteString(". " + verdictWords(c))
	if s := moreWords(e); s != "" && c.Verdict != sternfan.CertaintyTooLittle {
		b.WriteString(" " + s)
	}
	if e.A != c.Each.A || e.B != c.Each.B {
		fmt.Fprintf(&b, " Strike by strike it is %d to %d (%s); the figures above count a flurry once.", c.Each.A, c.Each.B, ratioWord(&c.Each))
	}
	return b.String()
}

// strikesIn says "14 strikes to 7 over the same 61 rod-hours".
func strikesIn(e *sternfan.RatioEstimate) string {
	a, b := wholeHours(e.HoursA), wholeHours(e.HoursB)
	if a == b {
		return fmt.Sprintf("%s to %d over the same %s rod-hours", Count(e.A, "strike"), e.B, a)
	}
	return fmt.Sprintf("%s in %s rod-hours to %d in %s", Count(e.A, "strike"), a, e.B, b)
}

// givenWords says what was held equal.
func givenWords(given []string) string {
	var words []string
	for _, g := range given {
		switch g {
		case "trip-hour":
			words = append(words, "the same hours of the same trips")
		case "trip":
			words = append(words, "the same trips")
		case "hour":
			words = append(words, "the same hours of the day")
		case "none":
		default:
			words = append(words, "the same "+clean(g))
		}
	}
	if len(words) == 0 {
		return "nothing held equal"
	}
	return List(words)
}

// verdictWords is the answer itself.
func verdictWords(c *sternfan.Contrast) string {
	e := &c.Events
	better, worse := "better", "worse"
	ahead := e.Open || e.Ratio >= 1
	word := better
	if !ahead {
		word = worse
	}
	open := betweenWords(&e.MidP)
	switch c.Verdict {
	case sternfan.CertaintyBetter:
		return fmt.Sprintf("%s (%s): %s.", capital(word), aboutOdds(1-c.Luck/2), open)
	case sternfan.CertaintyLikely:
		return fmt.Sprintf("Likely %s (%s), by how much is open: %s.", word, aboutOdds(1-c.Luck/2), open)
	case sternfan.CertaintyLevel:
		return "About level: within a quarter either way, 4 times in 5."
	case sternfan.CertaintyTooLittle:
		return "Cannot tell: too little. With so few strikes not even the most one-sided outcome could have told."
	}
	return "Cannot tell: it may be anything from " + open + "."
}

// aboutOdds returns a confidence as crews say it, never more than it is.
func aboutOdds(p float64) string {
	for _, o := range []struct {
		least float64
		words string
	}{
		{0.99, "more than 99 times in 100"}, {0.95, "about 19 times in 20"}, {0.9, "about 9 times in 10"},
		{0.8, "about 4 times in 5"}, {0.75, "about 3 times in 4"}, {2.0 / 3, "about 2 times in 3"},
	} {
		if p >= o.least {
			return o.words
		}
	}
	return "about 1 time in 2"
}

// betweenWords returns an interval of ratios: "level to 3½ times".
func betweenWords(in *sternfan.Interval) string {
	lo := factor(in.Lo)
	if in.Lo == 0 {
		lo = "nothing"
	}
	if in.Open {
		return lo + " to any number of times"
	}
	hi := factor(in.Hi)
	if lo == hi {
		return lo
	}
	return lo + " to " + hi
}

func ratioWord(e *sternfan.RatioEstimate) string {
	switch {
	case e.A+e.B == 0:
		return "no strikes"
	case e.Open:
		return "all of them"
	case e.A == 0:
		return "none of them"
	}
	return factor(e.Ratio)
}

// factor returns a ratio as people say it: half, level, 1.4 times, twice, 3½ times.
func factor(r float64) string {
	switch {
	case r < 0.1:
		return "less than a tenth"
	case r < 0.9:
		best, name := math.Inf(1), ""
		for _, f := range []struct {
			value float64
			name  string
		}{
			{0.1, "a tenth"}, {1.0 / 8, "an eighth"}, {1.0 / 6, "a sixth"}, {0.2, "a fifth"}, {0.25, "a quarter"}, {1.0 / 3, "a third"},
			{0.4, "two fifths"}, {0.5, "half"}, {0.6, "three fifths"}, {2.0 / 3, "two thirds"}, {0.75, "three quarters"}, {0.8, "four fifths"}, {0.9, "nine tenths"},
		} {
			if miss := math.Abs(r/f.value - 1); miss < best {
				best, name = miss, f.name
			}
		}
		return name
	case r < 1.125:
		return "level"
	case r < 1.95:
		return strconv.FormatFloat(r, 'f', 1, 64) + " times"
	case r < 2.25:
		return "twice"
	case r < 9.75:
		half := math.Round(2*r) / 2
		if half == math.Floor(half) {
			return strconv.Itoa(int(half)) + " times"
		}
		return strconv.Itoa(int(half)) + "½ times"
	case r < 100:
		return strconv.Itoa(int(math.Round(r))) + " times"
	}
	return "over 100 times"
}

// moreWords says how much more effort would settle the size of a difference.
func moreWords(e *sternfan.RatioEstimate) string {
	switch {
	case e.A+e.B == 0:
		return ""
	case e.More < 1:
		return "It is pinned within a quarter."
	case e.More > 20000:
		return "To pin it within a quarter is out of reach: over 20,000 more shared rod-hours."
	}
	return fmt.Sprintf("To pin it within a quarter you would need some %s more shared rod-hours.", twoDigits(e.More))
}

// twoDigits rounds to two figures: 370, 85, 2,400.
func twoDigits(v float64) string {
	step := 1.0
	for v/step >= 100 {
		step *= 10
	}
	n := int(math.Round(v/step) * step)
	if n >= 1000 {
		return fmt.Sprintf("%d,%03d", n/1000, n%1000)
	}
	return strconv.Itoa(n)
}

// manyWords answers for more than two levels.
func manyWords(r *sternfan.Rates) []string {
	var told []string
	tooLittle := 0
	for i := range r.Contrasts {
		switch c := &r.Contrasts[i]; c.Verdict {
		case sternfan.CertaintyBetter, sternfan.CertaintyLikely:
			told = append(told, contrastWords(c, r))
		case sternfan.CertaintyTooLittle:
			tooLittle++
		}
	}
	first := ""
	if best := firstLevel(r); best != nil && r.Events > 0 {
		first = fmt.Sprintf("Of %d, %s has the most behind it: %s in %s, and at least %s per %d rod-hours 9 times in 10.",
			len(r.Levels), clean(best.Level), Count(best.Strikes, "strike"), rodHours(best.RodHours), rate(best.PooledIn.Lo), per10)
	}
	switch {
	case len(told) > 0:
		if first != "" {
			told = append(told, first)
		}
		return told
	case tooLittle == len(r.Contrasts):
		return []string{"Cannot tell: too little. Among so many, no outcome of so few strikes could have told any apart."}
	}
	return []string{"Cannot tell any of them apart from the others. " + first}
}

// firstLevel returns the level whose pooled interval begins highest.
func firstLevel(r *sternfan.Rates) *sternfan.RateLevel {
	var best *sternfan.RateLevel
	for i := range r.Levels {
		if l := &r.Levels[i]; best == nil || l.PooledIn.Lo > best.PooledIn.Lo {
			best = l
		}
	}
	return best
}

// luckWords says what the number of comparisons does to surprise.
func luckWords(r *sternfan.Rates) string {
	if len(r.Contrasts) == 0 || r.Events == 0 {
		return ""
	}
	best := &r.Contrasts[0]
	for i := range r.Contrasts {
		if r.Contrasts[i].Events.P < best.Events.P {
			best = &r.Contrasts[i]
		}
	}
	if best.Verdict == sternfan.CertaintyTooLittle {
		if r.Looked > 1 {
			return fmt.Sprintf("%d comparisons were looked at.", r.Looked)
		}
		return ""
	}
	gap := "so wide a gap"
	if len(r.Contrasts) > 1 {
		gap = "a gap as wide as that of " + clean(best.A)
	}
	if r.Looked <= 1 {
		return fmt.Sprintf("If nothing differed, luck would still show %s %s.", gap, luckOdds(best.Events.P))
	}
	return fmt.Sprintf("%d comparisons were looked at. If nothing differed, luck would show %s %s in a single one, %s somewhere among %d.",
		r.Looked, gap, luckOdds(best.Events.P), luckOdds(best.Luck), r.Looked)
}

// luckOdds returns a small chance as "about 1 time in 40".
func luckOdds(p float64) string {
	switch {
	case p >= 0.75:
		return "most times"
	case p < 1e-6:
		return "less than 1 time in a million"
	}
	n := math.Round(1 / p)
	if n >= 20 {
		return "about 1 time in " + twoDigits(n)
	}
	if n <= 1 {
		n = 2
	}
	return fmt.Sprintf("about 1 time in %.0f", n)
}

func unknownWords(r *sternfan.Rates) string {
	var parts []string
	if u := &r.Unknown; u.RodHours >= 0.5 || u.Strikes > 0 {
		parts = append(parts, fmt.Sprintf("%s and %s are left out: their %s is not known.", rodHours(u.RodHours), Count(u.Strikes, "strike"), clean(r.Compare)))
	}
	if n := r.Unknown.NoEffort; n > 0 {
		parts = append(parts, fmt.Sprintf("Left out, too: %s on rods that were not logged as fishing then.", Count(n, "strike")))
	}
	return capital(strings.Join(parts, " "))
}

func wholeHours(h float64) string {
	switch {
	case h >= 1000:
		n := int(math.Round(h))
		return fmt.Sprintf("%d,%03d", n/1000, n%1000)
	case h >= 9.95:
		return strconv.Itoa(int(math.Round(h)))
	}
	return strconv.FormatFloat(h, 'f', 1, 64)
}

func rodHours(h float64) string {
	s := wholeHours(h)
	if s == "1" || s == "1.0" {
		return "1 rod-hour"
	}
	return s + " rod-hours"
}

// rate returns a rate per hour as one per 10 rod-hours.
func rate(perHour float64) string {
	v := perHour * per10
	if v >= 99.5 {
		return strconv.Itoa(int(math.Round(v)))
	}
	return strconv.FormatFloat(v, 'f', 1, 64)
}

func rateSpan(in *sternfan.Interval) string { return rate(in.Lo) + "-" + rate(in.Hi) }

// RatesTable writes the answers in words and a table of each attribute's levels.
func RatesTable(w io.Writer, all []*sternfan.Rates, opt Options) error {
	p := &printer{w: w}
	for i, r := range all {
		if i > 0 {
			p.line("")
		}
		for _, s := range RatesWords(r) {
			p.wrapped("", "", s, opt.width())
		}
		if len(r.Levels) == 0 {
			continue
		}
		p.line("")
		g := NewGrid("  ", []Column{{"", clean(r.Compare), Left}, {"strikes", "", Right}, {"flurries", "once", Right}, {"rod-", "hours", Right}, {"per 10", "rod-h", Right},
			{"4 times", "in 5", Right}, {"drawn", "together", Right}, {"4 times", "in 5", Right}, {"", "against the others", Left}})
		for j := range r.Levels {
			l := &r.Levels[j]
			g.Add(clean(l.Level), strconv.Itoa(l.Strikes), strconv.Itoa(l.Events), wholeHours(l.RodHours),
				rate(l.Rate), rateSpan(&l.MidP), rate(l.Pooled), rateSpan(&l.PooledIn), shortVerdict(r, l.Level))
		}
		g.print(p, opt.width())
	}
	p.line("")
	p.wrapped("", "", "Rates count a flurry once. Intervals hold the true rate 4 times in 5. Drawn together: each rate is pulled toward the others as far as its strikes do not hold it, "+
		"so that one lucky fish does not make a winner.", opt.width())
	return p.err
}

// shortVerdict is a level's cell in the last column.
func shortVerdict(r *sternfan.Rates, level string) string {
	for i := range r.Contrasts {
		c := &r.Contrasts[i]
		e := c.Events
		switch {
		case c.A == level:
		case c.B == level && len(r.Contrasts) == 1:
			return ""
		default:
			continue
		}
		words := map[sternfan.Certainty]string{
			sternfan.CertaintyBetter: "better", sternfan.CertaintyLikely: "likely better", sternfan.CertaintyLevel: "about level",
			sternfan.CertaintyOpen: "cannot tell", sternfan.CertaintyTooLittle: "too little",
		}[c.Verdict]
		if !e.Open && e.Ratio < 1 {
			words = strings.Replace(words, "better", "worse", 1)
		}
		return words + ": " + betweenWords(&e.MidP)
	}
	return ""
}

// RatesJSON writes the answers as [JSON] does a fan: {"rates": [...]}, with the words.
func RatesJSON(w io.Writer, all []*sternfan.Rates) error {
	type worded struct {
		*sternfan.Rates
		Words []string `json:"words"`
	}
	out := struct {
		Rates []worded `json:"rates"`
	}{Rates: []worded{}}
	for _, r := range all {
		c := *r
		c.Levels = append([]sternfan.RateLevel{}, r.Levels...)
		c.Contrasts = append([]sternfan.Contrast{}, r.Contrasts...)
		out.Rates = append(out.Rates, worded{&c, RatesWords(r)})
	}
	return JSON(w, &out)
}

// RatesCSV writes a row a level for a spreadsheet: rates per rod-hour, and the level
// against the others.
func RatesCSV(w io.Writer, all []*sternfan.Rates) error {
	s := newSheet(w, all)
	s.row("compare", "level", "strikes", "flurries once", "rod-hours", "rate", "exact low", "exact high", "mid-p low", "mid-p high",
		"drawn together", "low", "high", "chance first", "ratio", "mid-p low", "mid-p high", "p exact", "luck", "verdict")
	h := "per rod-hour"
	s.row("", "", "", "", "h", h, h, h, h, h, h, h, h, "", "to the others", "", "", "", "", "")
	f := func(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
	for _, r := range all {
		for i := range r.Levels {
			l := &r.Levels[i]
			cells := []string{
				cell(r.Compare), cell(l.Level), strconv.Itoa(l.Strikes), strconv.Itoa(l.Events), f(l.RodHours), f(l.Rate), f(l.Exact.Lo), f(l.Exact.Hi),
				f(l.MidP.Lo), f(l.MidP.Hi), f(l.Pooled), f(l.PooledIn.Lo), f(l.PooledIn.Hi), f(l.First),
			}
			rest := []string{"", "", "", "", "", ""}
			for j := range r.Contrasts {
				if c := &r.Contrasts[j]; c.A == l.Level {
					e := &c.Events
					rest = []string{f(e.Ratio), f(e.MidP.Lo), f(e.MidP.Hi), f(e.P), f(c.Luck), string(c.Verdict)}
					if e.Open {
						rest[0] = ""
					}
					if e.MidP.Open {
						rest[2] = ""
					}
				}
			}
			s.row(append(cells, rest...)...)
		}
	}
	return s.done()
}
