// Package web serves the app: its files, compressed into the program; the engine's
// operations over HTTP; a stream of events; and the trip log of the boat's phones. It listens to this machine alone unless
// told otherwise, and then lets in only who has entered the pairing code.
package web

import (
	"context"
	"net"
	"net/http"
	"sync"
	"time"

	"sternfan/logbook"
)

// Options are what a server is made of. The zero value serves this machine alone, with
// the app that was built in.
type Options struct {
	Files   *Files           // the app; nil: a page that says how to build it
	Hosts   []string         // names and addresses, without port, by which others may call; loopback is always there
	Code    string           // pairing code for callers from other machines; "": none is let in
	Key     []byte           // signs the cookies of paired callers; 32 random bytes
	Log     *logbook.Log     // the trip log that phones hand their entries to; nil: none
	Now     func() time.Time // nil: the clock
	Version string
}

// Bounds on what a stranger can hold of the server.
const (
	headerTime  = 5 * time.Second   // to send a request's header
	readTime    = 30 * time.Second  // to send all of it
	answerTime  = 60 * time.Second  // to work and take the answer
	idleTime    = 120 * time.Second // between requests
	headerBytes = 16 << 10
	connections = 256
	graceTime   = 5 * time.Second // for answers under way at the end
)

// Server is the app's server.
type Server struct {
	opt     Options
	hosts   map[string]bool
	pairs   *pairing
	events  *hub
	engines engines
	handler http.Handler
	mu      sync.Mutex
	file    *SharedFile
}

// New returns a server.
func New(opt Options) *Server {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	s := &Server{opt: opt, hosts: map[string]bool{"localhost": true, "127.0.0.1": true, "::1": true}, events: newHub(), engines: newEngines()}
	for _, h := range opt.Hosts {
		s.hosts[h] = true
	}
	s.pairs = newPairing(opt)
	mux := http.NewServeMux()
	mux.HandleFunc("POST /api/{op}", s.operation)
	mux.HandleFunc("GET /api/file", s.shared)
	mux.HandleFunc("GET /api/events", s.stream)
	mux.HandleFunc("/api/", func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "there is no such operation; ask by POST /api/NAME", http.StatusNotFound)
	})
	s.logRoutes(mux)
	if opt.Files != nil {
		mux.Handle("/", s.signed(opt.Files))
	} else {
		mux.HandleFunc("/{$}", notBuilt)
	}
	s.handler = s.guard(mux)
	return s
}

// Handler returns the server without its listener.
func (s *Server) Handler() http.Handler { return s.handler }

// Serve answers on the listener until ctx ends, then finishes what is under way. It
// returns nil after an orderly end.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	streams, end := context.WithCancel(context.Background())
	defer end()
	srv := &http.Server{
		Handler:           s.handler,
		ReadHeaderTimeout: headerTime,
		ReadTimeout:       readTime,
		WriteTimeout:      answerTime,
		IdleTimeout:       idleTime,
		MaxHeaderBytes:    headerBytes,
		ErrorLog:          nil,
		BaseContext:       func(net.Listener) context.Context { return streams },
	}
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(limit(l, connections)) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	s.events.close() // streams never end by themselves
	grace, cancel := context.WithTimeout(context.Background(), graceTime)
	defer cancel()
	if err := srv.Shutdown(grace); err != nil {
		err = srv.Close() // what is still under way ends here
		<-failed
		return err
	}
	<-failed
	return nil
}

// limit returns a listener with at most n connections open at once; others wait.
func limit(l net.Listener, n int) net.Listener {
	return &limited{Listener: l, free: make(chan struct{}, n)}
}

type limited struct {
	net.Listener
	free chan struct{}
}

// Accept waits until a connection is free.
func (l *limited) Accept() (net.Conn, error) {
	l.free <- struct{}{}
	c, err := l.Listener.Accept()
	if err != nil {
		<-l.free
		return nil, err
	}
	return &counted{Conn: c, free: l.free}, nil
}

type counted struct {
	net.Conn
	once sync.Once
	free chan struct{}
}

// Close gives the place back, once.
func (c *counted) Close() error {
	err := c.Conn.Close()
	c.once.Do(func() { <-c.free })
	return err
}

func notBuilt(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(http.StatusNotImplemented)
	_, _ = w.Write([]byte(`<!doctype html><html lang="en-US"><meta charset="utf-8"><title>sternfan</title>
<p>This program was built without the app. In the project's folder, <code>make app</code> builds it in and serves it.</p>`))
}
