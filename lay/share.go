package lay

import (
	"cmp"
	"math"
	"slices"
	"strconv"
)

// share divides n among weights: each its whole part, then the largest remainders one
// more each, the first of equals before the others.
func share(n int, weight []float64, total float64) []int {
	out := make([]int, len(weight))
	order := make([]int, len(weight))
	rest := make([]float64, len(weight))
	left := n
	for i, w := range weight {
		exact := float64(n) * w / total
		out[i] = int(math.Floor(exact + 1e-9))
		rest[i] = exact - float64(out[i])
		left -= out[i]
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(rest[b], rest[a]) })
	for _, i := range order[:max(min(left, len(order)), 0)] {
		out[i]++
	}
	return out
}

func sumOfLargest(x []int, n int) int {
	x = slices.Clone(x)
	slices.Sort(x)
	sum := 0
	for i := len(x) - 1; i >= 0 && i >= len(x)-n; i-- {
		sum += x[i]
	}
	return sum
}

func number(n int) string { return strconv.Itoa(n) }

// count is a number with its word.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return number(n) + " " + many
}
