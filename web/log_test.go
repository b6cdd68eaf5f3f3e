package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"sternfan/event"

	"sternfan/internal/logtest"
	"sternfan/logbook"
	"sternfan/trip"

	"pgregory.net/rapid"
)

var july = time.Date(2026, 7, 4, 10, 0, 0, 0, time.UTC).UnixMilli()

func openLog(t testing.TB, path string, opt logbook.Options) *logbook.Log {
	t.Helper()
	l, err := logbook.Open(t.Context(), path, opt)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func logServer(t testing.TB, l *logbook.Log) *Server {
	t.Helper()
	return New(Options{Files: packedApp(t), Hosts: []string{"192.168.7.4"}, Code: code, Key: bytes.Repeat([]byte{7}, 32), Log: l, Version: "test"})
}

func lines(t failer, events []event.Event) io.Reader {
	t.Helper()
	text, err := event.EncodeAll(events)
	if err != nil {
		t.Fatal(err)
	}
	return bytes.NewReader(text)
}

func taken(t failer, r *httptest.ResponseRecorder) LogTaken {
	t.Helper()
	var got LogTaken
	if err := json.Unmarshal(r.Body.Bytes(), &got); err != nil {
		t.Fatalf("%d %s: %v", r.Code, r.Body, err)
	}
	return got
}

// failer is a test, also one of many worlds.
type failer interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
}

// phone is a device of the crew's: it writes at any time, and hands on when it can.
type phone struct {
	*logtest.Maker
	have    map[event.ID]event.Event
	waiting []event.ID
	after   string
}

func newPhone(by string, now int64, seed uint64) *phone {
	return &phone{Maker: logtest.NewMaker(by, now, seed), have: map[event.ID]event.Event{}}
}

func (p *phone) write(rod string, b event.Body) event.ID {
	p.Wait(1)
	e := p.Event(rod, b)
	p.have[e.ID] = e
	p.waiting = append(p.waiting, e.ID)
	return e.ID
}

// link is the air between: what is lost in it and when.
type link struct {
	s                *Server
	askLost, endLost bool // the request never arrives; the answer never does
}

func (l link) do(method, target string, body io.Reader) (*httptest.ResponseRecorder, bool) {
	if l.askLost {
		return nil, false
	}
	r := ask(l.s, method, target, "", body, "Content-Type", Lines)
	return r, !l.endLost
}

// push hands on some of what waits.
func (p *phone) push(t failer, l link, most int) {
	var batch []event.Event
	for _, id := range p.waiting[:min(most, len(p.waiting))] {
		batch = append(batch, p.have[id])
	}
	r, ok := l.do(http.MethodPost, "/log/events", lines(t, batch))
	if !ok {
		return
	}
	for _, a := range taken(t, r).Acks {
		if a.Refused != "" {
			t.Fatalf("%s refused: %s", a.ID, a.Refused)
		}
		p.waiting = slices.DeleteFunc(p.waiting, func(id event.ID) bool { return id.String() == a.ID })
	}
}

// pull fetches what is new, and reports whether there is more.
func (p *phone) pull(t failer, l link) bool {
	target := "/log/events"
	if p.after != "" {
		target += "?after=" + p.after
	}
	r, ok := l.do(http.MethodGet, target, nil)
	if !ok {
		return true
	}
	var page LogPage
	if err := json.Unmarshal(r.Body.Bytes(), &page); err != nil {
		t.Fatalf("%d %s: %v", r.Code, r.Body, err)
	}
	for _, text := range page.Events {
		e, err := event.Decode(text)
		if err != nil {
			t.Fatal(err)
		}
		if _, known := p.have[e.ID]; !known {
			p.have[e.ID] = e
		}
		if p.Trip.IsZero() && e.Kind() == event.KindTripBegins {
			p.Trip = e.ID // it joins
		}
	}
	p.after = fmt.Sprint(page.Next)
	return page.More
}

func (p *phone) all() []event.Event {
	var out []event.Event
	for _, e := range p.have {
		out = append(out, e)
	}
	return out
}

// text is a log and a trip's state as one text, to be compared.
func text(t failer, id event.ID, events []event.Event) string {
	t.Helper()
	merged, clashes := trip.Merge(events)
	if len(clashes) > 0 {
		t.Fatalf("%d clashes", len(clashes))
	}
	all, err := event.EncodeAll(merged)
	if err != nil {
		t.Fatal(err)
	}
	o := trip.Project(id, merged)
	state, err := json.Marshal(struct {
		*trip.Outing
		Hours float64
	}{o, 0})
	if err != nil {
		t.Fatal(err)
	}
	return string(all) + string(state)
}

// Two phones and a server, cut off from one another at random, asks and answers lost, a
// clock wrong by a day: they come to one state, and nothing is dropped.
func TestTwoPhonesOneState(t *testing.T) {
	dir := t.TempDir()
	n := 0
	rapid.Check(t, func(rt *rapid.T) {
		n++
		l := openLog(t, filepath.Join(dir, fmt.Sprintf("%d.db", n)), logbook.Options{})
		defer l.Close()
		s := logServer(t, l)
		wrong := rapid.SampledFrom([]int64{0, 24 * 3600_000, -24 * 3600_000}).Draw(rt, "clock of b wrong by")
		a, b := newPhone("phone-a", july, 1), newPhone("phone-b", july+wrong, 2)
		begun := a.write("", event.TripBegins{Name: "invented day", Anglers: 3})
		b.Trip = begun // told on deck; it need not have the event
		wrote := 1
		strikes := map[*phone][]event.ID{}
		for range rapid.IntRange(5, 30).Draw(rt, "steps") {
			p := rapid.SampledFrom([]*phone{a, b}).Draw(rt, "who")
			rod := fmt.Sprintf("rod-%d", rapid.IntRange(1, 3).Draw(rt, "rod"))
			air := link{s: s, askLost: rapid.IntRange(0, 3).Draw(rt, "ask") == 0, endLost: rapid.IntRange(0, 3).Draw(rt, "answer") == 0}
			switch rapid.IntRange(0, 8).Draw(rt, "does") {
			case 0, 1:
				p.write(rod, p.Line(1))
			case 2:
				strikes[p] = append(strikes[p], p.write(rod, event.Strike{}))
			case 3:
				p.write(rod, event.Landed{Species: "king salmon", Fate: event.Kept})
			case 4:
				if mine := strikes[p]; len(mine) > 0 {
					p.write("", event.Fix{Of: mine[len(mine)-1], Void: true})
				} else {
					p.write(rod, event.LineChecked{})
				}
			case 5, 6:
				p.push(rt, air, rapid.IntRange(1, 5).Draw(rt, "most"))
				continue
			default:
				p.pull(rt, air)
				continue
			}
			wrote++
		}
		// Back in range, all of them.
		for _, p := range []*phone{a, b, a} {
			for len(p.waiting) > 0 {
				p.push(rt, link{s: s}, 7)
			}
			for p.pull(rt, link{s: s}) {
			}
		}
		kept, err := l.Events(t.Context(), logbook.Filter{})
		if err != nil {
			rt.Fatal(err)
		}
		if len(kept) != wrote {
			rt.Fatalf("%d events at the server, %d were written", len(kept), wrote)
		}
		want := text(rt, begun, kept)
		for _, p := range []*phone{a, b} {
			if got := text(rt, begun, p.all()); got != want {
				rt.Fatalf("%s:\n%s\nserver:\n%s", p.By, got, want)
			}
		}
		outing, err := l.Outing(t.Context(), begun)
		if err != nil {
			rt.Fatal(err)
		}
		if hours := float64(outing.To-outing.From) / 3600_000; hours > 2 {
			rt.Fatalf("a trip of under an hour lasts %.1f h: the clock wrong by a day was not seen through", hours)
		}
	})
}

// The disk is full: 507, what was acknowledged is there, the phone keeps the rest, and
// with room again all of it goes through.
func TestFullDiskKeepsTheQueue(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	l := openLog(t, path, logbook.Options{MaxPages: 60})
	p := newPhone("phone-a", july, 3)
	for _, e := range p.Day("invented day", 4, 300) {
		p.have[e.ID] = e
		p.waiting = append(p.waiting, e.ID)
	}
	all := len(p.waiting)
	s := logServer(t, l)
	for {
		var batch []event.Event
		for _, id := range p.waiting[:min(20, len(p.waiting))] {
			batch = append(batch, p.have[id])
		}
		r := ask(s, http.MethodPost, "/log/events", "", lines(t, batch), "Content-Type", Lines)
		if r.Code == http.StatusInsufficientStorage {
			got := taken(t, r)
			if len(got.Acks) != 0 || !strings.Contains(got.Failed, "no room left") {
				t.Fatalf("%+v", got)
			}
			break
		}
		if r.Code != http.StatusOK {
			t.Fatalf("%d %s", r.Code, r.Body)
		}
		before := len(p.waiting)
		p.push(t, link{s: s}, 20)
		if len(p.waiting) == before {
			t.Fatal("nothing went through, and nothing was said")
		}
	}
	if len(p.waiting) == 0 || len(p.waiting) == all {
		t.Fatalf("%d of %d wait", len(p.waiting), all)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	l = openLog(t, path, logbook.Options{})
	defer l.Close()
	if kept, err := l.Events(t.Context(), logbook.Filter{}); err != nil || len(kept) != all-len(p.waiting) {
		t.Errorf("%d events kept, %d acknowledged: %v", len(kept), all-len(p.waiting), err)
	}
	s = logServer(t, l)
	for len(p.waiting) > 0 {
		p.push(t, link{s: s}, 100)
	}
	if kept, err := l.Events(t.Context(), logbook.Filter{}); err != nil || len(kept) != all {
		t.Errorf("%d of %d events: %v", len(kept), all, err)
	}
}

// What this version does not know of an event goes to the other phones as it came, byte for
// byte; the same event in another phone's writing is the same.
func TestGrownEventsGoToOtherPhones(t *testing.T) {
	l := openLog(t, filepath.Join(t.TempDir(), "log.db"), logbook.Options{})
	defer l.Close()
	s := logServer(t, l)
	texts := []string{
		`{"id":"01JZ00000000000000000000B2","at":"2026-07-04T06:00:00.000-04:00","by":"x","kind":"note","version":9,"moon":[ 1.50,"<&>" ],"body":{"text":"x","loud":{}}}`,
		`{"body":{"kg":1e2},"id":"01JZ00000000000000000000C3","at":"2026-07-04T06:00:00.000-04:00","by":"x","kind":"weighed"}`,
	}
	other := `{"kind":"weighed","by":"x","id":"01jz00000000000000000000c3","at":"2026-07-04T06:00:00.000-04:00","body":{"kg":100}}`
	r := ask(s, http.MethodPost, "/log/events", "", strings.NewReader(strings.Join(append(texts, other), "\n")), "Content-Type", Lines)
	got := taken(t, r)
	if len(got.Acks) != 3 || !got.Acks[0].Kept || !got.Acks[1].Kept || !got.Acks[2].Kept {
		t.Fatalf("%d %+v", r.Code, got)
	}
	r = ask(s, http.MethodGet, "/log/events?after=0", "", nil)
	if want := `"events":[` + strings.Join(texts, ",") + `],`; !strings.Contains(r.Body.String(), want) {
		t.Errorf("%s\nwant\n%s", r.Body, want)
	}
	if v, err := l.Verify(t.Context()); err != nil || v.Clashes > 0 || len(v.Faults) > 0 {
		t.Errorf("%+v %v", v, err)
	}
}

// What is no event holds up none of the others; what is no batch is refused.
func TestFaultyBatches(t *testing.T) {
	l := openLog(t, filepath.Join(t.TempDir(), "log.db"), logbook.Options{})
	defer l.Close()
	s := logServer(t, l)
	m := logtest.NewMaker("phone-a", july, 1)
	good, more := m.Event("", event.Note{Text: "one"}), m.Event("", event.Note{Text: "two"})
	batch := good.Text() + "\n" + `{"id":"01JZZZZZZZZZZZZZZZZZZZZZZZ","at":"2026-07-04T06:00:00-04:00","by":"x","kind":"note","body":{}}` + "\n[1]\n" + more.Text()
	r := ask(s, http.MethodPost, "/log/events", "", strings.NewReader(batch), "Content-Type", Lines)
	got := taken(t, r)
	if r.Code != http.StatusOK || len(got.Acks) != 4 || !got.Acks[0].Kept || got.Acks[1].Kept || got.Acks[1].ID != "01JZZZZZZZZZZZZZZZZZZZZZZZ" ||
		!strings.Contains(got.Acks[1].Refused, "a note needs words") || got.Acks[2].Refused == "" || !got.Acks[3].Kept || got.Log == "" || got.Now == 0 {
		t.Errorf("%d %+v", r.Code, got)
	}
	third := m.Event("", event.Note{Text: "three"})
	cut := ask(s, http.MethodPost, "/log/events", "", strings.NewReader(third.Text()+`{"id":`), "Content-Type", Lines)
	if got := taken(t, cut); cut.Code != http.StatusBadRequest || len(got.Acks) != 1 || !got.Acks[0].Kept {
		t.Errorf("cut short: %d %+v", cut.Code, got)
	}
	huge := ask(s, http.MethodPost, "/log/events", "", io.MultiReader(strings.NewReader(`{"id":"`), io.LimitReader(&endless{}, 1<<30)), "Content-Type", Lines)
	if huge.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("1 GB: %d", huge.Code)
	}
	many := strings.Repeat("[]\n", batchEvents+1)
	if r := ask(s, http.MethodPost, "/log/events", "", strings.NewReader(many), "Content-Type", Lines); r.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("%d events: %d", batchEvents+1, r.Code)
	}
	for _, c := range []struct {
		method, target, from, typ string
		want                      int
	}{
		{http.MethodPost, "/log/events", "192.168.7.9:1", Lines, http.StatusUnauthorized},
		{http.MethodGet, "/log/events", "192.168.7.9:1", "", http.StatusUnauthorized},
		{http.MethodPost, "/log/events", "", "text/plain", http.StatusUnsupportedMediaType},
		{http.MethodGet, "/log/events?after=tea", "", "", http.StatusBadRequest},
		{http.MethodGet, "/log/events?after=99999", "", "", http.StatusOK},
		{http.MethodDelete, "/log/events", "", "", http.StatusMethodNotAllowed},
	} {
		if r := ask(s, c.method, c.target, c.from, strings.NewReader("{}"), "Content-Type", c.typ); r.Code != c.want {
			t.Errorf("%s %s from %q as %q: %d, want %d", c.method, c.target, c.from, c.typ, r.Code, c.want)
		}
	}
	foreign := ask(s, http.MethodPost, "/log/events", "", lines(t, []event.Event{third}), "Content-Type", Lines, "Origin", "https://elsewhere.example")
	if foreign.Code != http.StatusForbidden {
		t.Errorf("from a foreign page: %d", foreign.Code)
	}
	if events, err := l.Events(t.Context(), logbook.Filter{}); err != nil || len(events) != 3 {
		t.Errorf("%d events: %v", len(events), err)
	}
}

// A phone new aboard gets the trip under way, not the seasons before it; one that has
// seen more than the log holds (an older copy put in its place) begins anew.
func TestWhatAPhoneGets(t *testing.T) {
	l := openLog(t, filepath.Join(t.TempDir(), "log.db"), logbook.Options{})
	defer l.Close()
	s := logServer(t, l)
	m := logtest.NewMaker("helm", july, 1)
	first := m.Day("the day before", 3, 40)
	m.Wait(18 * 60)
	second := m.Day("today", 3, 10)
	for _, day := range [][]event.Event{first, second} {
		if _, err := l.Append(t.Context(), day...); err != nil {
			t.Fatal(err)
		}
	}
	p := newPhone("phone-a", july, 9)
	for p.pull(t, link{s: s}) {
	}
	if len(p.have) != len(second) {
		t.Errorf("%d events, today has %d", len(p.have), len(second))
	}
	p.after = "0"
	for p.pull(t, link{s: s}) {
	}
	if len(p.have) != len(first)+len(second) {
		t.Errorf("%d events of %d", len(p.have), len(first)+len(second))
	}
	var page LogPage
	r := ask(s, http.MethodGet, "/log/events?after=100000", "", nil)
	if err := json.Unmarshal(r.Body.Bytes(), &page); err != nil || !page.Anew || page.Next != 0 || !page.More {
		t.Errorf("%s: %v", r.Body, err)
	}
}

// The page learns from a cookie that there is a log behind its own address.
func TestTheAppKnowsOfTheLog(t *testing.T) {
	l := openLog(t, filepath.Join(t.TempDir(), "log.db"), logbook.Options{})
	defer l.Close()
	with := logServer(t, l)
	if c := ask(with, http.MethodGet, "/", "", nil).Header().Get("Set-Cookie"); !strings.Contains(c, logCookie+"=here") || strings.Contains(c, "HttpOnly") {
		t.Errorf("with a log: %q", c)
	}
	if c := ask(with, http.MethodGet, "/", "", nil, "Cookie", logCookie+"=here").Header().Get("Set-Cookie"); c != "" {
		t.Errorf("known already: %q", c)
	}
	without, _ := newTest(t)
	if c := ask(without, http.MethodGet, "/", "", nil, "Cookie", logCookie+"=here").Header().Get("Set-Cookie"); !strings.Contains(c, "Max-Age=0") {
		t.Errorf("without a log any more: %q", c)
	}
	if r := ask(without, http.MethodGet, "/log/events", "", nil); r.Code != http.StatusNotFound || !strings.Contains(r.Body.String(), "--log") {
		t.Errorf("%d %s", r.Code, r.Body)
	}
}
