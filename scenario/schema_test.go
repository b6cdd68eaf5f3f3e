package scenario

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// TestSchema holds the schema against the examples with a validator that is not ours.
func TestSchema(t *testing.T) {
	data, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("scenario.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("scenario.json")
	if err != nil {
		t.Fatal(err)
	}
	validate := func(file []byte) error {
		var v any
		if err := yaml.Unmarshal(file, &v); err != nil {
			t.Fatal(err)
		}
		asJSON, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		instance, err := jsonschema.UnmarshalJSON(bytes.NewReader(asJSON))
		if err != nil {
			t.Fatal(err)
		}
		return s.Validate(instance)
	}
	files := examples(t)
	files["minimal"] = []byte(minimal)
	for name, file := range files {
		if err := validate(file); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		scenario, _, err := Decode(name, file)
		if err != nil {
			t.Fatal(err)
		}
		written, err := Encode(scenario)
		if err != nil {
			t.Fatal(err)
		}
		if err := validate(written); err != nil {
			t.Errorf("%s as written: %v", name, err)
		}
	}
	for _, r := range [][2]string{{"holder: h1", "holdr: h1"}, {"settings:", "setings:"}, {"{lure: ", "{lur: "}, {"flat-line", "flat"}, {"90 ft", "90"}, {"given: surface, ", ""}, {"{lure: ", "{leader: mono-17, lure: "}} {
		if err := validate([]byte(replaced(t, r[0], r[1]))); err == nil {
			t.Errorf("%s for %s is valid", r[1], r[0])
		}
	}
}

// TestSchemaDescribes asserts that every key has its description, and that keys with a
// unit say which.
func TestSchemaDescribes(t *testing.T) {
	data, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	var s struct {
		Defs map[string]struct {
			Description string
			Properties  map[string]struct {
				Description string
			}
		} `json:"$defs"`
	}
	if err := json.Unmarshal(data, &s); err != nil {
		t.Fatal(err)
	}
	for name, def := range s.Defs {
		if def.Description == "" {
			t.Errorf("%s has no description", name)
		}
		for key, p := range def.Properties {
			if p.Description == "" && key != "value" {
				t.Errorf("%s.%s has no description", name, key)
			}
		}
	}
	for _, name := range []string{"length", "speed", "force", "angle", "mass", "volume"} {
		if !strings.Contains(s.Defs[name+"-value"].Description, "Units: ") {
			t.Errorf("%s does not list its units: %q", name, s.Defs[name+"-value"].Description)
		}
	}
}
