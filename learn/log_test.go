package learn

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/internal/tier"
	"sternfan/learn/rows"

	"pgregory.net/rapid"
)

// Two rods over two hours of one trip and one of another, written out by hand.
const handStints = `trip,rod,side,from,to,diver.color,depth
june 3,p1,port,2026-06-03 05:30,2026-06-03 07:30,bright,64 ft
june 3,s1,starboard,2026-06-03 05:30,2026-06-03 06:15,black,81 ft
june 3,s1,starboard,2026-06-03 06:30,2026-06-03 07:00,black,79 ft
june 9,p1,port,2026-06-09 05:00,2026-06-09 06:00,black,59.9 ft
june 9,s1,starboard,2026-06-09 05:00,2026-06-09 06:00,bright,60 ft
june 9,m1,middle,2026-06-09 05:00,2026-06-09 05:30,,60 ft
`

const handStrikes = `trip,rod,at,species,landed
june 3,p1,2026-06-03 05:40,king,yes
june 3,p1,2026-06-03 05:43,king,no
june 3,s1,2026-06-03 05:46,coho,
june 3,s1,2026-06-03 06:20,king,no
june 3,p1,2026-06-03 07:30,king,yes
june 9,s1,2026-06-09 05:10,coho,yes
june 9,m1,2026-06-09 05:20,king,yes
`

func handLog(t *testing.T) *Log {
	t.Helper()
	log, err := ReadCSV(CSV{Stints: []byte(handStints), Strikes: []byte(handStrikes), StintsName: "stints.csv", StrikesName: "strikes.csv"})
	if err != nil {
		t.Fatal(err)
	}
	return log
}

func rates(t *testing.T, log *Log, q Query) *sternfan.Rates {
	t.Helper()
	all, err := log.Rates(q)
	if err != nil {
		t.Fatal(err)
	}
	return all[0]
}

func level(t *testing.T, r *sternfan.Rates, name string) sternfan.RateLevel {
	t.Helper()
	for _, l := range r.Levels {
		if l.Level == name {
			return l
		}
	}
	t.Fatalf("no level %q among %v", name, r.Levels)
	return sternfan.RateLevel{}
}

// Every figure counted by hand from the tables above.
func TestHandCountedLog(t *testing.T) {
	r := rates(t, handLog(t), Query{Compare: []string{"diver.color"}})
	bright, black := level(t, r, "bright"), level(t, r, "black")
	near(t, "bright hours", bright.RodHours, 3, 1e-9)
	near(t, "black hours", black.RodHours, 2.25, 1e-9)
	if bright.Strikes != 4 || black.Strikes != 1 || bright.Events != 3 || black.Events != 0 {
		t.Errorf("strikes %d and %d, a flurry once %d and %d", bright.Strikes, black.Strikes, bright.Events, black.Events)
	}
	near(t, "hours of unknown color", r.Unknown.RodHours, 0.5, 1e-9)
	if r.Unknown.Strikes != 1 || r.Unknown.NoEffort != 1 || r.Trips != 2 || r.Stints != 5 {
		t.Errorf("unknown %+v, %d trips, %d stints", r.Unknown, r.Trips, r.Stints)
	}
	// 05-06 h, 06-07 h and the other trip's hour; black did not fish after 07:00.
	c := r.Contrasts[0]
	if c.A != "bright" || c.B != "black" || c.Events.Strata != 2 || c.Events.A != 2 || c.Events.B != 0 || c.Each.A != 3 || c.Each.B != 1 {
		t.Errorf("contrast %+v", c)
	}
	near(t, "shared hours of bright", c.Events.HoursA, 0.5+1+1, 1e-9)
	near(t, "shared hours of black", c.Events.HoursB, 0.5+0.25+0.5+1, 1e-9)
	// Both events fell at even effort: p is 2 x 1/4, and no outcome of two could tell.
	near(t, "p", c.Events.P, 0.5, 1e-12)
	if c.Verdict != sternfan.CertaintyTooLittle {
		t.Errorf("verdict %s", c.Verdict)
	}

	// The side as well: port and starboard never carried both within an hour.
	r = rates(t, handLog(t), Query{Compare: []string{"diver.color"}, Given: []string{"trip-hour", "side"}})
	if c := r.Contrasts[0]; c.Events.Strata != 0 || c.Events.HoursA != 0 {
		t.Errorf("given the side: %+v", c.Events)
	}
	r = rates(t, handLog(t), Query{Compare: []string{"diver.color"}, Given: []string{"none"}})
	near(t, "with nothing held equal", r.Contrasts[0].Events.HoursB, 2.25, 1e-9)

	r = rates(t, handLog(t), Query{Compare: []string{"diver.color"}, Species: []string{"King"}})
	if level(t, r, "bright").Strikes != 3 || level(t, r, "black").Strikes != 0 {
		t.Errorf("of one species: %+v", r.Levels)
	}

	// Bands are closed below: 60 ft belongs to 60-80, 59.9 does not.
	r = rates(t, handLog(t), Query{Compare: []string{"depth"}})
	near(t, "40-60 ft", level(t, r, "40-60 ft").RodHours, 1, 1e-9)
	near(t, "60-80 ft", level(t, r, "60-80 ft").RodHours, 2+0.5+1+0.5, 1e-9)
	near(t, "80-100 ft", level(t, r, "80-100 ft").RodHours, 0.75, 1e-9)

	// Hours of the day are cut out of stints.
	r = rates(t, handLog(t), Query{Compare: []string{"hour"}})
	near(t, "05-06 h", level(t, r, "05-06 h").RodHours, 0.5+0.5+1+1+0.5, 1e-9)
	near(t, "06-07 h", level(t, r, "06-07 h").RodHours, 1+0.25+0.5, 1e-9)
	near(t, "07-08 h", level(t, r, "07-08 h").RodHours, 0.5, 1e-9)
	if got := level(t, r, "07-08 h").Strikes; got != 1 {
		t.Errorf("a strike as the rod comes in: %d", got)
	}
}

func TestFaultsOfQueries(t *testing.T) {
	for _, c := range []struct {
		q    Query
		want string
	}{
		{Query{}, "nothing to compare"},
		{Query{Compare: []string{"diver.colour"}}, "no such attribute"},
		{Query{Compare: []string{"diver.color"}, Levels: []string{"pink"}}, "no such level"},
		{Query{Compare: []string{"diver.color"}, Species: []string{"whale"}}, "no strike of this species"},
		{Query{Compare: []string{"side"}, Given: []string{"side"}}, "held equal as well"},
		{Query{Compare: []string{"side", "hour"}, Levels: []string{"port"}}, "one attribute at a time"},
	} {
		_, err := handLog(t).Rates(c.q)
		var f sternfan.Fault
		if !errors.As(err, &f) || !strings.Contains(f.Text, c.want) {
			t.Errorf("%+v: %v", c.q, err)
		}
	}
}

// A broken table names row and column, and nothing of it is taken over.
func TestFaultsOfTables(t *testing.T) {
	head := "trip,rod,from,to,depth\n"
	for _, c := range []struct {
		stints, strikes string
		line, column    int
		want            string
	}{
		{"", handStrikes, 1, 1, "is empty"},
		{"trip,rod,from\n", "", 1, 1, "column is missing"},
		{"trip,rod,from,to,trip\n", "", 1, 18, "same name"},
		{head + "a,r,2026-06-03 05:30,2026-06-03 25:30,\n", "", 2, 22, "no time"},
		{head + "a,r,2026-06-03 05:30,2026-06-03 04:30,\n", "", 2, 22, "ends after it begins"},
		{head + "a,r,2026-06-03 05:30,2026-06-03 06:30,65 pounds\n", "", 2, 39, "no depth"},
		{head + "a,,2026-06-03 05:30,2026-06-03 06:30,65 ft\n", "", 2, 3, "rod is empty"},
		{head + "a,r,2026-06-03 05:30\n", "", 2, 1, "3 cells"},
		{head + "a,r,2026-06-03 05:30,2026-06-03 06:30,\na,r,2026-06-03 06:00,2026-06-03 07:00,\n", "", 3, 1, "twice at once"},
		{head + "a,\"r,2026-06-03 05:30,2026-06-03 06:30,\n", "", 2, 0, "cannot be read"},
		{head + "\xff\n", "", 2, 1, "not UTF-8"},
		{handStints, "trip,rod,at,landed\nx,p1,2026-06-03 05:40,maybe\n", 2, 23, "yes or no"},
	} {
		_, err := ReadCSV(CSV{Stints: []byte(c.stints), Strikes: []byte(c.strikes), StintsName: "s", StrikesName: "k"})
		var fs sternfan.Faults
		if !errors.As(err, &fs) {
			t.Errorf("%q: %v", c.stints, err)
			continue
		}
		if f := fs[0]; f.Line != c.line || c.column != 0 && f.Column != c.column || !strings.Contains(f.Text, c.want) {
			t.Errorf("%q: %+v", c.stints, f)
		}
	}
}

func FuzzReadCSV(f *testing.F) {
	f.Add([]byte(handStints), []byte(handStrikes))
	f.Add([]byte("trip,rod,from,to\na,b,2026-01-01 00:00,2026-01-01 01:00\n"), []byte("trip,rod,at\na,b,2026-01-01 00:30\n"))
	f.Fuzz(func(t *testing.T, stints, strikes []byte) {
		log, err := ReadCSV(CSV{Stints: stints, Strikes: strikes})
		if err != nil {
			var fs sternfan.Faults
			if !errors.As(err, &fs) || len(fs) == 0 || len(fs) > rows.MostFaults {
				t.Fatalf("not faults: %v", err)
			}
			return
		}
		for _, name := range log.Attributes() {
			all, err := log.Rates(Query{Compare: []string{name}, bare: true})
			if err != nil {
				t.Fatal(err)
			}
			for _, l := range all[0].Levels {
				if !(l.RodHours > 0) || math.IsInf(l.RodHours, 0) {
					t.Fatalf("%s %s: %g rod-hours", name, l.Level, l.RodHours)
				}
			}
		}
	})
}

// One lucky fish does not top a long list: of twenty lures of one and the same true rate,
// one that caught its only fish in half an hour has the highest rate as counted, and is
// not ranked first.
func TestOneLuckyFish(t *testing.T) {
	counts := []Count{{"lucky", 1, 0.5}}
	for i := range 20 {
		counts = append(counts, Count{fmt.Sprint("lure ", i), 4 + i%5, 40})
	}
	r, err := RatesOf(counts, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	if r.Levels[0].Level == "lucky" {
		t.Errorf("ranked first: %+v", r.Levels[0])
	}
	lucky := level(t, r, "lucky")
	if lucky.Rate < 10*lucky.Pooled || lucky.Pooled > 0.3 {
		t.Errorf("a fish in half an hour among 0.15 an hour: %.3g counted, %.3g drawn together", lucky.Rate, lucky.Pooled)
	}
	for _, c := range r.Contrasts {
		if c.Verdict == sternfan.CertaintyBetter || c.Verdict == sternfan.CertaintyLikely {
			t.Errorf("a claim: %+v", c)
		}
	}
}

// After each strike: the dial that was on one rod of four and took five of six.
func TestFired(t *testing.T) {
	setups := map[string]*sternfan.Setup{}
	for _, c := range []string{"gold", "silver"} {
		setups[c] = &sternfan.Setup{Attributes: map[string]string{"lure.color": c, "line": "braid"}}
	}
	log := &Log{}
	for rod := range 4 {
		s := sternfan.Stint{Trip: "today", Rod: fmt.Sprint("rod ", rod), Side: sternfan.Side(1 - 2*(rod%2)), From: 0, To: 4 * hourMS, Setup: setups["silver"]}
		s.Measures.Set(sternfan.MeasureDial, 1)
		switch rod {
		case 0:
			s.Setup = setups["gold"]
			s.Measures.Set(sternfan.MeasureDial, 2)
			for i := range 5 {
				s.Strikes = append(s.Strikes, sternfan.Strike{At: int64(i)*hourMS/2 + 1000})
			}
		case 3:
			s.Strikes = append(s.Strikes, sternfan.Strike{At: 3 * hourMS})
		}
		if err := log.Add(&s); err != nil {
			t.Fatal(err)
		}
	}
	f := log.Fired(FiredQuery{})
	if f.Strikes != 6 || len(f.Hints) == 0 {
		t.Fatalf("%+v", f)
	}
	h := f.Hints[0]
	if h.Hits != 5 || h.Of != 6 || h.Expected != 1.5 {
		t.Errorf("%+v", h)
	}
	// Five or six of six at one in four: 6 x 0.25^5 x 0.75 + 0.25^6.
	near(t, "luck", h.Luck, 19.0/4096, 1e-12)
	for _, h := range f.Hints {
		if h.Attribute == "line" {
			t.Errorf("what every rod had is no hint: %+v", h)
		}
		near(t, "luck of any", h.LuckAny, math.Min(1, h.Luck*float64(f.Looked)), 1e-12)
	}
	if early := log.Fired(FiredQuery{Until: 500}); early.Strikes != 0 || len(early.Hints) != 0 {
		t.Errorf("before any strike: %+v", early)
	}
}

// Every level fishes each rod and side alike, and at the same mean time.
func TestTrialIsFair(t *testing.T) {
	tier.Native(t)
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(2, 5).Draw(t, "levels")
		pairs := rapid.IntRange(1, 4).Draw(t, "pairs")
		q := TrialQuery{Compare: "lure", Hours: rapid.Float64Range(4, 12).Draw(t, "hours"), TurnMin: rapid.Float64Range(20, 60).Draw(t, "turn"), ChangeMin: 1e-9, Seed: rapid.Uint64().Draw(t, "seed")}
		for v := range k {
			q.Levels = append(q.Levels, fmt.Sprint("lure ", v))
		}
		for p := range pairs {
			q.Rods = append(q.Rods,
				sternfan.TrialRod{ID: fmt.Sprint("p", p), Position: fmt.Sprint("port ", p), Side: sternfan.Port},
				sternfan.TrialRod{ID: fmt.Sprint("s", p), Position: fmt.Sprint("starboard ", p), Side: sternfan.Starboard})
		}
		q.Ratios = []float64{2}
		trial, err := Trial(q)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range trial.Balance {
			if math.Abs(b.Port-b.Starboard) > 1e-6 {
				t.Fatalf("sides: %+v", b)
			}
			for rod, h := range b.ByRod {
				if math.Abs(h-q.Hours/float64(k)) > 1e-6 {
					t.Fatalf("rod %s carries %s for %g h", rod, b.Level, h)
				}
			}
			if len(trial.Turns)%(2*k) == 0 && math.Abs(b.Midtime-q.Hours*30) > 1e-3 {
				t.Fatalf("mean time: %+v", b)
			}
		}
	})
}

// How many work on an answer changes none of its digits.
func TestWorkersAgree(t *testing.T) {
	log := unlike(40, 12)
	q := Query{Compare: []string{"lure", "trip"}}
	alone, err := log.Rates(q)
	if err != nil {
		t.Fatal(err)
	}
	q.Workers = 3
	shared, err := log.Rates(q)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(alone, shared) {
		t.Error("three workers answer otherwise than one")
	}
	if r := alone[0]; len(r.Contrasts) != 12 || r.Strikes == r.Events {
		t.Errorf("%d comparisons, %d strikes in %d events: nothing to divide", len(r.Contrasts), r.Strikes, r.Events)
	}
}

// A log cut in shares is the log cut as one.
func TestSharesAreTheWhole(t *testing.T) {
	log := unlike(60, 30)
	for _, given := range []string{"trip-hour", "trip", "hour"} {
		q := Query{Given: []string{given}}.filled()
		cut := func(share int) *table {
			c, err := log.cutter("lure", &q)
			if err != nil {
				t.Fatal(err)
			}
			return c.build(3, share)
		}
		whole, shared := cut(len(log.trip)), cut(300)
		if whole.trips != 60 || len(whole.rows) < 15 {
			t.Fatalf("%s: %d trips, %d strata", given, whole.trips, len(whole.rows))
		}
		for _, of := range [][2][]float64{{whole.hours, shared.hours}, {whole.shared, shared.shared}, {whole.against, shared.against}} {
			for v := range of[0] {
				near(t, given, of[1][v], of[0][v], 1e-9)
			}
			copy(of[1], of[0])
		}
		if !reflect.DeepEqual(whole, shared) {
			t.Errorf("%s: shares add up to something else", given)
		}
	}
}

// Without rods a test takes those of the latest trip that carried the attribute; an
// attribute that other gear has is pointed out.
func TestTrialRodsOfTheLog(t *testing.T) {
	log := handLog(t)
	rods, err := log.TrialRods("diver.color")
	want := []sternfan.TrialRod{{ID: "p1", Side: sternfan.Port}, {ID: "s1", Side: sternfan.Starboard}} // m1's color is not known
	if err != nil || !slices.Equal(rods, want) {
		t.Errorf("%v, %v: want %v", rods, err, want)
	}
	_, err = log.TrialRods("lure.color")
	if err == nil || !strings.Contains(fmt.Sprint(err), "of this the log has diver.color") {
		t.Errorf("an unknown attribute: %v", err)
	}
}
