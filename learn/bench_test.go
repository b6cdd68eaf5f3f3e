package learn

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	"sternfan"
	"sternfan/learn/stats"
)

// million is a log of a million stints and 200,000 strikes: 10,000 trips of 100 stints on
// ten rods, 6 diver colors, 300 lures.
var million = sync.OnceValue(func() *Log { return invented(10_000) })

// invented is a log of so many trips.
func invented(trips int) *Log {
	r := rand.New(rand.NewPCG(1, 1))
	setups := make([]*sternfan.Setup, 1800)
	for i := range setups {
		setups[i] = &sternfan.Setup{Attributes: map[string]string{
			"diver.color": fmt.Sprint("color ", i%6), "lure": fmt.Sprint("lure ", i/6),
		}}
	}
	log := &Log{}
	for trip := range trips {
		name := fmt.Sprint("trip ", trip)
		for i := range 100 {
			rod := i % 10
			from := int64(trip)*86400_000 + 5*hourMS + int64(i/10)*40*60_000
			s := sternfan.Stint{Trip: name, Rod: fmt.Sprint("rod ", rod), Side: sternfan.Side(1 - 2*(rod%2)), From: from, To: from + 38*60_000, Setup: setups[r.IntN(len(setups))]}
			s.Measures.Set(sternfan.MeasureDepth, 5+40*r.Float64())
			s.Measures.Set(sternfan.MeasureDial, float64(r.IntN(9))/2)
			if r.IntN(5) == 0 {
				s.Strikes = []sternfan.Strike{{At: from + r.Int64N(38*60_000), Species: []string{"king", "coho"}[r.IntN(2)]}}
			}
			if err := log.Add(&s); err != nil {
				panic(err)
			}
		}
	}
	log.Sort()
	return log
}

// unlike is a log of trips that begin when they like, last as long and catch as much as
// they please, with so many lures.
func unlike(trips, lures int) *Log {
	r := rand.New(rand.NewPCG(2, 1))
	setups := make([]*sternfan.Setup, lures)
	for i := range setups {
		setups[i] = &sternfan.Setup{Attributes: map[string]string{"lure": fmt.Sprint("lure ", i)}}
	}
	log := &Log{}
	for trip := range trips {
		start := int64(trip)*86400_000 + 4*hourMS + r.Int64N(6*hourMS)
		bite := 0.05 + 0.3*r.Float64()
		for i := range 30 + r.IntN(140) {
			const turn, least = 40 * 60_000, 20 * 60_000
			from := start + int64(i/10)*turn
			s := sternfan.Stint{Trip: fmt.Sprint("trip ", trip), Rod: fmt.Sprint("rod ", i%10), From: from, To: from + least + r.Int64N(turn-least), Setup: setups[r.IntN(lures)]}
			for r.Float64() < bite {
				s.Strikes = append(s.Strikes, sternfan.Strike{At: from + r.Int64N(least)})
			}
			if err := log.Add(&s); err != nil {
				panic(err)
			}
		}
	}
	log.Sort()
	return log
}

// BenchmarkRatesLong is ten thousand levels of a million sets, of which no two fished
// alike.
func BenchmarkRatesLong(b *testing.B) {
	for _, c := range []struct {
		by    string
		lures int
	}{{"trip", 300}, {"lure", 10_000}} {
		b.Run(c.by, func(b *testing.B) {
			log := unlike(10_000, c.lures)
			for b.Loop() {
				all, err := log.Rates(Query{Compare: []string{c.by}, Workers: 2})
				if err != nil {
					b.Fatal(err)
				}
				if n := len(all[0].Contrasts); n != 10_000 {
					b.Fatalf("%d comparisons", n)
				}
			}
		})
	}
}

// BenchmarkRates asks a million sets and 200,000 strikes; 300 ms is the bound.
func BenchmarkRates(b *testing.B) {
	for _, q := range []Query{
		{Compare: []string{"diver.color"}},
		{Compare: []string{"diver.color"}, Given: []string{"trip-hour", "side"}},
		{Compare: []string{"diver.color"}, Species: []string{"king"}},
		{Compare: []string{"depth"}},
		{Compare: []string{"hour"}},
		{Compare: []string{"rod"}},
		{Compare: []string{"lure"}},
		{Compare: []string{"lure"}, Given: []string{"none"}},
		{Compare: []string{"trip"}},
	} {
		q.Workers = 2
		b.Run(strings.Join(q.Compare, ",")+" given "+strings.Join(q.Given, ","), func(b *testing.B) {
			log := million()
			for b.Loop() {
				all, err := log.Rates(q)
				if err != nil {
					b.Fatal(err)
				}
				if r := all[0]; r.Stints == 0 || r.Strikes == 0 {
					b.Fatalf("%d stints, %d strikes", r.Stints, r.Strikes)
				}
			}
		})
	}
}

// BenchmarkRatesFew is a long list with a few hundred events to each comparison, whose
// distributions are enumerated one and all.
func BenchmarkRatesFew(b *testing.B) {
	log := invented(500)
	for b.Loop() {
		all, err := log.Rates(Query{Compare: []string{"lure"}})
		if err != nil {
			b.Fatal(err)
		}
		exact := 0
		for _, c := range all[0].Contrasts {
			if c.Events.Method == stats.MethodExact {
				exact++
			}
		}
		if exact < 250 {
			b.Fatalf("%d of %d enumerated", exact, len(all[0].Contrasts))
		}
	}
}
