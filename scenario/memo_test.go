package scenario_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/tackle"
)

// scalars returns the paths of every single value of a form with what stands there.
func scalars(path string, v any, out map[string]string) {
	switch x := v.(type) {
	case map[string]any:
		for k, item := range x {
			if path != "" {
				k = path + "." + k
			}
			scalars(k, item, out)
		}
	case []any:
		for i, item := range x {
			scalars(fmt.Sprintf("%s[%d]", path, i), item, out)
		}
	case string:
		out[path] = x
	}
}

// A document that remembers decodes every change as one read anew: the same scenario or
// the same faults at the same places, whatever was decoded before; and the file as it is
// stays what it was.
func TestRememberedIsAnew(t *testing.T) {
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal("no examples", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			doc, err := scenario.Read(file, data)
			if err != nil {
				t.Fatal(err)
			}
			var form any
			if err := json.Unmarshal(doc.JSON(), &form); err != nil {
				t.Fatal(err)
			}
			check := func(set ...string) {
				opts := scenario.Options{Known: tackle.Known, List: tackle.Names, Set: set}
				got, gotAt, gotErr := doc.Decode(opts)
				fresh, err := scenario.Read(file, data)
				if err != nil {
					t.Fatal(err)
				}
				want, wantAt, wantErr := fresh.Decode(opts)
				if !reflect.DeepEqual(gotErr, wantErr) {
					t.Fatalf("%v: %v; read anew: %v", set, gotErr, wantErr)
				}
				if !reflect.DeepEqual(got, want) {
					t.Fatalf("%v: another scenario than the one read anew", set)
				}
				probe := sternfan.Faults{{Path: "rods[0].settings.line_out"}, {Path: "speed.value"}}
				other := append(sternfan.Faults(nil), probe...)
				gotAt.Fill(probe)
				wantAt.Fill(other)
				if !reflect.DeepEqual(probe, other) {
					t.Fatalf("%v: faults stand at %v; read anew at %v", set, probe, other)
				}
			}
			check()
			all := map[string]string{}
			scalars("", form, all)
			values := []string{"7 ft", "2", "on", "nonsense", "port"}
			n := 0
			for path := range all {
				check(path + "=" + values[n%len(values)])
				if n++; n%5 == 0 {
					check(path+"="+values[n%3], "rods[0].settings.line_out=90 ft", "speed.value=2 mph")
				}
			}
			check()
			check("rods[0].settings.lead=12 ft", "rods[0].settings.line_out=12 ft")
			check("rods[0].no_such=1")
			check("rods[99].settings.dial=1")
			check("note.deeper=1")
		})
	}
}
