package tackle

import (
	"strconv"
	"strings"

	"sternfan"
	"sternfan/unit"
)

func itoa(i int) string { return strconv.Itoa(i) }

// expand returns the parts of a rig from the tip down, with ids, and where in the rig's
// description each comes from: "line", "behind[1]". A rig with listed parts has them
// already.
func expand(rig *sternfan.Rig, isLeader func(id string) bool) (parts []sternfan.Part, from []string) {
	one := func(p sternfan.Part, key string) { parts, from = append(parts, p), append(from, key) }
	list := func(more []sternfan.Part, key string) {
		for i, p := range copyParts(more) {
			one(p, key+"["+itoa(i)+"]")
		}
	}
	add := func(kind sternfan.PartKind, gear, key string) { one(sternfan.Part{Kind: kind, Gear: gear}, key) }
	trailing := func() {
		add(sternfan.PartLine, rig.Line, "line")
		if rig.Weighted != "" {
			add(weightedKind(rig, isLeader), rig.Weighted, "weighted")
		}
		if rig.Diver != "" {
			add(sternfan.PartDiver, rig.Diver, "diver")
		}
		list(rig.Behind, "behind")
	}
	switch rig.Kind {
	case sternfan.RigParts:
		list(rig.Parts, "parts")
	case sternfan.RigDiver:
		add(sternfan.PartLine, rig.Line, "line")
		add(sternfan.PartDiver, rig.Diver, "diver")
		list(rig.Behind, "behind")
	case sternfan.RigSlideThrough:
		add(sternfan.PartLine, rig.Line, "line")
		add(sternfan.PartDiver, rig.Diver, "diver")
		add(sternfan.PartLine, rig.Line, "line") // the diver is clamped on it
		list(rig.Behind, "behind")
	case sternfan.RigFlat:
		add(sternfan.PartLine, rig.Line, "line")
		list(rig.Behind, "behind")
	case sternfan.RigWeighted:
		if rig.Line != "" {
			add(sternfan.PartLine, rig.Line, "line")
		}
		add(weightedKind(rig, isLeader), rig.Weighted, "weighted")
		list(rig.Behind, "behind")
	case sternfan.RigBoard:
		add(sternfan.PartLine, rig.Line, "line")
		add(sternfan.PartBoard, rig.Board, "board")
		trailing()
	case sternfan.RigDownrigger, sternfan.RigMastBoard:
		one(sternfan.Part{Kind: sternfan.PartLine, Gear: rig.Line, Free: true}, "line")
		if len(rig.Slider) > 0 {
			one(sternfan.Part{Kind: sternfan.PartSlider, Parts: copyParts(rig.Slider)}, "slider")
		}
		if rig.Kind == sternfan.RigMastBoard {
			one(sternfan.Part{Kind: sternfan.PartRelease, On: rig.MastBoard}, "mast_board")
		} else {
			one(sternfan.Part{Kind: sternfan.PartRelease, On: rig.Downrigger}, "downrigger")
		}
		trailing()
	}
	taken := map[string]bool{}
	sternfan.EachPart(parts, func(p *sternfan.Part) { taken[p.ID] = true })
	count := map[sternfan.PartKind]int{}
	sternfan.EachPart(parts, func(p *sternfan.Part) {
		for p.ID == "" {
			count[p.Kind]++
			if id := string(p.Kind) + "-" + itoa(count[p.Kind]); !taken[id] {
				p.ID, taken[id] = id, true
			}
		}
	})
	return parts, from
}

func weightedKind(rig *sternfan.Rig, isLeader func(id string) bool) sternfan.PartKind {
	if isLeader(rig.Weighted) {
		return sternfan.PartLeader
	}
	return sternfan.PartLine
}

func copyParts(parts []sternfan.Part) []sternfan.Part {
	out := append([]sternfan.Part(nil), parts...)
	for i := range out {
		out[i].Parts = copyParts(out[i].Parts)
	}
	return out
}

// length is a line's length as a sum of what is fixed and what the counter and the hand
// measured, m.
type length struct {
	fixed, counter, lead float64
	drop                 bool // nothing of it is out
}

func (l length) nominal() float64 { return l.fixed + l.counter + l.lead }

// dropBelow is a length that is not worth a line of its own, m.
const dropBelow = 1e-3

// measured are the parts of a rod with their gear and lengths.
type measured struct {
	part   *sternfan.Part
	path   string // of the part
	named  string // of what names its gear
	line   *sternfan.Line
	snub   *sternfan.Snubber
	diver  *sternfan.Diver
	board  *sternfan.Board
	weight *sternfan.Weight
	attr   *sternfan.Attractor
	lure   *sternfan.Lure
	gear   string // id of the line of a line or leader
	length length
	open   bool // takes a setting
}

func (p *measured) isLine() bool { return p.line != nil || p.snub != nil }

// sinking reports whether the line is one of those that are fished for their weight.
func (p *measured) sinking() bool {
	if p.line == nil {
		return false
	}
	switch p.line.Kind {
	case lineLeadCore, lineCopper, lineWeightedSteel:
		return true
	}
	return false
}

// measure finds the gear of the parts and gives every line its length. from says where
// in the description at path each comes from; set is nil for a slider's, which no setting
// reaches.
func (r *resolver) measure(parts []sternfan.Part, path string, from []string, set *sternfan.Settings, setPath string, tipHeight float64, released bool) ([]measured, bool) {
	before := len(r.faults)
	clipped := false
	out := make([]measured, len(parts))
	for i := range parts {
		out[i].part = &parts[i]
		out[i].path = join(path, from[i])
		out[i].named = out[i].path
		if strings.HasSuffix(from[i], "]") {
			out[i].named += "." + string(parts[i].Kind)
		}
		r.gearOf(&out[i])
		if released && !clipped {
			// Between tip and release the length is an outcome, said or not.
			out[i].open = false
		}
		clipped = clipped || parts[i].Kind == sternfan.PartRelease
	}
	if len(r.faults) > before {
		return nil, false
	}
	begin := 0
	var device *measured
	for i := 0; i <= len(out); i++ {
		if i < len(out) && out[i].diver == nil && out[i].board == nil && out[i].part.Kind != sternfan.PartRelease {
			continue
		}
		r.section(out[begin:i], device, set, setPath, tipHeight, begin == 0 && !released)
		if i < len(out) {
			device = &out[i]
		}
		begin = i + 1
	}
	return out, len(r.faults) == before
}

// gearOf finds a part's gear.
func (r *resolver) gearOf(p *measured) {
	part := p.part
	if part.Gear == "" && part.Kind != sternfan.PartRelease && part.Kind != sternfan.PartSlider {
		r.fault(sternfan.Fault{Code: "missing", Path: p.named, Text: "this part names no gear"})
		return
	}
	switch part.Kind {
	case sternfan.PartLine, sternfan.PartLeader:
		p.gear = part.Gear
		if r.cat.isLeader(part.Gear) {
			if l := r.cat.leader(part.Gear, p.named); l != nil {
				p.gear = l.Line
				if !part.Length.Given && l.Length.Given {
					part.Length = l.Length
				}
			}
		}
		p.line = r.cat.line(p.gear, p.named)
		p.open = !part.Length.Given && !part.Free
		p.length.fixed = part.Length.SI()
	case sternfan.PartSnubber:
		if p.snub = r.cat.snubber(part.Gear, p.named); p.snub != nil {
			p.length.fixed = p.snub.Length.SI()
		}
	case sternfan.PartDiver:
		p.diver = r.cat.diver(part.Gear, p.named)
	case sternfan.PartBoard:
		p.board = r.cat.board(part.Gear, p.named)
	case sternfan.PartWeight:
		p.weight = r.cat.weight(part.Gear, p.named)
	case sternfan.PartAttractor:
		if p.attr = r.cat.attractor(part.Gear, p.named); p.attr != nil {
			p.length.fixed = p.attr.Length.SI()
		}
	case sternfan.PartLure:
		p.lure = r.cat.lure(part.Gear, p.named)
	}
}

// section gives the lines between two devices their lengths: see the package's settings.
func (r *resolver) section(parts []measured, device *measured, set *sternfan.Settings, setPath string, tipHeight float64, first bool) {
	if set == nil {
		for i := range parts {
			if parts[i].open {
				r.fault(sternfan.Fault{Code: "missing", Path: lengthPath(&parts[i]), Text: "a slider's line needs a length"})
			}
		}
		return
	}
	target, name := set.Lead, "lead"
	if first {
		target, name = set.LineOut, "line_out"
	}
	if !first || set.CountFrom != "water" {
		tipHeight = 0
	}
	colors, section := set.Colors.Given, set.Section.Given
	fill, sum := -1, 0.0
	for i := range parts {
		p := &parts[i]
		if p.open && colors && p.line != nil && p.line.Kind == lineLeadCore {
			p.open, colors = false, false
			p.length.fixed = float64(set.Colors.Value) * float64(unit.Color)
		}
		if p.open && section && p.line != nil && p.sinking() {
			p.open, section = false, false
			p.length.fixed = set.Section.SI()
		}
		sum += p.length.fixed
		if !p.open {
			continue
		}
		if fill >= 0 {
			if parts[fill].sinking() == p.sinking() {
				r.fault(sternfan.Fault{Code: "missing", Path: lengthPath(p), Text: "only one line of a section may take the rod's setting", Hint: "give this part a length"})
				return
			}
			// A sinking line of no known length is the whole section; its backing is in.
			back := fill
			if p.sinking() {
				fill = i
			} else {
				back = i
			}
			parts[back].open, parts[back].length = false, length{drop: true}
			continue
		}
		fill = i
	}
	if fill < 0 {
		return
	}
	p := &parts[fill]
	directional := device != nil && device.diver != nil && device.diver.Kind != "slide-through"
	switch {
	case directional:
		r.fault(sternfan.Fault{Code: "missing", Path: lengthPath(p), Text: "a line behind a directional diver needs a length",
			Hint: "give it one, or use a slide-through diver"})
	case target.Given:
		r.fill(parts, fill, sum, target.SI(), tipHeight, first, setPath+"."+name, target)
	case sum > 0:
		p.length.drop = true
		for i := range parts {
			if i != fill && parts[i].isLine() && !parts[i].length.drop {
				parts[i].length.fixed += tipHeight
				break
			}
		}
	default:
		r.fault(sternfan.Fault{Code: "missing", Path: setPath + "." + name, Text: "this rig needs the setting " + name})
	}
}

func (r *resolver) fill(parts []measured, fill int, sum, target, tipHeight float64, first bool, path string, given sternfan.Q[unit.Length]) {
	p := &parts[fill]
	l := length{fixed: tipHeight - sum}
	if first {
		l.counter = target
	} else {
		l.lead = target
	}
	n := l.nominal()
	if n < -dropBelow {
		// Less line out than the sinking section is long: the rest of it is on the reel.
		for i := range parts {
			s := &parts[i]
			if i != fill && s.sinking() && s.length.fixed+n > dropBelow {
				l.fixed += s.length.fixed
				s.length = l
				p.length = length{drop: true}
				return
			}
		}
		r.fault(sternfan.Fault{Code: "out-of-range", Path: path, Text: "the parts of this section are longer than the setting", Found: both(given.Value),
			Allowed: []string{"at least " + both(unit.Length(sum-tipHeight))}, Hint: "let out more line or shorten a leader"})
		return
	}
	p.length = l
	p.length.drop = n < dropBelow
}

// join appends a key or an index to a path.
func join(path, key string) string {
	if strings.HasPrefix(key, "[") {
		return path + key
	}
	return path + "." + key
}

// lengthPath is where a part's length is typed: a listed part's own key.
func lengthPath(p *measured) string {
	if strings.HasSuffix(p.path, "]") {
		return p.path + ".length"
	}
	return p.path
}
