package learn

import (
	"sternfan"
	"sternfan/learn/stats"
)

// A claim is made when luck alone, taken over all comparisons looked at, would give so
// wide a gap no more often than this. The exact p is used, which never errs the other
// way, and multiplied by the number of comparisons (Bonferroni), which holds however they
// hang together.
const (
	claimBetter = 0.05
	claimLikely = 0.2
)

// judge returns what may be said, and the chance of so wide a gap by luck among so many
// comparisons. The smallest p that these events could have had says whether they could
// have told anything.
func judge(est *sternfan.RatioEstimate, least float64, looked int) (sternfan.Certainty, float64) {
	luck := min(1, est.P*float64(looked))
	switch {
	case luck <= claimBetter:
		return sternfan.CertaintyBetter, luck
	case luck <= claimLikely:
		return sternfan.CertaintyLikely, luck
	case !est.MidP.Open && est.MidP.Lo >= 1/stats.Pinned && est.MidP.Hi <= stats.Pinned:
		return sternfan.CertaintyLevel, luck
	case least*float64(looked) > claimLikely:
		return sternfan.CertaintyTooLittle, luck
	}
	return sternfan.CertaintyOpen, luck
}

// judged fills in what may be said of each comparison, of so many that were looked at.
func judged(r *sternfan.Rates, least []float64, looked int) {
	r.Looked = looked
	for i := range r.Contrasts {
		c := &r.Contrasts[i]
		c.Verdict, c.Luck = judge(&c.Events, least[i], looked)
	}
}

// decidable fills in whether the least p that so many events could have had would be a
// claim, and returns it.
func decidable(est *sternfan.RatioEstimate, least float64) float64 {
	est.Decidable = est.A+est.B > 0 && least <= claimLikely
	return least
}
