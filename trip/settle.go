package trip

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sternfan/event"
)

// Entry is an event as it stands after corrections.
type Entry struct {
	event.Event            // with every correction in it
	Time        int64      // milliseconds since 1970, with the clock put right
	Fixes       []event.ID // what corrected it, latest first
	Void        bool       // it never happened
}

// Notice is something about a log that a person should know.
type Notice struct {
	Code string   `json:"code"`
	ID   event.ID `json:"id,omitzero"` // the event that it is about
	Text string   `json:"text"`
	Hint string   `json:"hint,omitzero"`
}

// Settled is a log with its corrections applied, in order of time.
type Settled struct {
	Entries []Entry // what happened; corrections, clocks and solutions are in it, not entries of their own
	Voided  []Entry // what was taken back
	Unknown []Entry // of kinds that this version does not know; they take part in nothing
	Joined  []Joined
	Notices []Notice
}

// Joined is a trip that was begun apart, on another device, and turned out to be part of
// this one.
type Joined struct {
	Trip event.ID      `json:"trip"` // the event that began it
	To   event.ID      `json:"to"`
	Fix  event.ID      `json:"fix"` // what joined it; to take that back parts them again
	Name string        `json:"name,omitzero"`
	By   string        `json:"by"`
	At   event.Instant `json:"at"`
}

// Settle applies corrections, solutions and clocks to events in any order, and puts what
// happened in order of time.
func Settle(events []event.Event) *Settled {
	merged, clashes := Merge(events)
	s := &Settled{}
	s.beyond(merged)
	for _, c := range clashes {
		s.notice("clash", c.ID, "two different events have this id; one of them is left aside", "look at what the device "+c.By+" wrote then, and add it again")
	}
	byID := make(map[event.ID]int, len(merged))
	for i := range merged {
		byID[merged[i].ID] = i
	}
	fixes := s.corrections(merged, byID)
	clocks := clocksOf(merged, fixes)
	fans := solutions(merged, fixes)
	joined := s.joins(merged, fixes)
	for _, e := range merged {
		switch e.Body.(type) {
		case event.Fix, event.Clock, event.Solved:
			continue
		}
		entry := Entry{Event: e}
		f := fixes[e.ID]
		if f != nil {
			entry.Fixes, entry.Void = f.by, f.void
			s.apply(f, &entry.Event)
		}
		entry.Time = entry.At.Milli
		if f == nil || f.at == nil {
			entry.Time += clocks.shift(&entry.Event, e.At)
		}
		if fan := fans[e.ID]; fan != nil {
			entry.Body = withFan(entry.Body, fan)
			entry.Changed()
		}
		if to, ok := joined[tripOf(&entry.Event)]; ok {
			join(&entry.Event, to)
		}
		_, unknown := entry.Body.(event.Unknown)
		switch {
		case entry.Void:
			s.Voided = append(s.Voided, entry)
		case unknown:
			s.Unknown = append(s.Unknown, entry)
		default:
			s.Entries = append(s.Entries, entry)
		}
	}
	s.slips()
	s.causes()
	order(s.Entries)
	order(s.Voided)
	order(s.Unknown)
	return s
}

// beyond says what of the events this version does not understand.
func (s *Settled) beyond(all []event.Event) {
	var unknown, more []event.ID
	var kinds []string
	for i := range all {
		e := &all[i]
		switch b := e.Body.(type) {
		case event.Unknown:
			unknown = append(unknown, e.ID)
			if !slices.Contains(kinds, string(b.Kind)) {
				kinds = append(kinds, string(b.Kind))
			}
		default:
			if len(e.NotUnderstood()) > 0 || e.NewerVersion() > 0 {
				more = append(more, e.ID)
			}
		}
	}
	const hint = "it is kept and passed on; a newer version of the program reads it"
	slices.Sort(kinds)
	if n := len(unknown); n > 0 {
		s.notice("unknown-kind", unknown[0], count(n, "entry is", "entries are")+" of a kind that this version does not know ("+strings.Join(kinds, ", ")+") and count in nothing", hint)
	}
	if n := len(more); n > 0 {
		s.notice("unknown-member", more[0], count(n, "entry holds", "entries hold")+" something that this version does not understand", hint)
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func (s *Settled) notice(code string, id event.ID, text, hint string) {
	s.Notices = append(s.Notices, Notice{code, id, text, hint})
}

// order sorts by time; at one moment by what comes first on a day, then by id.
func order(entries []Entry) {
	slices.SortFunc(entries, func(a, b Entry) int {
		return cmp.Or(cmp.Compare(a.Time, b.Time), cmp.Compare(rank(a.Body), rank(b.Body)), a.ID.Compare(b.ID))
	})
}

func rank(b event.Body) int {
	switch b.(type) {
	case event.TripBegins:
		return 0
	case event.Conditions:
		return 1
	case event.TripEnds:
		return 9
	case event.Landed, event.Lost:
		return 3
	}
	return 2
}

// fixed is what corrections say of one event.
type fixed struct {
	void   bool
	by     []event.ID
	at     *event.Instant
	trip   *event.ID
	rod    *string
	bodies []bodyFix // latest first, down to the last that gives the whole body

	joinedBy event.ID // the fix that trip is from
}

// bodyFix is a correction of an event's body.
type bodyFix struct {
	id  event.ID
	fix event.Fix
}

// apply corrects an event. Corrections of its body that cannot be are noted.
func (s *Settled) apply(f *fixed, e *event.Event) {
	if f.at != nil {
		e.At = *f.at
	}
	if f.trip != nil {
		e.Trip = *f.trip
	}
	if f.rod != nil {
		e.Rod = *f.rod
	}
	if f.at != nil || f.trip != nil || f.rod != nil {
		e.Changed()
	}
	for _, b := range slices.Backward(f.bodies) {
		// Other events name a trip by the event that begins it, so no event becomes one, or
		// ceases to be one.
		if (e.Kind() == event.KindTripBegins) != (b.fix.To == event.KindTripBegins) {
			continue
		}
		if err := e.Correct(&b.fix); err != nil {
			s.notice("bad-fix", b.id, "what this correction says cannot be read: "+err.Error(), "correct it again")
		}
	}
}

// corrections gathers what is said of each event. Fixes are taken from the latest id
// down, so that one has been voided, or not, before its own word counts.
func (s *Settled) corrections(merged []event.Event, byID map[event.ID]int) map[event.ID]*fixed {
	out := map[event.ID]*fixed{}
	for i := len(merged) - 1; i >= 0; i-- {
		fix, ok := merged[i].Body.(event.Fix)
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
			s.notice("unknown-event", id, "this corrects an event that is not here", "it will count when the device that has it sends its log")
		case target >= i:
			if _, of := merged[target].Body.(event.Fix); of {
				s.notice("early-fix", id, "this corrects a correction that was made after it, and does not count", "correct it again")
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
		if n := len(f.bodies); fix.To != "" && (n == 0 || len(f.bodies[n-1].fix.Body) == 0) {
			f.bodies = append(f.bodies, bodyFix{id, fix})
		}
	}
	return out
}

// joins returns the trips that were joined to others, each with the one that it ends up
// in. Trips that were joined in a circle stay apart.
func (s *Settled) joins(merged []event.Event, fixes map[event.ID]*fixed) map[event.ID]event.ID {
	to := map[event.ID]event.ID{}
	for i := range merged {
		e := &merged[i]
		_, begins := e.Body.(event.TripBegins)
		if f := fixes[e.ID]; begins && f != nil && f.trip != nil && !f.trip.IsZero() && *f.trip != e.ID {
			to[e.ID] = *f.trip
		}
	}
	out := map[event.ID]event.ID{}
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
		(&Settled{}).apply(f, &one) // what is wrong is noted where it is settled
		s.Joined = append(s.Joined, Joined{Trip: e.ID, To: end, Fix: f.joinedBy, Name: one.Body.(event.TripBegins).Name, By: e.By, At: one.At})
	}
	return out
}

// join makes an event part of the trip that its own was joined to. That begins and ends by
// itself: of the beginning and the end of the other a note is left.
func join(e *event.Event, to event.ID) {
	e.Trip = to
	switch b := e.Body.(type) {
	case event.TripBegins:
		e.Replace(event.Note{Text: strings.TrimSpace("joined trip begun " + b.Name)})
	case event.TripEnds:
		e.Replace(event.Note{Text: strings.TrimSpace("joined trip ended " + b.Note)})
	default:
		e.Changed()
	}
}

// clocks are the devices whose clocks were wrong, by trip; the zero trip is every trip.
type clocks map[clockKey]event.Clock

type clockKey struct {
	device string
	trip   event.ID
}

// clocksOf takes the latest word on each clock.
func clocksOf(merged []event.Event, fixes map[event.ID]*fixed) clocks {
	out := clocks{}
	for _, e := range merged {
		clock, ok := e.Body.(event.Clock)
		if f := fixes[e.ID]; !ok || f != nil && f.void {
			continue
		}
		out[clockKey{clock.Of, e.Trip}] = clock
	}
	return out
}

// shift returns what to add to the time that an event's device showed.
func (c clocks) shift(e *event.Event, showed event.Instant) int64 {
	clock, ok := c.of(e)
	if !ok || clock.Until != nil && showed.Milli >= clock.Until.Milli {
		return 0
	}
	return clock.Shift
}

func (c clocks) of(e *event.Event) (event.Clock, bool) {
	clock, ok := c[clockKey{e.By, tripOf(e)}]
	if !ok {
		clock, ok = c[clockKey{device: e.By}]
	}
	return clock, ok
}

// tripOf returns the trip that an event belongs to: its own id if it begins one.
func tripOf(e *event.Event) event.ID {
	if _, begins := e.Body.(event.TripBegins); begins {
		return e.ID
	}
	return e.Trip
}

// solutions takes the latest solution of each event.
func solutions(merged []event.Event, fixes map[event.ID]*fixed) map[event.ID]*event.Fan {
	out := map[event.ID]*event.Fan{}
	for _, e := range merged {
		solved, ok := e.Body.(event.Solved)
		if f := fixes[e.ID]; ok && (f == nil || !f.void) {
			out[solved.Of] = &solved.Fan
		}
	}
	return out
}

func withFan(b event.Body, fan *event.Fan) event.Body {
	switch b := b.(type) {
	case event.LineSet:
		b.Fan = fan
		return b
	case event.LineChanged:
		b.Fan = fan
		return b
	case event.Strike:
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
	trips := map[event.ID][]int{}
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
	at := make(map[event.ID]int, len(s.Entries))
	for i := range s.Entries {
		at[s.Entries[i].ID] = i
	}
	after := func(e *Entry, id event.ID) {
		i, ok := at[id]
		if ok && !id.IsZero() && e.Time < s.Entries[i].Time && tripOf(&e.Event) == tripOf(&s.Entries[i].Event) {
			e.Time = s.Entries[i].Time
		}
	}
	for i := range s.Entries {
		if b, ok := s.Entries[i].Body.(event.Strike); ok {
			after(&s.Entries[i], b.Set)
		}
	}
	for i := range s.Entries {
		switch b := s.Entries[i].Body.(type) {
		case event.Landed:
			after(&s.Entries[i], b.Strike)
		case event.Lost:
			after(&s.Entries[i], b.Strike)
		}
	}
}
