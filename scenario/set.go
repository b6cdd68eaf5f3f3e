package scenario

import (
	"fmt"
	"strconv"
	"strings"

	"sternfan"
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
			fault(path, "unknown-key", "the list has no such entry", show(name), didYouMean(name, ids, "name an entry by its id or by its number from 0"), ids...)
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
