package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"sternfan/engine"

	"sternfan"
)

// say prints one line to a person with the program's name before it. There is nobody to
// tell when that fails.
func say(w io.Writer, format string, args ...any) {
	_, _ = fmt.Fprintf(w, "sternfan: "+format+"\n", args...)
}

// printFaults prints a line per fault, as editors read them, and what to do next.
func printFaults(w io.Writer, faults sternfan.Faults) {
	for _, f := range faults {
		_, _ = fmt.Fprintln(w, f.Error())
	}
	if len(faults) == 1 {
		say(w, "1 fault; mend it and run again")
		return
	}
	hint := " (sternfan check FILE lists them without solving)"
	if ending := filepath.Ext(faults[0].File); ending != ".yaml" && ending != ".yml" && ending != ".json" {
		hint = "" // rows or events, not a scenario
	}
	say(w, "%d faults; mend them and run again%s", len(faults), hint)
}

// blame gives the flag as the place of faults that have none.
func blame(err error, flag string) error {
	var faults sternfan.Faults
	if !errors.As(err, &faults) {
		return err
	}
	faults = slices.Clone(faults)
	for i := range faults {
		if faults[i].File == "" {
			faults[i].File = flag
		}
	}
	return faults
}

// flagged words a fault of the question itself as one of the flag that it came from.
func flagged(err error) error {
	f, ok := askFault(err)
	if !ok {
		return err
	}
	if f.Path != "" {
		f.Text = "--" + f.Path + " " + f.Text
	}
	return &usageError{f.Text, f.Hint}
}

// askFault returns the fault of a question itself, if that is what an error is.
func askFault(err error) (sternfan.Fault, bool) {
	var faults sternfan.Faults
	if !errors.As(err, &faults) || len(faults) != 1 || faults[0].Code != engine.AskFault {
		return sternfan.Fault{}, false
	}
	return faults[0], true
}

func writeFaultsJSON(w io.Writer, faults sternfan.Faults) error {
	if faults == nil {
		faults = sternfan.Faults{} // an empty list, not null
	}
	out := struct {
		Faults sternfan.Faults `json:"faults"`
	}{faults}
	return json.NewEncoder(w).Encode(out)
}
