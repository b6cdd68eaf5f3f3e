package trip_test

import (
	"bytes"
	"encoding/json/v2"
	"math/rand/v2"
	"slices"
	"testing"

	"sternfan/event"

	"pgregory.net/rapid"

	"sternfan/internal/logtest"
	"sternfan/trip"
)

// start is six in the morning of an invented day, local time four hours behind UTC.
const start = int64(1783159200000)

func textOf(t interface{ Fatal(...any) }, events []event.Event) []byte {
	text, err := event.EncodeAll(events)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func outingText(t interface{ Fatal(...any) }, o *trip.Outing) []byte {
	text, err := json.Marshal(o, json.Deterministic(true))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// crew draws a day's log by several devices, with corrections, the clocks wrong by up to
// a day and more.
func crew(t *rapid.T) []event.Event {
	seed := rapid.Uint64().Draw(t, "seed")
	main := logtest.NewMaker("helm", start, seed)
	events := main.Day("invented day", 4, rapid.IntRange(1, 12).Draw(t, "sets"))
	r := rand.New(rand.NewPCG(seed, 7))
	phone := logtest.NewMaker("phone", start+int64(rapid.SampledFrom([]float64{-24, -1, 0, 24, 48}).Draw(t, "hours wrong")*3.6e6), seed+1)
	phone.Trip = main.Trip
	for range rapid.IntRange(0, 12).Draw(t, "phone events") {
		phone.Wait(10 * r.Float64())
		of := events[r.IntN(len(events))]
		rod := "rod-1"
		var b event.Body
		switch r.IntN(8) {
		case 0:
			b = event.Fix{Of: of.ID, Void: true}
		case 1:
			at := of.At.Add(60000)
			b = event.Fix{Of: of.ID, At: &at}
		case 2:
			b = event.Fix{Of: of.ID, To: event.KindNote, Body: []byte(`{"text":"not that"}`)}
		case 3:
			other := event.MakeID(5, [10]byte{1})
			b = event.Fix{Of: of.ID, Trip: &other}
		case 4:
			b = event.Solved{Of: of.ID, Fan: *main.Line(1).Fan}
		case 5:
			b = event.Clock{Of: "phone", Shift: 3600_000}
		case 6:
			b = event.Strike{}
		default:
			b = event.LineChecked{}
		}
		events = append(events, phone.Event(rod, b))
	}
	if rapid.Bool().Draw(t, "clash") {
		e := events[r.IntN(len(events))]
		e.Rod, e.Body = "rod-9", event.Note{Text: "another under the same id"}
		if e.Trip.IsZero() {
			e.Trip = event.MakeID(9, [10]byte{9})
		}
		events = append(events, e)
	}
	return events
}

// Two phones and a server, whatever each holds and however often it is sent: one state.
func TestMergeIsOneState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := crew(t)
		want, wantClash := trip.Merge(events)
		id := want[0].ID
		for _, e := range want {
			if _, ok := e.Body.(event.TripBegins); ok {
				id = e.ID
			}
		}
		wantOuting := outingText(t, trip.Project(id, events))

		// Each event is somewhere; the devices then exchange what they hold, in any order.
		devices := make([][]event.Event, 3)
		for _, e := range events {
			k := rapid.IntRange(1, 7).Draw(t, "holders")
			for d := range devices {
				if k>>d&1 == 1 {
					devices[d] = append(devices[d], e)
				}
			}
		}
		seed := rapid.Uint64().Draw(t, "exchange")
		r := rand.New(rand.NewPCG(seed, 8))
		for range 12 {
			a, b := r.IntN(3), r.IntN(3)
			sent := slices.Clone(devices[a])
			r.Shuffle(len(sent), func(i, j int) { sent[i], sent[j] = sent[j], sent[i] })
			m, clashes := trip.Merge(devices[b], sent, sent)
			devices[b] = append(m, clashes...)
		}
		var last [][]event.Event
		for _, d := range []int{2, 0, 1} {
			last = append(last, devices[d])
		}
		got, clash := trip.Merge(last...)
		if !bytes.Equal(textOf(t, got), textOf(t, want)) {
			t.Fatal("the union depends on the way it came together")
		}
		if !bytes.Equal(textOf(t, clash), textOf(t, wantClash)) {
			t.Fatal("the clashes depend on the way the union came together")
		}
		r.Shuffle(len(got), func(i, j int) { got[i], got[j] = got[j], got[i] })
		if o := outingText(t, trip.Project(id, append(got, clash...))); !bytes.Equal(o, wantOuting) {
			t.Fatalf("the outing depends on the order of the events:\n%s\n%s", o, wantOuting)
		}
	})
}

// Every strike of a trip is in what it adds up to, whatever the clocks; no rod fishes
// twice at once.
func TestNothingDropped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := crew(t)
		s := trip.Settle(events)
		merged, _ := trip.Merge(events)
		want := 0
		for _, e := range merged {
			switch e.Body.(type) {
			case event.Fix, event.Clock, event.Solved:
			default:
				want++
			}
		}
		if got := len(s.Entries) + len(s.Voided); got != want {
			t.Fatalf("%d entries of %d events", got, want)
		}
		trips := map[event.ID]bool{}
		strikes := 0
		for _, e := range s.Entries {
			id := e.Trip
			if _, ok := e.Body.(event.TripBegins); ok {
				id = e.ID
			}
			trips[id] = true
			if _, ok := e.Body.(event.Strike); ok {
				strikes++
			}
		}
		caught, counted := 0, 0
		for id := range trips {
			o := trip.ProjectSettled(id, s)
			before := map[string]int64{}
			for _, st := range o.Stints {
				if st.To > st.From {
					if st.From < before[st.Rod] {
						t.Fatalf("%s fishes twice at once: %v", st.Rod, o.Stints)
					}
					before[st.Rod] = st.To
				}
			}
			for _, c := range o.Strikes {
				if slices.ContainsFunc(s.Entries, func(e trip.Entry) bool {
					_, ok := e.Body.(event.Strike)
					return ok && e.ID == c.ID
				}) {
					caught++
				}
			}
			for _, st := range o.Stints {
				if st.To < st.From {
					t.Fatalf("a stint ends before it begins: %+v", st)
				}
				for _, k := range st.Strikes {
					if k.At < st.From || k.At > st.To {
						t.Fatalf("a strike outside its stint: %+v", st)
					}
				}
				counted += len(st.Strikes)
			}
			if n := len(o.Strikes); n > 0 {
				inStints := 0
				for _, st := range o.Stints {
					inStints += len(st.Strikes)
				}
				if inStints != n {
					t.Fatalf("%d catches but %d strikes in stints", n, inStints)
				}
			}
		}
		if caught != strikes {
			t.Fatalf("%d strikes in the log, %d in its trips", strikes, caught)
		}
	})
}

func TestIDsFollowCauseAndEffect(t *testing.T) {
	var phone, helm trip.IDs
	a := helm.Next(start, [10]byte{7})
	phone.Saw(a) // whose clock is a day behind
	b := phone.Next(start-24*3600*1000, [10]byte{1})
	if b.Compare(a) <= 0 {
		t.Errorf("%v was written in the knowledge of %v and comes before it", b, a)
	}
	c := phone.Next(start+1000, [10]byte{})
	if c.Compare(b) <= 0 || c.Milli() != start+1000 {
		t.Errorf("id %v at %d", c, c.Milli())
	}
	// An id from the end of time does not carry the clock with it.
	helm.Saw(event.MakeID(1<<48-1, [10]byte{}))
	if d := helm.Next(start, [10]byte{}); d.Milli() != start {
		t.Errorf("a forged id moved the clock to %d", d.Milli())
	}
}
