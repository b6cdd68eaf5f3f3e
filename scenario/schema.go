package scenario

import (
	"bytes"
	"encoding/json"

	"sternfan"
)

// schema is the part of JSON Schema 2020-12 that the file needs.
type schema struct {
	Dialect     string     `json:"$schema,omitempty"`
	Title       string     `json:"title,omitempty"`
	Ref         string     `json:"$ref,omitempty"`
	Description string     `json:"description,omitempty"`
	Type        any        `json:"type,omitempty"`
	Enum        []any      `json:"enum,omitempty"`
	Pattern     string     `json:"pattern,omitempty"`
	Minimum     *float64   `json:"minimum,omitempty"`
	Maximum     *float64   `json:"maximum,omitempty"`
	Properties  properties `json:"properties,omitempty"`
	Required    []string   `json:"required,omitempty"`
	// AdditionalProperties false and Values are the same keyword; at most one is set.
	AdditionalProperties *bool      `json:"additionalProperties,omitempty"`
	Values               *schema    `json:"-"`
	Items                *schema    `json:"items,omitempty"`
	MinItems             int        `json:"minItems,omitempty"`
	MaxItems             int        `json:"maxItems,omitempty"`
	AnyOf                []*schema  `json:"anyOf,omitempty"`
	OneOf                []*schema  `json:"oneOf,omitempty"`
	Defs                 properties `json:"$defs,omitempty"`
}

// MarshalJSON writes Values as additionalProperties.
func (s *schema) MarshalJSON() ([]byte, error) {
	type bare schema
	if s.Values == nil {
		return json.Marshal((*bare)(s))
	}
	return json.Marshal(struct {
		*bare
		AdditionalProperties *schema `json:"additionalProperties"`
	}{(*bare)(s), s.Values})
}

type property struct {
	name  string
	value *schema
}

// properties keeps the order of the description, which is the order of the documents.
type properties []property

// MarshalJSON writes an object in the order given.
func (ps properties) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, p := range ps {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(p.name)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(p.value)
		if err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// builder collects the definitions that the schema refers to by name.
type builder struct {
	defs properties
	seen map[string]bool
}

// named returns a reference to the definition, building it the first time.
func (b *builder) named(name string, build func() *schema) *schema {
	if !b.seen[name] {
		b.seen[name] = true
		i := len(b.defs)
		b.defs = append(b.defs, property{name: name})
		b.defs[i].value = build()
	}
	return &schema{Ref: "#/$defs/" + name}
}

func described(s *schema, text string) *schema {
	out := *s
	out.Description = text
	return &out
}

// Schema returns the JSON Schema (2020-12) of the scenario file, indented. It is made
// from the same description as the decoder.
func Schema() ([]byte, error) {
	b := &builder{seen: map[string]bool{}}
	root := file.schema(b)
	data, err := json.MarshalIndent(&schema{
		Dialect: "https://json-schema.org/draft/2020-12/schema",
		Title:   "sternfan scenario, version " + whole{}.encode(ptr(sternfan.FileVersion)).text,
		Ref:     root.Ref,
		Defs:    b.defs,
	}, "", "  ")
	if err != nil {
		return nil, err
	}
	return append(data, '\n'), nil
}

func ptr[T any](v T) *T { return &v }
