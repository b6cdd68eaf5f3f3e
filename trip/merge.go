// Package trip makes sense of a log: it joins the logs of several devices, applies the
// corrections, puts events in order whatever the devices' clocks showed, and works out
// what a trip adds up to: which line fished when, with what, and what struck.
//
// All of it is worked out from the events alone, so it can be thrown away and made again
// at any time, and comes out the same on the boat's server and in a phone.
package trip

import (
	"bytes"
	"slices"

	"sternfan/event"
)

// Merge returns the union of the logs in the order of ids, each event once. It does not
// matter in which order logs are given, or how often. Two different events under one id,
// which only a fault can make, are settled the same way everywhere: the one whose canonical
// form comes first in byte order stands, and the other is in clashes.
func Merge(logs ...[]event.Event) (merged, clashes []event.Event) {
	n := 0
	for _, l := range logs {
		n += len(l)
	}
	all := make([]event.Event, 0, n)
	for _, l := range logs {
		all = append(all, l...)
	}
	slices.SortStableFunc(all, func(a, b event.Event) int { return a.ID.Compare(b.ID) })
	merged = all[:0]
	for i := 0; i < len(all); {
		end := i + 1
		for end < len(all) && all[end].ID == all[i].ID {
			end++
		}
		first, rest := settleClash(all[i:end])
		clashes = append(clashes, rest...)
		merged = append(merged, first)
		i = end
	}
	return merged, clashes
}

// settleClash returns the event that stands of several with one id, and the others that
// differ from it, each once, in the order of their canonical forms.
func settleClash(same []event.Event) (first event.Event, rest []event.Event) {
	if !slices.ContainsFunc(same, func(e event.Event) bool { return e.Text() != same[0].Text() }) {
		return same[0], nil
	}
	type form struct {
		event event.Event
		text  []byte
	}
	all := make([]form, len(same))
	for i := range same {
		all[i] = form{same[i], same[i].Canonical()}
	}
	slices.SortStableFunc(all, func(a, b form) int { return bytes.Compare(a.text, b.text) })
	all = slices.CompactFunc(all, func(a, b form) bool { return bytes.Equal(a.text, b.text) })
	for _, e := range all[1:] {
		rest = append(rest, e.event)
	}
	return all[0].event, rest
}

// IDs makes event ids. An id is later than every id that its device has made or seen, so
// that the order of ids respects cause and effect even when clocks are wrong: what was
// written in the knowledge of something comes after it. The zero IDs is ready; it is not
// for use by two goroutines at once.
type IDs struct {
	last event.ID
}

// Saw tells of an id from elsewhere.
func (g *IDs) Saw(id event.ID) {
	if id.Compare(g.last) > 0 {
		g.last = id
	}
}

// farAhead is how far, in milliseconds, an id's time is carried past the clock by ids
// from elsewhere. Past it (a forged id, from the end of time) the clock is believed.
const farAhead = 10 * 366 * 24 * 3600 * 1000

// Next returns a new id for a moment in milliseconds since 1970, with ten random bytes.
func (g *IDs) Next(milli int64, chance [10]byte) event.ID {
	milli = min(max(milli, 0), 1<<48-1)
	if last := g.last.Milli(); milli <= last && last-milli < farAhead && last < 1<<48-1 {
		milli = last + 1
	}
	id := event.MakeID(milli, chance)
	g.last = id
	return id
}
