package trip_test

import (
	"math"
	"slices"
	"testing"

	"sternfan/event"

	"sternfan"
	"sternfan/internal/logtest"
	"sternfan/trip"
)

// day writes a trip by minutes since its beginning. The expected efforts below are sums
// of the minutes written beside them.
type day struct {
	m      *logtest.Maker
	begin  int64
	events []event.Event
}

func newDay() *day {
	d := &day{m: logtest.NewMaker("helm", start, 1), begin: start}
	d.at(0, "", event.TripBegins{Name: "invented", Anglers: 3})
	return d
}

func (d *day) at(minute float64, rod string, b event.Body) event.ID {
	d.m.Now = d.begin + int64(minute*60000)
	e := d.m.Event(rod, b)
	e.At.Milli = d.m.Now
	d.events = append(d.events, e)
	return e.ID
}

func (d *day) outing() *trip.Outing { return trip.Project(d.events[0].ID, d.events) }

func minutes(o *trip.Outing, rod string) (sum float64, strikes int) {
	for i := range o.Stints {
		if s := &o.Stints[i]; s.Rod == rod {
			sum += s.RodHours() * 60
			strikes += len(s.Strikes)
		}
	}
	return math.Round(sum*1000) / 1000, strikes
}

func TestEffort(t *testing.T) {
	line := func(d *day) event.LineSet { return d.m.Line(0) }
	for _, tt := range []struct {
		name    string
		write   func(*day)
		minutes float64
		strikes int
	}{
		{"set and no bite", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(70, "p1", event.LineIn{})
		}, 60, 0},
		{"still out when the trip ends", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(50, "", event.TripEnds{})
		}, 40, 0},
		{"still out at the last event of a trip under way", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(35, "", event.Note{Text: "birds"})
		}, 25, 0},
		{"other settings do not end the effort", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(40, "p1", event.LineChanged(line(d)))
			d.at(70, "p1", event.LineIn{})
		}, 60, 0},
		{"fouled: nothing since it was set", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(70, "p1", event.LineFouled{})
		}, 0, 0},
		{"fouled: nothing since the last check", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(40, "p1", event.LineChecked{})
			d.at(70, "p1", event.LineFouled{})
			d.at(90, "p1", event.LineIn{})
		}, 30, 0},
		{"fouled after it was changed: the change is no check", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(40, "p1", event.LineChecked{})
			d.at(50, "p1", event.LineChanged(line(d)))
			d.at(60, "p1", event.LineChanged(line(d)))
			d.at(70, "p1", event.LineFouled{})
		}, 30, 0},
		{"fouled, cleared and checked: it fishes again from then", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(40, "p1", event.LineFouled{})
			d.at(45, "p1", event.LineChecked{})
			d.at(70, "p1", event.LineIn{})
		}, 25, 0},
		{"a strike shows that it fished", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(40, "p1", event.Strike{})
			d.at(70, "p1", event.LineFouled{})
		}, 30, 1},
		{"a fish landed ends the effort when it struck", func(d *day) {
			d.at(10, "p1", line(d))
			s := d.at(40, "p1", event.Strike{})
			d.at(55, "p1", event.Landed{Strike: s})
			d.at(70, "p1", line(d))
			d.at(90, "p1", event.LineIn{})
		}, 30 + 20, 1},
		{"conditions read while the fish was on change nothing", func(d *day) {
			d.at(10, "p1", line(d))
			s := d.at(40, "p1", event.Strike{})
			d.at(45, "", event.Conditions{OverGround: logtest.P(2)})
			d.at(55, "p1", event.Lost{Strike: s})
		}, 30, 1},
		{"two fish on one line", func(d *day) {
			d.at(10, "p1", line(d))
			s := d.at(40, "p1", event.Strike{})
			d.at(42, "p1", event.Strike{Lure: "slider"})
			d.at(45, "", event.Conditions{OverGround: logtest.P(2)})
			d.at(55, "p1", event.Landed{Strike: s})
			d.at(70, "", event.TripEnds{})
		}, 32, 2},
		{"lost with the line left out", func(d *day) {
			d.at(10, "p1", line(d))
			s := d.at(40, "p1", event.Strike{})
			d.at(41, "p1", event.Lost{Strike: s, StillOut: true})
			d.at(70, "p1", event.LineIn{})
		}, 60, 1},
		{"a strike of which no more was written", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(40, "p1", event.Strike{})
			d.at(70, "p1", event.LineIn{})
		}, 60, 1},
		{"landed, and nobody wrote the strike", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(40, "p1", event.Landed{Species: "coho salmon"})
		}, 30, 1},
		{"a strike with no line out", func(d *day) {
			d.at(40, "p1", event.Strike{})
		}, 0, 1},
		{"set again without reeling in", func(d *day) {
			d.at(10, "p1", line(d))
			d.at(40, "p1", line(d))
			d.at(70, "p1", event.LineIn{})
		}, 60, 0},
		{"a set that never was", func(d *day) {
			id := d.at(10, "p1", line(d))
			d.at(70, "p1", event.LineIn{})
			d.at(80, "", event.Fix{Of: id, Void: true})
		}, 0, 0},
		{"voided, and that taken back", func(d *day) {
			id := d.at(10, "p1", line(d))
			d.at(70, "p1", event.LineIn{})
			fix := d.at(80, "", event.Fix{Of: id, Void: true})
			d.at(81, "", event.Fix{Of: fix, Void: true})
		}, 60, 0},
		{"set earlier than was written", func(d *day) {
			id := d.at(10, "p1", line(d))
			d.at(70, "p1", event.LineIn{})
			at := event.Instant{Milli: start + 5*60000, Offset: -240}
			d.at(80, "", event.Fix{Of: id, At: &at})
		}, 65, 0},
		{"it was not reeled in but found fouled", func(d *day) {
			d.at(10, "p1", line(d))
			id := d.at(70, "p1", event.LineIn{})
			d.at(80, "", event.Fix{Of: id, To: event.KindLineFouled, Body: []byte(`{"with":"weed"}`)})
		}, 0, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d := newDay()
			tt.write(d)
			got, strikes := minutes(d.outing(), "p1")
			if got != tt.minutes || strikes != tt.strikes {
				t.Errorf("%v minutes and %d strikes, want %v and %d", got, strikes, tt.minutes, tt.strikes)
			}
		})
	}
}

// A phone whose clock is a day ahead writes among a helm's events. Its strikes come where
// they belong, by themselves when the clock is out by whole days, exactly when it is said.
func TestClockWrongByADay(t *testing.T) {
	write := func(wrong int64) (*day, event.ID) {
		d := newDay()
		set := d.at(10, "p1", d.m.Line(0))
		d.at(20, "p2", d.m.Line(1))
		phone := logtest.NewMaker("phone", start+30*60000+wrong, 2)
		phone.Trip = d.m.Trip
		strike := phone.Event("p1", event.Strike{Set: set})
		d.events = append(d.events, strike)
		phone.Wait(4)
		d.events = append(d.events, phone.Event("p1", event.Landed{Strike: strike.ID, Species: "steelhead"}))
		d.at(120, "", event.TripEnds{})
		return d, strike.ID
	}
	const hour = 3600 * 1000
	for _, hours := range []int64{-24, 24, -48} {
		d, strike := write(hours * hour)
		o := d.outing()
		if got, n := minutes(o, "p1"); got != 20 || n != 1 || len(o.Strikes) != 1 || !o.Strikes[0].Counted || o.Strikes[0].ID != strike {
			t.Errorf("%d h wrong: %v minutes, %d strikes, %+v", hours, got, n, o.Strikes)
		}
		if !slices.ContainsFunc(o.Notices, func(n trip.Notice) bool { return n.Code == "clock-slipped" }) {
			t.Errorf("%d h wrong, and nobody is told: %v", hours, o.Notices)
		}
	}
	// Out by 25 hours: put among the day's by a day, within an hour of where it belongs.
	d, _ := write(25 * hour)
	if o := d.outing(); len(o.Strikes) != 1 || o.Strikes[0].Outcome != trip.WasLanded {
		t.Errorf("25 h wrong: %+v", o.Strikes)
	}
	d.at(130, "", event.Clock{Of: "phone", Shift: -25 * hour})
	if got, n := minutes(d.outing(), "p1"); got != 20 || n != 1 {
		t.Errorf("25 h wrong, and said so: %v minutes, %d strikes", got, n)
	}
	// Behind its line's set by minutes: it did not strike before that.
	d, _ = write(-25 * 60000)
	if got, n := minutes(d.outing(), "p1"); got != 0 || n != 1 {
		t.Errorf("25 min behind: %v minutes, %d strikes", got, n)
	}
}

// Correcting a phone's event on a helm that saw it counts, whatever the phone's clock.
func TestLaterCorrectionStands(t *testing.T) {
	d := newDay()
	d.at(10, "p1", d.m.Line(0))
	strike := d.at(30, "p1", event.Strike{})
	land := d.at(34, "p1", event.Landed{Strike: strike, Species: "steelhead", Fate: event.Kept})
	d.at(40, "", event.Fix{Of: land, To: event.KindLanded, Body: []byte(`{"strike":"` + strike.String() + `","species":"coho salmon","fate":"released"}`)})
	d.at(41, "", event.Fix{Of: land, To: event.KindLanded, Body: []byte(`{"strike":"` + strike.String() + `","species":"king salmon","fate":"kept"}`)})
	slices.Reverse(d.events[1:])
	o := d.outing()
	if c := o.Strikes[0]; c.Species != "king salmon" || c.Fate != event.Kept {
		t.Errorf("%+v", c)
	}
	if s := o.Stints[0].Strikes[0]; s.Species != "king salmon" || !s.Landed {
		t.Errorf("%+v", s)
	}
}

func TestMeasuresFollowTheConditions(t *testing.T) {
	d := newDay()
	d.at(5, "", event.Conditions{OverGround: logtest.P(1.1), Heading: logtest.P(20), Current: []event.Current{{Speed: .1, Toward: 200}}})
	d.at(10, "p1", d.m.Line(0))
	d.at(20, "", event.Conditions{OverGround: logtest.P(1.12)}) // no more than the reading wavers
	d.at(40, "", event.Conditions{OverGround: logtest.P(1.4)})
	d.at(70, "p1", event.LineIn{})
	o := d.outing()
	if len(o.Stints) != 2 {
		t.Fatalf("%d stints: %+v", len(o.Stints), o.Stints)
	}
	for i, want := range []float64{1.1, 1.4} {
		if v, ok := o.Stints[i].Measures.Get(sternfan.MeasureSpeed); !ok || math.Abs(v-want) > 1e-6 {
			t.Errorf("stint %d at %v m/s, want %v", i, v, want)
		}
		// Heading 20, the current setting 200: straight against it.
		if v, ok := o.Stints[i].Measures.Get(sternfan.MeasureToCurrent); !ok || math.Abs(v) != 180 {
			t.Errorf("stint %d at %v degrees to the current, want 180", i, v)
		}
	}
	if o.Stints[0].Setup != o.Stints[1].Setup || o.Stints[0].Setup.Attributes["diver"] != "diver-large" {
		t.Errorf("setups %+v", o.Stints)
	}
}

func TestDaySheet(t *testing.T) {
	d := newDay()
	d.at(10, "p1", d.m.Line(0))
	d.at(20, "p2", d.m.Line(1))
	s := d.at(30, "p1", event.Strike{})
	d.at(35, "p1", event.Landed{Strike: s, Species: "king salmon", Fate: event.Kept, Mass: logtest.P(8)})
	s = d.at(50, "p2", event.Strike{})
	d.at(55, "p2", event.Landed{Strike: s, Species: "king salmon", Fate: event.Released})
	d.at(60, "p1", d.m.Line(0))
	s = d.at(70, "p1", event.Strike{})
	d.at(71, "p1", event.Lost{Strike: s})
	d.at(90, "", event.TripEnds{})
	sheet := trip.Sheet("2026-07-04", []*trip.Outing{d.outing()})
	if len(sheet.Trips) != 1 || len(sheet.Species) != 1 {
		t.Fatalf("%+v", sheet)
	}
	// Lines fished from minute 10 to 50 and from 60 to 70; three anglers.
	r := sheet.Trips[0]
	if r.Hours != 1.5 || math.Abs(r.LinesHours-50./60) > 1e-9 || math.Abs(r.AnglerHours-150./60) > 1e-9 || r.Lines != 2 || r.Kept != 1 || r.Released != 1 {
		t.Errorf("%+v", r)
	}
	if k := sheet.Species[0]; k.Kept != 1 || k.Released != 1 || k.Unsaid != 0 || k.Mass != 8 {
		t.Errorf("%+v", k)
	}
	if sheet.Strikes != 3 || sheet.Lost != 1 || sheet.Unknown != 0 {
		t.Errorf("%+v", sheet)
	}
	if other := trip.Sheet("2026-07-05", []*trip.Outing{d.outing()}); len(other.Trips) != 0 {
		t.Errorf("%+v", other)
	}
}

// A reading is of the line that was out then, as it was set and with what was read of the
// conditions; of one that has come in, as it last was; of one that never was out, nothing.
func TestReadings(t *testing.T) {
	d := newDay()
	depth := event.Reading{What: event.ReadDepth, Value: 18}
	set, speed := d.m.Line(0), 1.1
	d.at(10, "p1", set)
	first := d.at(20, "p1", depth)
	d.at(30, "", event.Conditions{Surface: &speed})
	changed := set.Line
	out := 60.0
	changed.Settings.LineOut = &out
	d.at(31, "p1", event.LineChanged{Line: changed})
	d.at(40, "p1", depth)
	d.at(50, "p1", event.LineIn{})
	d.at(51, "p1", depth)
	never := d.at(52, "s1", depth)
	got, notices := trip.Readings(d.events[0].ID, trip.Settle(d.events))
	if len(got) != 3 || got[0].ID != first || got[0].At.Milli != start+20*60000 || len(notices) != 1 || notices[0].ID != never {
		t.Fatalf("%+v, %+v", got, notices)
	}
	for i, want := range []struct {
		out   *float64
		speed *float64
	}{{set.Line.Settings.LineOut, nil}, {&out, &speed}, {&out, &speed}} {
		line, ok := got[i].State.Line("p1")
		if !ok {
			t.Fatalf("reading %d has no line", i)
		}
		if g := line.Line.Settings.LineOut; (g == nil) != (want.out == nil) || g != nil && *g != *want.out {
			t.Errorf("reading %d: line out %v", i, g)
		}
		if g := got[i].State.Conditions.Surface; (g == nil) != (want.speed == nil) {
			t.Errorf("reading %d: speed %v", i, g)
		}
	}
}

// Effort lies along the straight ways between logged places and strikes where they were;
// what is too far from any place is told apart.
func TestSeason(t *testing.T) {
	d := newDay()
	place := func(lat, lon float64) { d.events[len(d.events)-1].Where = &sternfan.Place{Lat: lat, Lon: lon} }
	d.at(0, "p1", d.m.Line(0))
	place(0.5, -1.25)
	d.at(30, "p1", event.Strike{})
	place(0.5, -1.24)
	d.at(31, "p1", event.Lost{StillOut: true})
	d.at(60, "", event.Note{Text: "the far end"})
	place(0.5, -1.23)
	d.at(61, "p1", event.Strike{})
	d.at(180, "p1", event.LineIn{})
	o := d.outing()
	var all trip.Seasons
	if empty := all.Season(); len(empty.Cells) != 0 {
		t.Errorf("%+v", empty)
	}
	all.Add(o)
	got := all.Season()
	if got.Trips != 1 || got.Without != 1 || len(got.Strikes) != 1 || got.Strikes[0].Lon != -1.24 || got.Strikes[0].Landed {
		t.Errorf("%+v", got)
	}
	// An hour between the places and a quarter of one after the last.
	if math.Abs(got.RodHours-1.25) > 1.0/30 || math.Abs(got.RodHours+got.Unplaced-3) > 1e-9 {
		t.Errorf("%g rod-hours placed, %g not", got.RodHours, got.Unplaced)
	}
	sum, strikes := 0.0, 0
	for _, c := range got.Cells {
		sum += c.RodHours
		strikes += c.Strikes
		if c.Middle.Lon < -1.2505 || c.Middle.Lon > -1.2285 || math.Abs(c.Middle.Lat-0.5) > 0.001 {
			t.Errorf("a square about %v", c.Middle)
		}
	}
	// 2.2 km in at most 24 squares of 100 m.
	if math.Abs(sum-got.RodHours) > 1e-9 || strikes != 1 || got.Cell != 100 || len(got.Cells) < 20 || len(got.Cells) > 25 {
		t.Errorf("%d squares of %g m with %g rod-hours and %d strikes", len(got.Cells), got.Cell, sum, strikes)
	}
}

// Two phones begin a trip each on one boat. Joined, it is one: every rod's effort, one
// beginning and one end; what a phone writes later under its own trip counts too. Parted
// again, they are as they were.
func TestJoinedTrips(t *testing.T) {
	helm, deck := newDay(), newDay()
	deck.m = logtest.NewMaker("phone", start, 2)
	deck.events = nil
	deck.at(5, "", event.TripBegins{Name: "the same morning"})
	helm.at(10, "p1", helm.m.Line(0))
	deck.at(20, "s1", deck.m.Line(1))
	deck.at(50, "s1", event.Strike{})
	deck.at(51, "s1", event.Lost{StillOut: true})
	helm.at(60, "", event.Note{Text: "two trips of one"})
	deck.at(80, "", event.TripEnds{}) // it was begun twice: away with it
	a, b := helm.events[0].ID, deck.events[0].ID
	helm.at(85, "", event.Fix{Of: b, Trip: &a})
	join := helm.events[len(helm.events)-1].ID
	deck.at(90, "s1", event.Strike{}) // before the phone heard of it
	helm.at(130, "", event.TripEnds{})
	all := append(slices.Clone(helm.events), deck.events...)

	o := trip.Project(a, all)
	port, _ := minutes(o, "p1")
	starboard, strikes := minutes(o, "s1")
	if port != 120 || starboard != 110 || strikes != 2 || len(o.Strikes) != 2 { // from 10 and from 20, both to the end at 130
		t.Errorf("p1 fished %g minutes, s1 %g with %d strikes of %d", port, starboard, strikes, len(o.Strikes))
	}
	if !o.Ended || o.Begins.Name != "invented" || len(o.Joined) != 1 || o.Joined[0].Fix != join || o.Joined[0].Name != "the same morning" {
		t.Errorf("ended %t, begun as %q, joined %+v", o.Ended, o.Begins.Name, o.Joined)
	}
	if other := trip.Project(b, all); other.Events != 0 {
		t.Errorf("the joined trip still has %d events", other.Events)
	}

	helm.at(140, "", event.Fix{Of: join, Void: true})
	all = append(all, helm.events[len(helm.events)-1])
	apart := trip.Project(b, all)
	if fished, _ := minutes(apart, "s1"); fished != 60 || !apart.Ended || apart.Begins.Name != "the same morning" {
		t.Errorf("parted, s1 fished %g minutes", fished)
	}
	if left := trip.Project(a, all); len(left.Joined) != 0 || len(left.Strikes) != 0 {
		t.Errorf("parted, the first still has %d strikes", len(left.Strikes))
	}

	// In a circle nobody knows which is the whole: they stay apart.
	helm.at(150, "", event.Fix{Of: a, Trip: &b})
	helm.at(151, "", event.Fix{Of: b, Trip: &a})
	all = append(all, helm.events[len(helm.events)-2:]...)
	if x, y := trip.Project(a, all), trip.Project(b, all); x.Events == 0 || y.Events == 0 || len(x.Joined)+len(y.Joined) != 0 {
		t.Errorf("in a circle: %d and %d events", x.Events, y.Events)
	}
}
