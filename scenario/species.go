package scenario

import (
	"path"
	"strings"

	"sternfan"
	"sternfan/unit"
)

var species = object[sternfan.Species]{
	name: "species",
	doc:  "A kind of fish with your own water temperatures for it. Advice, never a rule.",
	fields: []field[sternfan.Species]{
		need("name", "What it is called.", words[string]{}, func(s *sternfan.Species) *string { return &s.Name }),
		key("from", "Coldest water to look in; built-in when not given.", fishTemperature, func(s *sternfan.Species) *sternfan.Q[unit.Temperature] { return &s.From }),
		key("to", "Warmest water to look in.", fishTemperature, func(s *sternfan.Species) *sternfan.Q[unit.Temperature] { return &s.To }),
		key("weight", "How much its depths count against those of the others; 1 when not given.", number{lo: 0.001, hi: 1000}, func(s *sternfan.Species) *float64 { return &s.Weight }),
		key("source", "Where you have it from.", words[string]{}, func(s *sternfan.Species) *string { return &s.Source }),
		key("dated", "The day you entered it.", words[string]{}, func(s *sternfan.Species) *string { return &s.Dated }),
	},
	check: func(d *decoder, n *node, path string, s *sternfan.Species) {
		from, to := n.child("from"), n.child("to")
		switch {
		case (from == nil) != (to == nil):
			name := "from"
			if to == nil {
				name = "to"
			}
			d.missing(n, path, name, "A range of temperatures has both ends.")
		case s.From.Given && s.To.Given && s.To.Value < s.From.Value:
			d.at(to, join(path, "to"), sternfan.Fault{Code: "out-of-order", Text: "a range of temperatures goes from cold to warm", Found: show(to.text), Hint: "swap from and to"})
		}
	},
}

var fishTemperature = quantity[unit.Temperature]{dim: temperatures, in: "F", hi: 40}

// speciesEntry is a name alone, or a map.
type speciesEntry struct{}

func (speciesEntry) decode(d *decoder, n *node, path string, into *sternfan.Species) {
	if n.kind == kindScalar {
		words[string]{}.decode(d, n, path, &into.Name)
		return
	}
	species.decode(d, n, path, into)
}

func (speciesEntry) encode(v *sternfan.Species) *node {
	out := species.encode(v)
	if out != nil && len(out.keys) == 1 && out.keys[0].name == "name" {
		return out.keys[0].value
	}
	return out
}

func (speciesEntry) schema(b *builder) *schema {
	return &schema{AnyOf: []*schema{{Type: "string"}, species.schema(b)}}
}

// profileName is the name of a file in the scenario's own folder or below it: a file from
// a stranger must not make the program read others.
type profileName struct{}

func (profileName) decode(d *decoder, n *node, at string, into *string) {
	if !d.want(n, at, kindScalar) {
		return
	}
	name := strings.TrimSpace(n.text)
	clean := path.Clean(name)
	if name == "" || strings.ContainsAny(name, "\\:\x00") || path.IsAbs(name) || clean == "." || clean == ".." || strings.HasPrefix(clean, "../") {
		d.at(n, at, sternfan.Fault{Code: "refused", Text: "a profile's file is in the scenario's own folder or below it", Found: show(n.text),
			Hint: "copy it there, or give it with --profile"})
		return
	}
	*into = clean
}

func (profileName) encode(v *string) *node  { return scalar(*v) }
func (profileName) schema(*builder) *schema { return &schema{Type: "string"} }
