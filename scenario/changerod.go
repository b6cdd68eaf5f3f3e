package scenario

import (
	"fmt"
	"slices"
	"strings"

	"sternfan"
	"sternfan/setting"
)

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
