package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"
)

// SharedFile is the scenario file that the server was started with.
type SharedFile struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// Share gives the app the scenario file, now and each time that it changes.
func (s *Server) Share(name, text string) {
	s.mu.Lock()
	s.file = &SharedFile{name, text}
	s.mu.Unlock()
	s.events.send("file", s.file)
}

func (s *Server) sharedFile() *SharedFile {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.file
}

func (s *Server) shared(w http.ResponseWriter, _ *http.Request) {
	file := s.sharedFile()
	if file == nil {
		http.Error(w, "no scenario file was given to this server", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	_ = json.NewEncoder(w).Encode(file) // a client that went away
}

// Bounds on streams.
const (
	streamsMost = 64
	beat        = 15 * time.Second
	backlog     = 16
)

// hub hands messages to the streams that listen.
type hub struct {
	mu    sync.Mutex
	subs  map[chan message]bool
	ended chan struct{}
	once  sync.Once
}

type message struct {
	kind string
	data []byte
}

func newHub() *hub { return &hub{subs: map[chan message]bool{}, ended: make(chan struct{})} }

func (h *hub) close() { h.once.Do(func() { close(h.ended) }) }

// join adds a stream; nil when there are too many.
func (h *hub) join() chan message {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.subs) >= streamsMost {
		return nil
	}
	c := make(chan message, backlog)
	h.subs[c] = true
	return c
}

func (h *hub) leave(c chan message) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.subs, c)
}

// send hands a message to every stream; one that does not keep up misses it.
func (h *hub) send(kind string, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		panic("web: a message cannot be written: " + err.Error())
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	for c := range h.subs {
		select {
		case c <- message{kind, data}:
		default:
		}
	}
}

// stream answers GET /api/events: server-sent events "hello" and "file".
func (s *Server) stream(w http.ResponseWriter, r *http.Request) {
	c := s.events.join()
	if c == nil {
		http.Error(w, "too many listen already", http.StatusServiceUnavailable)
		return
	}
	defer s.events.leave(c)
	out := http.NewResponseController(w)
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	put := func(kind string, data []byte) bool {
		// A stream has no end; each of its writes has.
		if err := out.SetWriteDeadline(time.Now().Add(beat)); err != nil {
			return false
		}
		var err error
		if kind == "" {
			_, err = fmt.Fprint(w, ": still here\n\n")
		} else {
			_, err = fmt.Fprintf(w, "event: %s\ndata: %s\n\n", kind, data)
		}
		return err == nil && out.Flush() == nil
	}
	hello, err := json.Marshal(map[string]string{"version": s.opt.Version})
	if err != nil || out.SetReadDeadline(time.Time{}) != nil || !put("hello", hello) {
		return
	}
	if file := s.sharedFile(); file != nil {
		if data, err := json.Marshal(file); err != nil || !put("file", data) {
			return
		}
	}
	tick := time.NewTicker(beat)
	defer tick.Stop()
	for {
		ok := true
		select {
		case <-r.Context().Done():
			return
		case <-s.events.ended:
			return
		case e := <-c:
			ok = put(e.kind, e.data)
		case <-tick.C:
			ok = put("", nil)
		}
		if !ok {
			return
		}
	}
}
