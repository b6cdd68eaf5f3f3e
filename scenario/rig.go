package scenario

import (
	"math"
	"slices"

	"sternfan"
	"sternfan/setting"
	"sternfan/unit"
)

var rod = object[sternfan.Rod]{
	name: "rod",
	doc:  "One rod in its holder with what is tied on.",
	fields: []field[sternfan.Rod]{
		need("id", "Name of the rod.", ident{}, func(r *sternfan.Rod) *string { return &r.ID }),
		need("holder", "Holder that it stands in.", ident{}, func(r *sternfan.Rod) *string { return &r.Holder }),
		key("reel", "Its reel (gear.reels).", ident{}, func(r *sternfan.Rod) *string { return &r.Reel }),
		key("fixed", "The planner leaves it alone.", yesNo{}, func(r *sternfan.Rod) *bool { return &r.Fixed }),
		need("rig", "What is tied on: a kind with its members, or a list of parts.", rig, func(r *sternfan.Rod) *sternfan.Rig { return &r.Rig }),
		key("settings", "What a hand can change without retying.", settings, func(r *sternfan.Rod) *sternfan.Settings { return &r.Settings }),
	},
	check: checkRod,
}

var rigKinds = choice[sternfan.RigKind]{sternfan.RigDiver, sternfan.RigSlideThrough, sternfan.RigDownrigger,
	sternfan.RigFlat, sternfan.RigWeighted, sternfan.RigBoard, sternfan.RigMastBoard}

var rig = object[sternfan.Rig]{
	name: "rig",
	doc:  "What is tied on: kind with its members, or parts from the tip down.",
	fields: []field[sternfan.Rig]{
		key("kind", "One of the named rigs.", rigKinds, func(r *sternfan.Rig) *sternfan.RigKind { return &r.Kind }),
		key("line", "Main line; for a weighted rig the backing (gear.lines).", ident{}, func(r *sternfan.Rig) *string { return &r.Line }),
		key("weighted", "Lead core, copper or weighted steel (gear.lines).", ident{}, func(r *sternfan.Rig) *string { return &r.Weighted }),
		key("diver", "The diver (gear.divers).", ident{}, func(r *sternfan.Rig) *string { return &r.Diver }),
		key("board", "The in-line board (gear.boards).", ident{}, func(r *sternfan.Rig) *string { return &r.Board }),
		key("downrigger", "The downrigger that it clips to.", ident{}, func(r *sternfan.Rig) *string { return &r.Downrigger }),
		key("mast_board", "The mast board whose line it hangs from.", ident{}, func(r *sternfan.Rig) *string { return &r.MastBoard }),
		key("behind", "Parts from the device down to the lure.", parts{}, func(r *sternfan.Rig) *[]sternfan.Part { return &r.Behind }),
		key("slider", "Parts of a free slider's own leader, its lure last.", parts{}, func(r *sternfan.Rig) *[]sternfan.Part { return &r.Slider }),
		key("parts", "Every part from the tip down, instead of a kind.", parts{}, func(r *sternfan.Rig) *[]sternfan.Part { return &r.Parts }),
	},
	check: func(d *decoder, n *node, path string, r *sternfan.Rig) {
		if listed := n.child("parts"); listed != nil {
			for _, e := range n.keys {
				if e.name != "parts" && e.value.kind != kindBad {
					d.at(e.value, join(path, e.name), sternfan.Fault{Code: "conflict", Text: "a rig with listed parts has no other keys", Found: e.name,
						Hint: "move it into the list of parts, or give a kind instead of parts"})
				}
			}
			return
		}
		if n.child("kind") == nil {
			d.missing(n, path, "kind", "Give the kind of rig, or list its parts.")
			return
		}
		for _, name := range rigMembers[r.Kind].need {
			if n.child(name) == nil {
				d.at(n, join(path, name), sternfan.Fault{Code: "missing", Text: "a rig of kind " + string(r.Kind) + " needs " + name})
			}
		}
		for _, e := range n.keys {
			if m, ok := rigMembers[r.Kind]; ok && slices.Contains(rigParts, e.name) && !slices.Contains(m.need, e.name) && !slices.Contains(m.may, e.name) {
				d.at(e.value, join(path, e.name), sternfan.Fault{Code: "conflict", Text: "a rig of kind " + string(r.Kind) + " has no " + e.name, Found: show(e.value.text),
					Hint: "remove it, or list the parts"})
			}
		}
	},
}

// rigParts are the members of a rig that name a piece of gear or a device.
var rigParts = []string{"line", "weighted", "diver", "board", "downrigger", "mast_board", "slider"}

// rigMembers says what each kind of rig needs and may have; behind is for all.
var rigMembers = map[sternfan.RigKind]struct{ need, may []string }{
	sternfan.RigDiver:        {need: []string{"line", "diver"}},
	sternfan.RigSlideThrough: {need: []string{"line", "diver"}},
	sternfan.RigDownrigger:   {need: []string{"line", "downrigger"}, may: []string{"slider"}},
	sternfan.RigFlat:         {need: []string{"line"}},
	sternfan.RigWeighted:     {need: []string{"weighted"}, may: []string{"line"}},
	sternfan.RigBoard:        {need: []string{"line", "board"}, may: []string{"weighted", "diver"}},
	sternfan.RigMastBoard:    {need: []string{"line", "mast_board"}, may: []string{"weighted", "diver"}},
}

// checkRod says which settings a kind of rig cannot do without. What has a sensible
// default is not asked for.
func checkRod(d *decoder, n *node, path string, r *sternfan.Rod) {
	at := n.child("settings")
	if at == nil {
		at = n
	}
	for row := range setting.Rows {
		use := row.Use(r.Rig.Kind)
		if use.Ask == "" || at.child(row.Key) != nil || use.Or != "" && at.child(use.Or) != nil {
			continue
		}
		d.at(at, join(path, "settings."+row.Key), sternfan.Fault{Code: "missing",
			Text: "a rig of kind " + string(r.Rig.Kind) + " needs the setting " + row.Key, Hint: use.Ask})
	}
}

var settings = object[sternfan.Settings]{
	name:   "settings",
	doc:    "What a hand can change without retying. What each means by kind of rig is in docs/scenario.md.",
	fields: settingFields(setting.Rod, func(s *sternfan.Settings) setting.On { return setting.On{Settings: s} }),
}

// settingFields are the fields of an owner that are settings of a rod.
func settingFields[S any](owner setting.Owner, on func(*S) setting.On) []field[S] {
	var out []field[S]
	for r := range setting.Rows {
		if r.Owner == owner {
			out = append(out, settingField(r, on))
		}
	}
	return out
}

func settingField[S any](r *setting.Row, on func(*S) setting.On) field[S] {
	switch r.Kind {
	case setting.Length:
		return key(r.Key, r.Doc, quantity[unit.Length]{dim: lengths, in: "ft", lo: r.Lo, hi: r.Hi, above: r.Above}, in[S, sternfan.Q[unit.Length]](r, on))
	case setting.Force:
		return key(r.Key, r.Doc, quantity[unit.Force]{dim: forces, in: "lb", lo: r.Lo, hi: r.Hi, above: r.Above}, in[S, sternfan.Q[unit.Force]](r, on))
	case setting.Colors:
		return key(r.Key, r.Doc, ratio(r.Lo, r.Hi), in[S, sternfan.Q[float64]](r, on))
	case setting.Mark:
		return key(r.Key, r.Doc, dial{}, in[S, sternfan.Q[float64]](r, on))
	case setting.Switch:
		return key(r.Key, r.Doc, yesNoQ{}, in[S, sternfan.Q[float64]](r, on))
	case setting.Side:
		return key(r.Key, r.Doc, side{}, in[S, sternfan.Side](r, on))
	case setting.Flag:
		return key(r.Key, r.Doc, yesNo{}, in[S, bool](r, on))
	case setting.Word:
		return key(r.Key, r.Doc, choice[string](r.Words), in[S, string](r, on))
	}
	panic("scenario: no codec for the setting " + r.ID)
}

// in returns where a setting is in what it is on.
func in[S, T any](r *setting.Row, on func(*S) setting.On) func(*S) *T {
	return func(s *S) *T { return r.In(on(s)).(*T) }
}

// dial is a diver's mark: 0 to 4 in halves.
type dial struct{}

func (dial) decode(d *decoder, n *node, path string, into *sternfan.Q[float64]) {
	before := d.count()
	ratio(0, 4).decode(d, n, path, into)
	if d.count() > before || into.Value*2 == math.Trunc(into.Value*2) {
		return
	}
	if v := n.child("value"); v != nil {
		n = v
	}
	d.at(n, path, sternfan.Fault{Code: "out-of-range", Text: "a dial is set in half marks", Found: show(n.text),
		Allowed: []string{"0", "0.5", "1", "1.5", "2", "2.5", "3", "3.5", "4"}})
	*into = sternfan.Q[float64]{}
}

func (dial) encode(v *sternfan.Q[float64]) *node { return ratio(0, 4).encode(v) }
func (dial) schema(b *builder) *schema           { return ratio(0, 4).schema(b) }

// parts is a list of parts. It is a type of its own because a slider's part holds one.
type parts struct{}

func (parts) list() list[sternfan.Part] { return list[sternfan.Part]{elem: part{}, max: 100} }

func (p parts) decode(d *decoder, n *node, path string, into *[]sternfan.Part) {
	p.list().decode(d, n, path, into)
}
func (p parts) encode(v *[]sternfan.Part) *node { return p.list().encode(v) }
func (p parts) schema(b *builder) *schema       { return p.list().schema(b) }

// part is a map with one key that names the kind of part and its gear.
type part struct{}

var partKinds = []struct {
	kind sternfan.PartKind
	doc  string
}{
	{sternfan.PartLine, "A line (gear.lines)."},
	{sternfan.PartLeader, "A leader (gear.leaders or gear.lines)."},
	{sternfan.PartDiver, "A diver (gear.divers)."},
	{sternfan.PartSnubber, "A snubber (gear.snubbers)."},
	{sternfan.PartAttractor, "An attractor (gear.attractors)."},
	{sternfan.PartLure, "A lure (gear.lures)."},
	{sternfan.PartBoard, "An in-line board (gear.boards)."},
	{sternfan.PartWeight, "A weight (gear.weights)."},
	{sternfan.PartRelease, "The downrigger or mast board whose release the line is clipped to."},
	{sternfan.PartSlider, "Parts of a free slider's own leader, its lure last."},
}

// partExtras are a part's keys besides its kind.
var partExtras = object[sternfan.Part]{
	name: "part",
	fields: []field[sternfan.Part]{
		key("id", "Name of the part; made from kind and number when not given.", ident{}, func(p *sternfan.Part) *string { return &p.ID }),
		key("length", "Length of a line or leader; a line without one takes the rod's setting.", lineLength(), func(p *sternfan.Part) *sternfan.Q[unit.Length] { return &p.Length }),
		key("free", "The length is an output: the rod's set load holds it.", yesNo{}, func(p *sternfan.Part) *bool { return &p.Free }),
		key("on", "Of a release: the downrigger or mast board it is on.", ident{}, func(p *sternfan.Part) *string { return &p.On }),
	},
}

func partNames() []string {
	var out []string
	for _, k := range partKinds {
		out = append(out, string(k.kind))
	}
	return out
}

func (part) decode(d *decoder, n *node, path string, into *sternfan.Part) {
	if !d.want(n, path, kindMap) {
		return
	}
	kinds := partNames()
	allowed := slices.Clone(kinds)
	for _, f := range partExtras.fields {
		allowed = append(allowed, f.name)
	}
	unknown := false
	for _, e := range n.keys {
		p := join(path, e.name)
		i := slices.Index(allowed, e.name)
		switch {
		case i < 0:
			unknown = true
			d.unknownKey(n, e, path, "part", allowed)
		case i >= len(kinds):
			partExtras.fields[i-len(kinds)].decode(d, e.value, p, into)
		case into.Kind != "":
			d.at(e.value, p, sternfan.Fault{Code: "conflict", Text: "a part is one thing", Found: string(into.Kind) + " and " + e.name, Hint: "begin a new entry of the list with a dash"})
		default:
			into.Kind = sternfan.PartKind(e.name)
			switch into.Kind {
			case sternfan.PartSlider:
				parts{}.decode(d, e.value, p, &into.Parts)
			case sternfan.PartRelease:
				ident{}.decode(d, e.value, p, &into.On)
			default:
				ident{}.decode(d, e.value, p, &into.Gear)
			}
		}
	}
	if into.Kind == "" && !unknown {
		d.at(n, path, sternfan.Fault{Code: "missing", Text: "a part needs the key that says what it is", Allowed: kinds})
	}
	if into.Free && into.Length.Given {
		d.at(n.child("length"), join(path, "length"), sternfan.Fault{Code: "conflict", Text: "the length of a free line is an output", Hint: "remove length or free"})
	}
}

func (part) encode(v *sternfan.Part) *node {
	out := &node{kind: kindMap}
	var value *node
	rest := *v
	switch v.Kind {
	case sternfan.PartSlider:
		value = parts{}.encode(&v.Parts)
		if value == nil {
			value = &node{kind: kindList}
		}
	case sternfan.PartRelease:
		value, rest.On = scalar(v.On), ""
	default:
		value = scalar(v.Gear)
	}
	if value != nil {
		out.keys = append(out.keys, entry{name: string(v.Kind), value: value})
	}
	if more := partExtras.encode(&rest); more != nil {
		out.keys = append(out.keys, more.keys...)
	}
	return out
}

func (part) schema(b *builder) *schema {
	return b.named("part", func() *schema {
		s := &schema{Type: "object", AdditionalProperties: new(bool), Description: "One thing on the way from the tip to the lure: exactly one key says what it is."}
		for _, k := range partKinds {
			value := ident{}.schema(b)
			if k.kind == sternfan.PartSlider {
				value = parts{}.schema(b)
			}
			s.Properties = append(s.Properties, property{string(k.kind), described(value, k.doc)})
			s.OneOf = append(s.OneOf, &schema{Required: []string{string(k.kind)}})
		}
		for _, f := range partExtras.fields {
			s.Properties = append(s.Properties, property{f.name, described(f.schema(b), f.doc)})
		}
		return s
	})
}
