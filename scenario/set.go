package scenario

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/setting"
)

// set applies one flag of the form KEY=VALUE to the tree. What the new value must be is
// for the decoder to say; its faults name the flag.
func (d *decoder) set(flag string) {
	origin := "--set " + clip(flag)
	fault := func(path, code, text, found, hint string, allowed ...string) {
		d.add(sternfan.Fault{File: origin, Path: path, Code: code, Text: text, Found: found, Hint: hint, Allowed: allowed})
	}
	path, text, ok := strings.Cut(flag, "=")
	path, text = strings.TrimSpace(path), strings.TrimSpace(text)
	if !ok || path == "" || text == "" {
		fault("", "bad-flag", "this changes nothing", show(flag), "write KEY=VALUE, as in speed.value=2.6mph")
		return
	}
	if strings.ContainsAny(text, "\n\r") || strings.ContainsAny(text[:1], "[{&*!|>") {
		fault(path, "bad-flag", "a flag gives a single value", show(text), "change lists and maps in the file")
		return
	}
	all := steps(path)
	if len(all) > maxDepth {
		fault(path, "too-deep", "this key is nested too deeply", fmt.Sprintf("%d levels", len(all)), "")
		return
	}
	value := &node{kind: kindScalar, text: text, flag: origin}
	if len(text) >= 2 && (text[0] == '"' || text[0] == '\'') && text[len(text)-1] == text[0] {
		value.text, value.quoted = text[1:len(text)-1], true
	}
	d.root = d.root.shallow()
	n := d.root
	for i, s := range all {
		last := i == len(all)-1
		next := n.take(s)
		if next != nil {
			next = n.mine(next)
		}
		switch {
		case last && next != nil && next.kind == kindMap && next.child("value") != nil:
			// The value of a map {value, sd, source}: its uncertainty stays.
			next.put("value", value)
		case last && n.kind == kindMap && s.index < 0:
			n.put(s.name, value)
		case last && next != nil && next.kind != kindMap && next.kind != kindList:
			*next = *value
		case last && next != nil:
			fault(path, "wrong-type", "a flag gives a single value, and this is "+next.kind.String(), show(text), "name the key inside it")
		case next != nil && (next.kind == kindMap || next.kind == kindList):
			n = next
		case next == nil && n.kind == kindMap && s.index < 0:
			made := &node{kind: kindMap, flag: origin}
			n.put(s.name, made)
			n = made
		case next != nil && next.kind == kindScalar && i == len(all)-2 && all[i+1].name == "value":
			*next = *value
			return
		case next == nil && n.kind == kindList:
			var ids []string
			for _, item := range n.items {
				if id := item.child("id"); id != nil {
					ids = append(ids, id.text)
				}
			}
			name := s.name
			if s.index >= 0 {
				name = "[" + strconv.Itoa(s.index) + "]"
			}
			fault(path, "unknown-key", "the list has no such entry", show(name), sternfan.DidYouMean(name, ids, "name an entry by its id or by its number from 0"), ids...)
			return
		default:
			fault(path, "unknown-key", "there is nothing inside a single value", show(s.name), "")
			return
		}
	}
}

func (n *node) put(name string, value *node) {
	for i := range n.keys {
		if n.keys[i].name == name {
			n.keys[i].value = value
			return
		}
	}
	n.keys = append(n.keys, entry{name: name, value: value})
}

// ChangeRod gives one thing of a rod what a person wrote as "line_out=180ft", "lure=spoon-light"
// or "cable_out=60 ft": a setting, the gear of its first part of a kind, or a setting of
// the device that it is clipped to. What was said of the old value's uncertainty stays.
// Errors are [sternfan.Faults], which name the change. The parts that it changes are
// copied; that the gear exists is not checked.
func ChangeRod(sc *sternfan.Scenario, r *sternfan.Rod, change string) error {
	name, text, _ := strings.Cut(change, "=")
	name, text = strings.TrimSpace(name), strings.TrimSpace(text)
	d := &decoder{}
	value := &node{kind: kindScalar, text: text, flag: clip(change)}
	path := "rods." + r.ID + "."
	parts := r.Rig.Parts
	switch i := slices.IndexFunc(parts, func(p sternfan.Part) bool { return string(p.Kind) == name }); {
	case text == "":
		d.at(value, path+name, sternfan.Fault{Code: "bad-flag", Text: "this changes nothing", Found: show(change), Hint: "write KEY=VALUE, as in line_out=180ft"})
	case i >= 0:
		r.Rig.Parts = slices.Clone(parts)
		p := sternfan.Part{}
		part{}.decode(d, &node{kind: kindMap, keys: []entry{{name: name, value: value}}}, path+"rig.parts", &p)
		r.Rig.Parts[i].Gear, r.Rig.Parts[i].On = p.Gear, p.On
	default:
		row, ok := setting.Find(name)
		if !ok {
			d.at(value, path+name, sternfan.Fault{Code: "unknown-key", Text: fmt.Sprintf("%s has nothing called %q to change", r.ID, clip(name)), Allowed: setting.IDs(),
				Hint: sternfan.DidYouMean(name, setting.IDs(), "gear is named by its part, as in lure=spoon-light")})
			break
		}
		on := setting.Of(sc, r)
		if row.In(on) == nil {
			d.at(value, path+name, sternfan.Fault{Code: "conflict", Text: fmt.Sprintf("%s is on no %s, so it has no %s", r.ID, row.Owner, name)})
			break
		}
		f := settingField(row, func(on *setting.On) setting.On { return *on })
		if was := f.encode(&on); was != nil && was.child("value") != nil {
			was.put("value", value)
			value = was
		}
		f.decode(d, value, path+"settings."+name, &on)
	}
	return d.done()
}
