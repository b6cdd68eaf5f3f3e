//go:build !js

package engine_test

import (
	"encoding/json/v2"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"sternfan"
	"sternfan/engine"
	"sternfan/event"
	"sternfan/internal/tsgen"
	"sternfan/setting"
	"sternfan/trip"
	"sternfan/unit"
)

var update = flag.Bool("update", false, "write web/app/src/api.ts and the other kept files anew")

const tsHead = `// Made from the Go types of package engine by: go test ./engine -run TypeScript -update
// Do not edit: the test fails when this differs from the Go types.

/** A value of a scenario file: every single value is the text that stands in the file. */
export type FormValue = string | null | FormValue[] | { [key: string]: FormValue }

`

const tsEvent = `
/** One entry of a log, as it is kept and handed on. */
export interface LogEvent<K extends keyof LogBodies = keyof LogBodies> {
  id: string
  at: string
  by: string
  kind: K
  trip?: string
  rod?: string
  where?: Place
  /** of the log, that its reader needs; absent for the first */
  version?: number
  body: LogBodies[K]
}
`

const tsSetting = `
/** A control of a setting: where it begins and ends and by what it goes, in its unit. */
export interface SettingScale {
  min: number
  max: number
  step: number
  unit: string // as a file has it; '' of colors and marks
}

/** One setting of a rod, or of the device that it is clipped to. */
export interface SettingRow {
  id: string
  owner: 'rods' | 'downriggers' | 'mast_boards' // the list that it is in
  key: string // in its map of the scenario file
  kind: %s
  label: string
  words: readonly string[] // that it may be; of a switch or flag what off and on are
  is: { readonly [rig: string]: string } // what it measures, by kind of rig; '' for the others
  us?: SettingScale
  si?: SettingScale
}
`

// tsSettings returns the settings of a rod, a row each, in the order of the scenario file.
func tsSettings() string {
	var b strings.Builder
	var kinds []string
	for k := range setting.Word + 1 {
		kinds = append(kinds, fmt.Sprintf("%q", k))
	}
	fmt.Fprintf(&b, tsSetting+"\nexport const SETTINGS: readonly SettingRow[] = [\n", strings.Join(kinds, " | "))
	for r := range setting.Rows {
		words := []string{}
		if r.Words != nil {
			words = r.Words
		}
		row := map[string]any{"id": r.ID, "owner": r.Owner.List(), "key": r.Key, "kind": r.Kind.String(), "label": r.Label(), "words": words}
		is := map[sternfan.RigKind]string{}
		for rig, use := range r.Uses {
			if use.Is != "" {
				is[rig] = use.Is
			}
		}
		row["is"] = is
		for name, u := range map[string]unit.System{"us": unit.US, "si": unit.SI} {
			if least, most, step, of := r.Scale(u); most > 0 {
				row[name] = map[string]any{"min": least, "max": most, "step": step, "unit": of}
			}
		}
		text, err := json.Marshal(row, json.Deterministic(true))
		if err != nil {
			panic(err)
		}
		fmt.Fprintf(&b, "  %s,\n", text)
	}
	b.WriteString("]\n")
	return b.String()
}

// typescript returns what web/app/src/api.ts holds.
func typescript(t *testing.T) string {
	t.Helper()
	dirs := []string{".", ".."}
	more, err := filepath.Glob("../*")
	if err != nil {
		t.Fatal(err)
	}
	w, err := tsgen.New(append(dirs, more...)...)
	if err != nil {
		t.Fatal(err)
	}
	var ops strings.Builder
	ops.WriteString("/** Every operation: what is asked and what is answered. */\nexport interface Ops {\n")
	var long, whole []string
	for _, o := range engine.Ops() {
		if o.Native {
			continue // nobody asks it in the app
		}
		w.Add(o.Ask)
		w.Add(o.Answer)
		fmt.Fprintf(&ops, "  /** %s */\n  %s: { ask: %s; answer: %s }\n", o.Doc, o.Name, o.Ask.Name(), o.Answer.Name())
		if o.Long {
			long = append(long, fmt.Sprintf("%q", o.Name))
		}
		if o.Whole {
			whole = append(whole, fmt.Sprintf("%q", o.Name))
		}
	}
	ops.WriteString("}\n\nexport type OpName = keyof Ops\n")
	kinds, bodies := engine.EventTypes()
	ops.WriteString("\n/** What each kind of a log's events has to say. */\nexport interface LogBodies {\n")
	for i, kind := range kinds {
		w.Add(reflect.TypeOf(bodies[i]))
		fmt.Fprintf(&ops, "  %q: Log%s\n", kind, reflect.TypeOf(bodies[i]).Name())
	}
	ops.WriteString("}\n" + tsEvent)
	ops.WriteString("\n/** The members of bodies that came after the first version, each with the version that it came with. */\nexport const LOG_NEWER: readonly [member: string, version: number][] = [\n")
	for _, m := range event.Newer {
		fmt.Fprintf(&ops, "  [%q, %d],\n", m.Member, m.Version)
	}
	ops.WriteString("]\n")
	w.Add(reflect.TypeFor[sternfan.Place]())
	w.Add(reflect.TypeFor[trip.DaySheet]())
	w.Add(reflect.TypeFor[engine.Progress]())
	w.Add(reflect.TypeFor[sternfan.Fault]())
	var b strings.Builder
	b.WriteString(tsHead)
	fmt.Fprintf(&b, "/** Version of the operations below. */\nexport const API_VERSION = %d\n\n", engine.Version)
	b.WriteString(ops.String())
	fmt.Fprintf(&b, "\n/** Operations that report progress and may be canceled. */\nexport const LONG_OPS: readonly OpName[] = [%s]\n", strings.Join(long, ", "))
	fmt.Fprintf(&b, "\n/** Operations that only the whole engine has, not the one that is loaded first. */\nexport const WHOLE_OPS: readonly OpName[] = [%s]\n", strings.Join(whole, ", "))
	b.WriteString(tsSettings())
	b.WriteString("\n/** What a request gets: exactly one of the three. */\nexport type Reply<A> =\n  | { answer: A; faults?: undefined; failed?: undefined }\n  | { faults: Fault[]; answer?: undefined; failed?: undefined }\n  | { failed: string; answer?: undefined; faults?: undefined }\n\n")
	b.WriteString(w.String())
	return b.String()
}

// The app's types are those of the Go code.
func TestTypeScript(t *testing.T) {
	file := filepath.Join("..", "web", "app", "src", "api.ts")
	want := typescript(t)
	if *update {
		if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(want), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s is not what the Go types are now; run: go test ./engine -run TypeScript -update", file)
	}
}
