package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"

	"sternfan"
	"sternfan/report"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
)

// request is what a page asks.
type request struct {
	Scenario string   `json:"scenario"`       // text of a scenario file, YAML or JSON
	Name     string   `json:"name,omitempty"` // what faults call it; "scenario" when not given
	Set      []string `json:"set,omitempty"`  // KEY=VALUE, as the program's --set
}

// answer is what it gets: exactly one of the three.
type answer struct {
	Fan    json.RawMessage `json:"fan,omitempty"`
	Faults sternfan.Faults `json:"faults,omitempty"`
	Failed string          `json:"failed,omitempty"`
}

// handle answers one request, always with valid JSON.
func handle(ctx context.Context, text []byte) []byte {
	var req request
	if err := json.Unmarshal(text, &req); err != nil {
		return failed("the request is not valid JSON: " + err.Error())
	}
	fan, err := solve(ctx, &req)
	var faults sternfan.Faults
	switch {
	case errors.As(err, &faults):
		return encode(answer{Faults: faults})
	case err != nil:
		return failed(err.Error())
	}
	var b bytes.Buffer
	if err := report.JSON(&b, fan); err != nil {
		return failed(err.Error())
	}
	return encode(answer{Fan: b.Bytes()})
}

func solve(ctx context.Context, req *request) (*sternfan.Fan, error) {
	name := req.Name
	if name == "" {
		name = "scenario"
	}
	sc, src, err := scenario.DecodeWith(name, []byte(req.Scenario),
		scenario.Options{Known: tackle.Known, List: tackle.Names, Set: req.Set})
	if err != nil {
		return nil, err
	}
	model, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		src.Fill(faults)
		return nil, faults
	}
	return spread.Solve(ctx, model, spread.Options{Intervals: true, Tolerance: sc.Solver.Tolerance})
}

func failed(text string) []byte { return encode(answer{Failed: text}) }

func encode(a answer) []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(a); err != nil {
		panic("sternfan-wasm: an answer cannot be written as JSON: " + err.Error())
	}
	return bytes.TrimSpace(b.Bytes())
}
