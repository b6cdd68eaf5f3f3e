package scenario

import (
	"math"
	"slices"

	"sternfan"
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
	ask := func(hint string, names ...string) {
		for _, name := range names {
			if at.child(name) != nil {
				return
			}
		}
		d.at(at, join(path, "settings."+names[0]), sternfan.Fault{Code: "missing",
			Text: "a rig of kind " + string(r.Rig.Kind) + " needs the setting " + names[0], Hint: hint})
	}
	const lineOut = "line_out: the line counted out through the tip, as in 120 ft"
	switch r.Rig.Kind {
	case sternfan.RigDiver:
		ask(lineOut, "line_out")
		ask("dial: the diver's mark, 0 to 4 in halves", "dial")
		ask("side: port or starboard", "side")
	case sternfan.RigSlideThrough:
		ask(lineOut, "line_out")
		ask("lead: from the diver back to the lure, as in 20 ft", "lead")
	case sternfan.RigDownrigger:
		ask("lead: from the release back to the lure, as in 15 ft", "lead", "above_ball")
	case sternfan.RigFlat:
		ask(lineOut, "line_out")
	case sternfan.RigWeighted:
		ask("give line_out, or colors of lead core in the water", "line_out", "colors")
	case sternfan.RigBoard:
		ask("line_out: from the tip to the board", "line_out")
	case sternfan.RigMastBoard:
		ask("along: from the mast to the release, along the board's line", "along")
	}
}

var settings = object[sternfan.Settings]{
	name: "settings",
	doc:  "What a hand can change without retying. What each means by kind of rig is in docs/scenario.md.",
	fields: []field[sternfan.Settings]{
		key("line_out", "Line counted out through the tip.", lineLength(), func(s *sternfan.Settings) *sternfan.Q[unit.Length] { return &s.LineOut }),
		key("count_from", "Where the counter's zero is; tip when not given.", choice[string]{"tip", "water"}, func(s *sternfan.Settings) *string { return &s.CountFrom }),
		key("colors", "Colors of lead core out (30 ft each).", ratio(0, 200), func(s *sternfan.Settings) *sternfan.Q[float64] { return &s.Colors }),
		key("section", "Length of the sinking line (copper, weighted steel) that goes out whole; what is more of the lead or line out is backing.", lineLength(), func(s *sternfan.Settings) *sternfan.Q[unit.Length] { return &s.Section }),
		key("lead", "From the device back to the lure.", lineLength(), func(s *sternfan.Settings) *sternfan.Q[unit.Length] { return &s.Lead }),
		key("dial", "The diver's mark, 0 to 4 in halves.", dial{}, func(s *sternfan.Settings) *sternfan.Q[float64] { return &s.Dial }),
		key("side", "Side that the diver is dialed to or the board runs to.", side{}, func(s *sternfan.Settings) *sternfan.Side { return &s.Side }),
		key("ring", "The diver's ring is on.", yesNoQ{}, func(s *sternfan.Settings) *sternfan.Q[float64] { return &s.Ring }),
		key("tripped", "The diver's arm is open.", yesNo{}, func(s *sternfan.Settings) *bool { return &s.Tripped }),
		key("above_ball", "Release above the ball.", lineLength(), func(s *sternfan.Settings) *sternfan.Q[unit.Length] { return &s.AboveBall }),
		key("along", "Release along a mast board's line, from the mast.", lineLength(), func(s *sternfan.Settings) *sternfan.Q[unit.Length] { return &s.Along }),
		key("set_load", "Pull at the tip of a rod clipped to a release.", force(), func(s *sternfan.Settings) *sternfan.Q[unit.Force] { return &s.SetLoad }),
		key("trip_load", "Pull at which the device or release is adjusted to let go.", force(), func(s *sternfan.Settings) *sternfan.Q[unit.Force] { return &s.TripLoad }),
		key("bottom", "The lure is meant to tick the bottom.", bottomIntended, func(s *sternfan.Settings) *string { return &s.Bottom }),
	},
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
