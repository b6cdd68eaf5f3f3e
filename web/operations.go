package web

import (
	"context"
	"errors"
	"io"
	"mime"
	"net/http"
	"runtime"
	"strings"

	"sternfan"
	"sternfan/engine"
)

// engines are as many as there are processors: each answers one request at a time.
type engines chan *engine.Engine

func newEngines() engines {
	n := max(1, runtime.GOMAXPROCS(0))
	e := make(engines, n)
	for range n {
		e <- new(engine.Engine)
	}
	return e
}

// Lines is the media type of an answer with its progress: a line of JSON
// {"progress": ...} for each step, and then the reply.
const Lines = "application/x-ndjson"

// operation answers POST /api/{op}.
func (s *Server) operation(w http.ResponseWriter, r *http.Request) {
	if t, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || t != "application/json" {
		http.Error(w, "a request is application/json", http.StatusUnsupportedMediaType)
		return
	}
	ask, err := io.ReadAll(http.MaxBytesReader(w, r.Body, engine.MaxAsk))
	if err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			http.Error(w, "the request is too large", http.StatusRequestEntityTooLarge)
			return
		}
		http.Error(w, "the request was cut short", http.StatusBadRequest)
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), answerTime)
	defer cancel()
	var worker *engine.Engine
	select {
	case worker = <-s.engines:
	case <-ctx.Done():
		http.Error(w, "the engine is busy", http.StatusServiceUnavailable)
		return
	}
	defer func() {
		if fault := recover(); fault != nil {
			worker = new(engine.Engine) // what it remembers may be half done
			s.engines <- worker
			panic(fault)
		}
		s.engines <- worker
	}()
	h := w.Header()
	h.Set("Cache-Control", "no-store")
	if strings.Contains(r.Header.Get("Accept"), Lines) {
		h.Set("Content-Type", Lines)
		out := http.NewResponseController(w)
		answer, err := worker.Do(ctx, r.PathValue("op"), ask, func(p engine.Progress) {
			line := append(append([]byte(`{"progress":`), engine.MarshalProgress(p)...), '}', '\n')
			if _, err := w.Write(line); err != nil || out.Flush() != nil {
				cancel() // nobody listens
			}
		})
		_, _ = w.Write(append(engine.Encode(answer, err), '\n'))
		return
	}
	answer, err := worker.Do(ctx, r.PathValue("op"), ask, nil)
	h.Set("Content-Type", "application/json")
	w.WriteHeader(statusOf(err))
	_, _ = w.Write(engine.Encode(answer, err))
}

func statusOf(err error) int {
	var (
		faults  sternfan.Faults
		unknown *engine.UnknownOp
		bad     *engine.BadAsk
	)
	switch {
	case err == nil:
		return http.StatusOK
	case errors.As(err, &faults):
		return http.StatusUnprocessableEntity
	case errors.As(err, &unknown):
		return http.StatusNotFound
	case errors.As(err, &bad):
		return http.StatusBadRequest
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		return http.StatusServiceUnavailable
	}
	return http.StatusInternalServerError
}
