package trip

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sternfan"
)

// Entry is an event as it stands after corrections.
type Entry struct {
	sternfan.Event                    // with every correction in it
	Time           int64              // milliseconds since 1970, with the clock put right
	Fixes          []sternfan.EventID // what corrected it, latest first
	Void           bool               // it never happened
}

// Notice is something about a log that a person should know.
type Notice struct {
	Code string           `json:"code"`
	ID   sternfan.EventID `json:"id,omitzero"` // the event that it is about
	Text string           `json:"text"`
	Hint string           `json:"hint,omitzero"`
}

// Settled is a log with its corrections applied, in order of time.
type Settled struct {
	Entries []Entry // what happened; corrections, clocks and solutions are in it, not entries of their own
	Voided  []Entry // what was taken back
	Joined  []Joined
	Notices []Notice
}

// Joined is a trip that was begun apart, on another device, and turned out to be part of
// this one.
type Joined struct {
	Trip sternfan.EventID `json:"trip"` // the event that began it
	To   sternfan.EventID `json:"to"`
	Fix  sternfan.EventID `json:"fix"` // what joined it; to take that back parts them again
	Name string           `json:"name,omitzero"`
	By   string           `json:"by"`
	At   sternfan.Instant `json:"at"`
}

// Settle applies corrections, solutions and clocks to events in any order, and puts what
// happened in order of time.
func Settle(events []sternfan.Event) *Settled {
	merged, clashes := Merge(events)
	s := &Settled{}
	for _, c := range clashes {
		s.note("clash", c.ID, "two different events have this id; one of them is left aside", "look at what the device "+c.By+" wrote then, and add it again")
	}
	byID := make(map[sternfan.EventID]int, len(merged))
	for i := range merged {
		byID[merged[i].ID] = i
	}
	fixes := s.corrections(merged, byID)
	clocks := clocksOf(merged, fixes)
	fans := solutions(merged, fixes)
	joined := s.joins(merged, fixes)
	for _, e := range merged {
		switch e.Body.(type) {
		case sternfan.Fix, sternfan.Clock, sternfan.Solved:
			continue
		}
		entry := Entry{Event: e}
		f := fixes[e.ID]
		if f != nil {
			entry.Fixes, entry.Void = f.by, f.void
			f.apply(&entry.Event)
		}
		entry.Time = entry.At.Milli
		if f == nil || f.at == nil {
			entry.Time += clocks.shift(&entry.Event, e.At)
		}
		if fan := fans[e.ID]; fan != nil {
			entry.Body = withFan(entry.Body, fan)
		}
		if to, ok := joined[tripOf(&entry.Event)]; ok {
			join(&entry.Event, to)
		}
		if entry.Void {
			s.Voided = append(s.Voided, entry)
		} else {
			s.Entries = append(s.Entries, entry)
		}
	}
	s.slips()
	s.causes()
	order(s.Entries)
	order(s.Voided)
	return s
}

func (s *Settled) note(code string, id sternfan.EventID, text, hint string) {
	s.Notices = append(s.Notices, Notice{code, id, text, hint})
}

// order sorts by time; at one moment by what comes first on a day, then by id.
func order(entries []Entry) {
	slices.SortFunc(entries, func(a, b Entry) int {
		return cmp.Or(cmp.Compare(a.Time, b.Time), cmp.Compare(rank(a.Body), rank(b.Body)), a.ID.Compare(b.ID))
	})
}

func rank(b sternfan.Body) int {
	switch b.(type) {
	case sternfan.TripBegins:
		return 0
	case sternfan.Conditions:
		return 1
	case sternfan.TripEnds:
		return 9
	case sternfan.Landed, sternfan.Lost:
		return 3
	}
	return 2
}

// fixed is what corrections say of one event.
type fixed struct {
	void bool
	by   []sternfan.EventID
	at   *sternfan.Instant
	trip *sternfan.EventID
	rod  *string
	body sternfan.Body

	joinedBy sternfan.EventID // the fix that trip is from
}

func (f *fixed) apply(e *sternfan.Event) {
	if f.at != nil {
		e.At = *f.at
	}
	if f.trip != nil {
		e.Trip = *f.trip
	}
	if f.rod != nil {
		e.Rod = *f.rod
	}
	if f.body == nil {
		return
	}
	// Other events name a trip by the event that begins it, so no event becomes one, or
	// ceases to be one.
	_, was := e.Body.(sternfan.TripBegins)
	if _, is := f.body.(sternfan.TripBegins); was == is {
		e.Body = f.body
	}
}

// corrections gathers what is said of each event. Fixes are taken from the latest id
// down, so that one has been voided, or not, before its own word counts.
func (s *Settled) corrections(merged []sternfan.Event, byID map[sternfan.EventID]int) map[sternfan.EventID]*fixed {
	out := map[sternfan.EventID]*fixed{}
	for i := len(merged) - 1; i >= 0; i-- {
		fix, ok := merged[i].Body.(sternfan.Fix)
		if !ok {
			continue
		}
		id := merged[i].ID
		if f := out[id]; f != nil && f.void {
			continue
		}
		target, known := byID[fix.Of]
		switch {
		case !known:
			s.note("unknown-event", id, "this corrects an event that is not here", "it will count when the device that has it sends its log")
		case target >= i:
			if _, of := merged[target].Body.(sternfan.Fix); of {
				s.note("early-fix", id, "this corrects a correction that was made after it, and does not count", "correct it again")
				continue
			}
		}
		f := out[fix.Of]
		if f == nil {
			f = &fixed{}
			out[fix.Of] = f
		}
		f.by = append(f.by, id)
		f.void = f.void || fix.Void
		if f.at == nil {
			f.at = fix.At
		}
		if f.trip == nil && fix.Trip != nil {
			f.trip, f.joinedBy = fix.Trip, id
		}
		if f.rod == nil {
			f.rod = fix.Rod
		}
		if f.body == nil && fix.To != "" {
			body, err := sternfan.DecodeBody(fix.To, fix.Body)
			if err != nil {
				s.note("bad-fix", id, "what this correction says cannot be read: "+err.Error(), "correct it again")
				continue
			}
			f.body = body
		}
	}
	return out
}

// joins returns the trips that were joined to others, each with the one that it ends up
// in. Trips that were joined in a circle stay apart.
func (s *Settled) joins(merged []sternfan.Event, fixes map[sternfan.EventID]*fixed) map[sternfan.EventID]sternfan.EventID {
	to := map[sternfan.EventID]sternfan.EventID{}
	for i := range merged {
		e := &merged[i]
		_, begins := e.Body.(sternfan.TripBegins)
		if f := fixes[e.ID]; begins && f != nil && f.trip != nil && !f.trip.IsZero() && *f.trip != e.ID {
			to[e.ID] = *f.trip
		}
	}
	out := map[sternfan.EventID]sternfan.EventID{}
	for i := range merged {
		e := &merged[i]
		end, ok := to[e.ID]
		for range to { // a way longer than this is a circle
			next, on := to[end]
			if !on {
				break
			}
			end = next
		}
		if _, circle := to[end]; !ok || circle {
			continue
		}
		out[e.ID] = end
		f := fixes[e.ID]
		one := *e
		f.apply(&one)
		s.Joined = append(s.Joined, Joined{Trip: e.ID, To: end, Fix: f.joinedBy, Name: one.Body.(sternfan.TripBegins).Name, By: e.By, At: one.At})
	}
	return out
}

// join makes an event part of the trip that its own was joined to. That begins and ends by
// itself: of the beginning and the end of the other a note is left.
func join(e *sternfan.Event, to sternfan.EventID) {
	e.Trip = to
	switch b := e.Body.(type) {
	case sternfan.TripBegins:
		e.Body = sternfan.Note{Text: strings.TrimSpace("joined trip begun " + b.Name)}
	case sternfan.TripEnds:
		e.Body = sternfan.Note{Text: strings.TrimSpace("joined trip ended " + b.Note)}
	}
}

// clocks are the devices whose clocks were wrong, by trip; the zero trip is every trip.
type clocks map[clockKey]sternfan.Clock

type clockKey struct {
	device string
	trip   sternfan.EventID
}

// clocksOf takes the latest word on each clock.
func clocksOf(merged []sternfan.Event, fixes map[sternfan.EventID]*fixed) clocks {
	out := clocks{}
	for _, e := range merged {
		clock, ok := e.Body.(sternfan.Clock)
		if f := fixes[e.ID]; !ok || f != nil && f.void {
			continue
		}
		out[clockKey{clock.Of, e.Trip}] = clock
	}
	return out
}

// shift returns what to add to the time that an event's device showed.
func (c clocks) shift(e *sternfan.Event, showed sternfan.Instant) int64 {
	clock, ok := c.of(e)
	if !ok || clock.Until != nil && showed.Milli >= clock.Until.Milli {
		return 0
	}
	return clock.Shift
}

func (c clocks) of(e *sternfan.Event) (sternfan.Clock, bool) {
	clock, ok := c[clockKey{e.By, tripOf(e)}]
	if !ok {
		clock, ok = c[clockKey{device: e.By}]
	}
	return clock, ok
}

// tripOf returns the trip that an event belongs to: its own id if it begins one.
func tripOf(e *sternfan.Event) sternfan.EventID {
	if _, begins := e.Body.(sternfan.TripBegins); begins {
		return e.ID
	}
	return e.Trip
}

// solutions takes the latest solution of each event.
func solutions(merged []sternfan.Event, fixes map[sternfan.EventID]*fixed) map[sternfan.EventID]*sternfan.LogFan {
	out := map[sternfan.EventID]*sternfan.LogFan{}
	for _, e := range merged {
		solved, ok := e.Body.(sternfan.Solved)
		if f := fixes[e.ID]; ok && (f == nil || !f.void) {
			out[solved.Of] = &solved.Fan
		}
	}
	return out
}

func withFan(b sternfan.Body, fan *sternfan.LogFan) sternfan.Body {
	switch b := b.(type) {
	case sternfan.LineSet:
		b.Fan = fan
		return b
	case sternfan.LineChanged:
		b.Fan = fan
		return b
	case sternfan.Struck:
		b.Fan = fan
		return b
	}
	return b
}

const (
	dayMs = 24 * 3600 * 1000
	gapMs = 8 * 3600 * 1000 // between clusters of a trip's events
)

// slips puts right a clock that is out by whole days. In a trip, events that lie hours
// apart from the many, all by devices that wrote none of the many, are moved by the whole
// days that bring them among those.
func (s *Settled) slips() {
	trips := map[sternfan.EventID][]int{}
	for i := range s.Entries {
		if id := tripOf(&s.Entries[i].Event); !id.IsZero() {
			trips[id] = append(trips[id], i)
		}
	}
	var moved []Notice
	for _, members := range trips {
		moved = append(moved, s.slip(members)...)
	}
	slices.SortFunc(moved, func(a, b Notice) int { return a.ID.Compare(b.ID) })
	s.Notices = append(s.Notices, moved...)
}

func (s *Settled) slip(members []int) []Notice {
	at := func(i int) *Entry { return &s.Entries[i] }
	slices.SortFunc(members, func(a, b int) int {
		return cmp.Or(cmp.Compare(at(a).Time, at(b).Time), at(a).ID.Compare(at(b).ID))
	})
	var clusters [][]int
	begin := 0
	for k := 1; k <= len(members); k++ {
		if k == len(members) || at(members[k]).Time-at(members[k-1]).Time > gapMs {
			clusters = append(clusters, members[begin:k])
			begin = k
		}
	}
	if len(clusters) < 2 {
		return nil
	}
	main := 0
	for k := range clusters {
		if len(clusters[k]) > len(clusters[main]) {
			main = k
		}
	}
	many := map[string]bool{}
	for _, i := range clusters[main] {
		many[at(i).By] = true
	}
	lo, hi := at(clusters[main][0]).Time, at(clusters[main][len(clusters[main])-1]).Time
	var notices []Notice
	for k, cluster := range clusters {
		if k == main || slices.ContainsFunc(cluster, func(i int) bool { return many[at(i).By] }) {
			continue
		}
		first, last := at(cluster[0]).Time, at(cluster[len(cluster)-1]).Time
		days := ((lo+hi)/2 - (first+last)/2 + sign((lo+hi)/2-(first+last)/2)*dayMs/2) / dayMs
		shift := days * dayMs
		const near = gapMs / 2
		if days == 0 || first+shift < lo-near || last+shift > hi+near {
			continue
		}
		for _, i := range cluster {
			at(i).Time += shift
		}
		e := at(cluster[0])
		notices = append(notices, Notice{"clock-slipped", e.ID,
			fmt.Sprintf("the clock of %s is %s; its events are put among the others of the trip", e.By, wrongBy(-days)),
			"set that clock, or say by how much it is wrong with a clock event"})
	}
	return notices
}

func wrongBy(days int64) string {
	word := "ahead"
	if days < 0 {
		word, days = "behind", -days
	}
	if days == 1 {
		return "a day " + word
	}
	return fmt.Sprintf("%d days %s", days, word)
}

func sign(x int64) int64 {
	if x < 0 {
		return -1
	}
	return 1
}

// causes keeps an event from coming before what it speaks of: a strike before its line
// was set, a fish in the boat before it struck. Within a trip: one trip is worked out the
// same with or without the events of another.
func (s *Settled) causes() {
	at := make(map[sternfan.EventID]int, len(s.Entries))
	for i := range s.Entries {
		at[s.Entries[i].ID] = i
	}
	after := func(e *Entry, id sternfan.EventID) {
		i, ok := at[id]
		if ok && !id.IsZero() && e.Time < s.Entries[i].Time && tripOf(&e.Event) == tripOf(&s.Entries[i].Event) {
			e.Time = s.Entries[i].Time
		}
	}
	for i := range s.Entries {
		if b, ok := s.Entries[i].Body.(sternfan.Struck); ok {
			after(&s.Entries[i], b.Set)
		}
	}
	for i := range s.Entries {
		switch b := s.Entries[i].Body.(type) {
		case sternfan.Landed:
			after(&s.Entries[i], b.Strike)
		case sternfan.Lost:
			after(&s.Entries[i], b.Strike)
		}
	}
}
