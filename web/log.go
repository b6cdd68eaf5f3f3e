package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"strconv"
	"strings"

	"sternfan/event"

	"sternfan/logbook"
)

// Bounds on one exchange of log events. A phone sends a season in many batches.
const (
	batchBytes  = 8 << 20
	batchEvents = 1000
	chunkEvents = 200 // that become durable together
	pageEvents  = 500
	pageBytes   = 2 << 20
)

// LogAck says what became of one event of a batch.
type LogAck struct {
	ID      string `json:"id"`
	Kept    bool   `json:"kept"`              // it is on the log's disk
	Refused string `json:"refused,omitempty"` // it never will be: why, one sentence
}

// LogTaken is the answer to POST /log/events. Acks are in the order of the batch; an event
// without one was not looked at, and is sent again.
type LogTaken struct {
	Log    string   `json:"log"`    // which log this is: its device name
	Now    int64    `json:"now_ms"` // by the server's clock
	Acks   []LogAck `json:"acks"`
	Failed string   `json:"failed,omitempty"` // why not all of it was taken
}

// LogPage is the answer to GET /log/events.
type LogPage struct {
	Log    string            `json:"log"`
	Now    int64             `json:"now_ms"`
	Events []json.RawMessage `json:"events"` // as they were received, in the order of arrival
	Next   int64             `json:"next"`   // what to ask after next
	More   bool              `json:"more"`   // there is more already
	Anew   bool              `json:"anew"`   // this log has less than was asked after: it is an older copy, so send and fetch everything anew
}

// logRoutes adds the log's own, which answer that there is none without one.
func (s *Server) logRoutes(mux *http.ServeMux) {
	if s.opt.Log == nil {
		mux.HandleFunc("/log/", func(w http.ResponseWriter, _ *http.Request) {
			http.Error(w, "this server keeps no log; start it with --log FILE", http.StatusNotFound)
		})
		return
	}
	mux.HandleFunc("POST /log/events", s.takeEvents)
	mux.HandleFunc("GET /log/events", s.giveEvents)
}

// logCookie tells the app's page that its own address keeps a log, so that it asks no host
// of plain files for one.
const logCookie = "sternfan-log"

// signed lets the page know whether there is a log here.
func (s *Server) signed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, err := r.Cookie(logCookie)
		if has := s.opt.Log != nil; has != (err == nil) {
			c := &http.Cookie{Name: logCookie, Value: "here", Path: "/", MaxAge: int(pairedFor.Seconds()), SameSite: http.SameSiteStrictMode}
			if !has {
				c.MaxAge = -1
			}
			http.SetCookie(w, c)
		}
		next.ServeHTTP(w, r)
	})
}

// takeEvents answers POST /log/events: events as JSON, one after another. Each is on the
// disk when it is acknowledged, and one that cannot be holds up none of the others.
func (s *Server) takeEvents(w http.ResponseWriter, r *http.Request) {
	if t, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || t != Lines {
		http.Error(w, "events are "+Lines, http.StatusUnsupportedMediaType)
		return
	}
	out := LogTaken{Acks: []LogAck{}}
	status, err := s.intake(http.MaxBytesReader(w, r.Body, batchBytes), r, &out)
	if err != nil {
		out.Failed = err.Error()
	}
	reply(w, status, out)
}

func (s *Server) intake(body io.Reader, r *http.Request, out *LogTaken) (status int, err error) {
	out.Now = s.opt.Now().UnixMilli()
	if out.Log, err = s.opt.Log.Device(r.Context()); err != nil {
		return logStatus(err), err
	}
	in := json.NewDecoder(body)
	var chunk []event.Event
	var acks []LogAck
	keep := func() error {
		if _, err := s.opt.Log.Append(r.Context(), chunk...); err != nil {
			return err
		}
		out.Acks = append(out.Acks, acks...)
		chunk, acks = nil, nil
		return nil
	}
	for n := 0; ; n++ {
		var text json.RawMessage
		err := in.Decode(&text)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil || n == batchEvents {
			// What came before is whole: it is kept all the same.
			if full := keep(); full != nil {
				return logStatus(full), full
			}
			return badBatch(err)
		}
		e, err := event.Decode(text)
		if err != nil {
			acks = append(acks, LogAck{ID: idIn(text), Refused: err.Error()})
		} else {
			chunk = append(chunk, e)
			acks = append(acks, LogAck{ID: e.ID.String(), Kept: true})
		}
		if len(acks) < chunkEvents {
			continue
		}
		if err := keep(); err != nil {
			return logStatus(err), err
		}
	}
	if err := keep(); err != nil {
		return logStatus(err), err
	}
	return http.StatusOK, nil
}

// badBatch says what is wrong with a batch that ends too early or not at all.
func badBatch(err error) (int, error) {
	var large *http.MaxBytesError
	switch {
	case err == nil, errors.As(err, &large):
		return http.StatusRequestEntityTooLarge, errors.New("the batch is too large; send the rest in another")
	}
	return http.StatusBadRequest, errors.New("the batch was cut short or is not JSON")
}

// idIn returns the id that a faulty event gives itself, as far as there is one.
func idIn(text []byte) string {
	var named struct {
		ID string `json:"id"`
	}
	if json.Unmarshal(text, &named) != nil || len(named.ID) > 64 {
		return ""
	}
	return named.ID
}

// logStatus returns what an error of the log is to a phone: 507 keeps its queue until the
// boat's disk has room.
func logStatus(err error) int {
	switch {
	case errors.Is(err, logbook.ErrFull):
		return http.StatusInsufficientStorage
	case errors.Is(err, logbook.ErrBusy):
		return http.StatusServiceUnavailable
	}
	return http.StatusInternalServerError
}

// giveEvents answers GET /log/events?after=N: what arrived after place N. Without after it
// begins with the latest trip, which is what a phone new aboard needs.
func (s *Server) giveEvents(w http.ResponseWriter, r *http.Request) {
	page, texts, err := s.page(r)
	var wrong *strconv.NumError
	switch {
	case errors.As(err, &wrong):
		http.Error(w, "after is the number that an earlier answer gave as next", http.StatusBadRequest)
	case err != nil:
		http.Error(w, err.Error(), logStatus(err))
	default:
		// The events go out byte for byte; an encoder would write them in its own way.
		text, _ := json.Marshal(page) // strings and numbers
		const none = `"events":[]`
		text = bytes.Replace(text, []byte(none), []byte(none[:len(none)-1]+strings.Join(texts, ",")+"]"), 1)
		answer(w, http.StatusOK, text)
	}
}

// page returns what arrived after a place, and the texts of its events beside it.
func (s *Server) page(r *http.Request) (*LogPage, []string, error) {
	ctx, l := r.Context(), s.opt.Log
	page := &LogPage{Now: s.opt.Now().UnixMilli(), Events: []json.RawMessage{}}
	var err error
	if page.Log, err = l.Device(ctx); err != nil {
		return nil, nil, err
	}
	last, err := l.Last(ctx)
	if err != nil {
		return nil, nil, err
	}
	after := r.URL.Query().Get("after")
	if after == "" {
		page.Next, err = s.latestTrip(r)
	} else {
		page.Next, err = strconv.ParseInt(after, 10, 64)
	}
	if err != nil {
		return nil, nil, err
	}
	if page.Next > last {
		page.Next, page.Anew, page.More = 0, true, last > 0
		return page, nil, nil
	}
	var texts []string
	size := 0
	err = l.Each(ctx, logbook.Filter{Since: page.Next, Limit: pageEvents + 1}, func(a logbook.Arrived) bool {
		text := a.Text()
		if len(texts) == pageEvents || size > 0 && size+len(text) > pageBytes {
			page.More = true
			return false
		}
		size += len(text)
		page.Next = a.Seq
		texts = append(texts, text)
		return true
	})
	return page, texts, err
}

// latestTrip returns the place in the order of arrival before the latest trip's first
// event.
func (s *Server) latestTrip(r *http.Request) (int64, error) {
	o, err := s.opt.Log.Latest(r.Context())
	if err != nil || o == nil {
		return 0, err
	}
	var before int64
	err = s.opt.Log.Each(r.Context(), logbook.Filter{Trip: &o.Trip, Limit: 1}, func(a logbook.Arrived) bool {
		before = a.Seq - 1
		return false
	})
	return before, err
}

func reply(w http.ResponseWriter, status int, v any) {
	text, _ := json.Marshal(v) // strings and numbers
	answer(w, status, text)
}

func answer(w http.ResponseWriter, status int, text []byte) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, _ = w.Write(text) // a client that went away
}
