package aim

import (
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// Order is a change of depth for every rod.
type Order struct {
	Said string
	By   float64 // m, down is positive
	To   float64 // m, when Abs
	Abs  bool
}

var orderWords = []string{"down", "up", "deeper", "shallower", "to"}

// ParseOrder reads "down 10ft", "up 2 m", "deeper 5 ft", "shallower 5 ft" or "to 65ft".
// The error is sternfan.Faults with what is allowed.
func ParseOrder(text string) (Order, error) {
	o := Order{Said: text}
	word, rest, _ := strings.Cut(strings.TrimSpace(strings.ToLower(text)), " ")
	rest = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(rest), "by "))
	fault := func(f sternfan.Fault) (Order, error) {
		f.Code, f.Allowed = "bad-order", []string{"down 10ft", "up 10ft", "to 65ft"}
		return o, sternfan.Faults{f}
	}
	if !slices.Contains(orderWords, word) {
		return fault(sternfan.Fault{Text: "this does not say which way the lures go", Found: word, Hint: sternfan.DidYouMean(word, orderWords, "")})
	}
	d, err := unit.ParseLength(rest)
	if err != nil || d < 0 {
		return fault(sternfan.Fault{Text: "this does not say how far", Found: rest, Hint: "write a distance with its unit"})
	}
	switch word {
	case "down", "deeper":
		o.By = float64(d)
	case "up", "shallower":
		o.By = -float64(d)
	default:
		o.To, o.Abs = float64(d), true
	}
	return o, nil
}
