package setting_test

import (
	"encoding/json/v2"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/setting"
	"sternfan/unit"
)

// full returns places for every setting.
func full() setting.On {
	return setting.On{Settings: &sternfan.Settings{}, Downrigger: &sternfan.Downrigger{}, MastBoard: &sternfan.MastBoard{}}
}

// sample returns a value that a setting may have and that no other row has.
func sample(r *setting.Row, i int) setting.Value {
	switch r.Kind {
	case setting.Switch, setting.Flag:
		return setting.Value{Given: true, Number: 1}
	case setting.Side:
		return setting.Value{Given: true, Number: -1, Word: "port"}
	case setting.Word:
		return setting.Value{Given: true, Word: r.Words[len(r.Words)-1]}
	case setting.Mark:
		return setting.Value{Given: true, Number: 2.5}
	}
	return setting.Value{Given: true, Number: 7 + float64(i)}
}

// Every field of the model's settings has one row, which names where it is, and no two
// rows have one place or one name.
func TestEveryFieldHasOneRow(t *testing.T) {
	on := full()
	places, names := map[any]string{}, map[string]bool{}
	count := map[setting.Owner]int{}
	for r := range setting.Rows {
		place := r.In(on)
		if place == nil || reflect.ValueOf(place).Kind() != reflect.Pointer {
			t.Fatalf("%s is at %v", r.ID, place)
		}
		if was := places[place]; was != "" {
			t.Errorf("%s and %s are in one place", was, r.ID)
		}
		places[place] = r.ID
		if names[r.ID] || r.ID == "" || r.Name == "" || r.Doc == "" {
			t.Errorf("%+v: a row needs an id of its own, a name and words", r.ID)
		}
		names[r.ID] = true
		count[r.Owner]++
	}
	fields := reflect.ValueOf(on.Settings).Elem()
	for i := range fields.NumField() {
		if _, ok := places[fields.Field(i).Addr().Interface()]; !ok {
			t.Errorf("no row is for the field %s", fields.Type().Field(i).Name)
		}
	}
	if got := count[setting.Rod]; got != fields.NumField() {
		t.Errorf("%d rows are on a rod, which has %d settings", got, fields.NumField())
	}
	if places[any(&on.Downrigger.CableOut)] == "" || places[any(&on.MastBoard.LineOut)] == "" {
		t.Error("a device's line has no row")
	}
}

// The owner that a row names is where its place is: a rod without the device has none.
func TestRowsNameTheirOwner(t *testing.T) {
	for owner, on := range map[setting.Owner]setting.On{
		setting.Rod:        {Settings: &sternfan.Settings{}},
		setting.Downrigger: {Settings: &sternfan.Settings{}, Downrigger: &sternfan.Downrigger{}},
		setting.MastBoard:  {Settings: &sternfan.Settings{}, MastBoard: &sternfan.MastBoard{}},
	} {
		for r := range setting.Rows {
			want := r.Owner == setting.Rod || r.Owner == owner
			if has := r.In(on) != nil; has != want {
				t.Errorf("%s of the %s is there on a %s: %v", r.ID, r.Owner, owner, has)
			}
			if got := r.Set(on, sample(r, 0)); got != want {
				t.Errorf("%s of the %s can be set on a %s: %v", r.ID, r.Owner, owner, got)
			}
			if got := r.Get(on).Given; got != want {
				t.Errorf("%s of the %s is given on a %s: %v", r.ID, r.Owner, owner, got)
			}
		}
	}
}

// What is set is what is got, and nothing else changes; uncertainty stays.
func TestSetAndGet(t *testing.T) {
	i := 0
	for r := range setting.Rows {
		on := full()
		want := sample(r, i)
		i++
		r.Set(on, want)
		for other := range setting.Rows {
			got := other.Get(on)
			if other.ID != r.ID && got != (setting.Value{}) || other.ID == r.ID && got != want {
				t.Errorf("with %s set to %+v, %s is %+v", r.ID, want, other.ID, got)
			}
		}
		r.Set(on, setting.Value{})
		if got := r.Get(on); got != (setting.Value{}) {
			t.Errorf("%s taken back is %+v", r.ID, got)
		}
	}
	on := full()
	on.Settings.Lead = sternfan.Q[unit.Length]{Value: 3, Given: true, Scatter: sternfan.Rel(.02), Source: "marks on the rod"}
	lead, _ := setting.Find("lead")
	lead.Set(on, setting.Value{Given: true, Number: 4})
	if want := (sternfan.Q[unit.Length]{Value: 4, Given: true, Scatter: sternfan.Rel(.02), Source: "marks on the rod"}); on.Settings.Lead != want {
		t.Errorf("the lead is %+v, want %+v", on.Settings.Lead, want)
	}
}

// A log keeps every setting: each has one member, which comes back as it was written.
func TestLogKeepsEverySetting(t *testing.T) {
	on := full()
	want := map[string]setting.Value{}
	members := map[string]bool{}
	i := 0
	for r := range setting.Rows {
		want[r.ID] = sample(r, i)
		r.Set(on, want[r.ID])
		members[r.LogKey()] = true
		i++
	}
	logged := setting.Log(on)
	text, err := json.Marshal(logged)
	if err != nil {
		t.Fatal(err)
	}
	var written map[string]any
	if err := json.Unmarshal(text, &written); err != nil {
		t.Fatal(err)
	}
	typ := reflect.TypeFor[setting.Logged]()
	for i := range typ.NumField() {
		name, _, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
		if !members[name] {
			t.Errorf("no row is for the log's member %s", name)
		}
		if _, ok := written[name]; !ok {
			t.Errorf("the log does not write %s", name)
		}
	}
	if typ.NumField() != len(setting.IDs()) {
		t.Errorf("a log has %d members for %d settings", typ.NumField(), len(setting.IDs()))
	}
	var read setting.Logged
	if err := json.Unmarshal(text, &read, json.RejectUnknownMembers(true)); err != nil {
		t.Fatal(err)
	}
	back := read.Model()
	for r := range setting.Rows {
		if got := r.Logged(&read); got != want[r.ID] {
			t.Errorf("the log has %s as %+v, want %+v", r.ID, got, want[r.ID])
		}
		if got := r.Get(back); got != want[r.ID] {
			t.Errorf("%s comes back as %+v, want %+v", r.ID, got, want[r.ID])
		}
		if lo, hi := r.LogRange(); lo > r.Lo || hi < r.Hi {
			t.Errorf("a log takes %s from %g to %g, a file from %g to %g", r.ID, lo, hi, r.Lo, r.Hi)
		}
	}
	// A ring that is off was said; one that was not said was not.
	for _, v := range []setting.Value{{}, {Given: true}} {
		ring, _ := setting.Find("ring")
		on := full()
		ring.Set(on, v)
		l := setting.Log(on)
		if got := ring.Get(l.Model()); got != v {
			t.Errorf("a ring of %+v is logged as %+v", v, got)
		}
	}
}

// Each kind of value is in the range that its row has, or among its words.
func TestRangesAndWords(t *testing.T) {
	for r := range setting.Rows {
		switch r.Kind {
		case setting.Length, setting.Force, setting.Colors, setting.Mark:
			if !(r.Hi > r.Lo) || math.IsInf(r.Hi, 0) || len(r.Words) > 0 {
				t.Errorf("%s is from %g to %g", r.ID, r.Lo, r.Hi)
			}
		default:
			if len(r.Words) == 0 || r.Hi != 0 || r.Norm != "" && !slices.Contains(r.Words, r.Norm) {
				t.Errorf("%s is one of %q, by default %q", r.ID, r.Words, r.Norm)
			}
		}
	}
}

// Rigs say what a setting measures and what must be given, by settings that there are.
func TestUses(t *testing.T) {
	for r := range setting.Rows {
		for rig, use := range r.Uses {
			if _, ok := setting.Find(use.Or); use.Or != "" && (!ok || use.Ask == "") {
				t.Errorf("%s on a rig %q: %+v", r.ID, rig, use)
			}
		}
	}
}

// What a rod is set to is said in the order in which hands do it.
func TestWords(t *testing.T) {
	foot := func(x float64) setting.Value { return setting.Value{Given: true, Number: x * 0.3048} }
	set := func(values map[string]setting.Value) setting.On {
		on := full()
		for id, v := range values {
			r, ok := setting.Find(id)
			if !ok {
				t.Fatal(id)
			}
			r.Set(on, v)
		}
		return on
	}
	port := setting.Value{Given: true, Word: "port"}
	given := func(x float64) setting.Value { return setting.Value{Given: true, Number: x} }
	for _, c := range []struct {
		set   map[string]setting.Value
		parts []sternfan.PartKind
		us    string
		si    string
	}{
		{map[string]setting.Value{"line_out": foot(180), "dial": given(2), "side": port, "ring": given(1)},
			[]sternfan.PartKind{sternfan.PartLine, sternfan.PartDiver, sternfan.PartLure},
			"dial 2 port, ring on, 180 ft out", "dial 2 port, ring on, 54.9 m out"},
		{map[string]setting.Value{"line_out": foot(120), "count_from": {Given: true, Word: "water"}, "lead": foot(6.4), "tripped": given(1), "dial": {}, "ring": {Given: true}},
			[]sternfan.PartKind{sternfan.PartDiver},
			"6.5 ft lead, ring off, tripped, 120 ft out from the water", "2 m lead, ring off, tripped, 36.6 m out from the water"},
		{map[string]setting.Value{"line_out": foot(120), "lead": foot(350), "section": foot(150), "side": port},
			[]sternfan.PartKind{sternfan.PartBoard},
			"350 ft lead, board to port, 150 ft of sinking line, 120 ft out", "106.7 m lead, board to port, 45.7 m of sinking line, 36.6 m out"},
		{map[string]setting.Value{"line_out": foot(70), "lead": foot(15), "above_ball": foot(20), "cable_out": foot(60)},
			[]sternfan.PartKind{sternfan.PartRelease},
			"15 ft lead, release 20 ft above the ball, 60 ft of cable", "4.6 m lead, release 6.1 m above the ball, 18.3 m of cable"},
		{map[string]setting.Value{"colors": given(1), "line_out": foot(20)}, nil, "1 color, 20 ft out", "1 color, 6.1 m out"},
		{map[string]setting.Value{"colors": given(2.5)}, nil, "2.5 colors", "2.5 colors"},
		{map[string]setting.Value{"along": foot(40), "tow_line_out": foot(100)}, []sternfan.PartKind{sternfan.PartRelease},
			"release 40 ft along the tow line, 100 ft of tow line", "release 12.2 m along the tow line, 30.5 m of tow line"},
	} {
		has := func(k sternfan.PartKind) bool { return slices.Contains(c.parts, k) }
		for u, want := range map[unit.System]string{unit.US: c.us, unit.SI: c.si} {
			if got := strings.Join(setting.Words(set(c.set), has, setting.Counted(u)), ", "); got != want {
				t.Errorf("%q, want %q", got, want)
			}
		}
	}
}
