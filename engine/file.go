package engine

import (
	"errors"
	"fmt"
	"strconv"

	"sternfan"
	"sternfan/scenario"
	"sternfan/tackle"
	"sternfan/unit"
	"sternfan/wire"
)

// EditAsk asks for the file after edits. What the new values must be is checked too
// unless Loose is set: a form half filled in may be kept.
type EditAsk struct {
	Text  string          `json:"text"`
	Name  string          `json:"name,omitempty"`
	Edits []sternfan.Edit `json:"edits"`
	Loose bool            `json:"loose,omitempty"`
}

// FileText is a scenario file.
type FileText struct {
	Text string `json:"text"`
}

func (e *Engine) edit(_ *Call, ask *EditAsk) (*FileText, error) {
	given := Given{Text: ask.Text, Name: ask.Name}
	doc, err := e.document(&given)
	if err != nil {
		return nil, err
	}
	next, err := doc.Edit(ask.Edits...)
	if err != nil {
		return nil, err
	}
	if next != doc {
		e.read = readFile{text: next.Text(), name: given.name(), doc: next} // it will be asked about next
	}
	if !ask.Loose {
		given.Text = next.Text()
		if _, _, err := e.model(&given); err != nil {
			return nil, err
		}
	}
	return &FileText{next.Text()}, nil
}

// Expand writes a file out in full.
func (e *Engine) Expand(_ *Call, ask *Given) (*FileText, error) {
	_, m, err := e.model(ask)
	if err != nil {
		return nil, err
	}
	text, err := scenario.Encode(m.Expanded())
	if err != nil {
		return nil, err
	}
	return &FileText{string(text)}, nil
}

// Form is a file key by key: objects, arrays, and every single value as the text that
// stands in the file.
type Form struct {
	File wire.Raw `json:"file" ts:"FormValue"`
}

func (e *Engine) form(_ *Call, ask *Given) (*Form, error) {
	doc, err := e.document(ask)
	if err != nil {
		return nil, err
	}
	return &Form{doc.JSON()}, nil
}

// GearAsk asks which gear there is. The text may be empty: then only what is built in.
type GearAsk struct {
	Text string `json:"text,omitempty"`
	Full bool   `json:"full,omitempty"` // every field of the built-in gear too
}

// GearAnswer is the gear by kind.
type GearAnswer struct {
	Kinds []GearKind `json:"kinds"`
	// BuiltIn is the built-in gear written out as in a file, by the keys of the kinds:
	// each number with its uncertainty and source.
	BuiltIn wire.Raw `json:"built_in,omitempty" ts:"FormValue"`
}

// GearKind is the gear of one kind.
type GearKind struct {
	Kind    string     `json:"kind"` // "line", "lure", ...: also the key of a part of a rig
	Key     string     `json:"key"`  // of the list under gear: "lines", "lures", ...
	Own     []GearName `json:"own"`  // the file's
	BuiltIn []GearName `json:"built_in"`
}

// GearName is one piece of gear.
type GearName struct {
	ID   string `json:"id"`
	Kind string `json:"kind"` // "braid", "spoon", ...
	From string `json:"from,omitempty"`
}

func (e *Engine) gear(_ *Call, ask *GearAsk) (*GearAnswer, error) {
	var own sternfan.Gear
	if ask.Text != "" {
		sc, _, err := e.model(&Given{Text: ask.Text})
		var faults sternfan.Faults
		switch {
		case err == nil:
			own = sc.Gear
		case !errors.As(err, &faults): // a faulty file still may use what is built in
			return nil, err
		}
	}
	out := &GearAnswer{Kinds: gearKinds(&own, tackle.Builtins())}
	if ask.Full {
		out.BuiltIn = scenario.GearJSON(tackle.Builtins())
	}
	return out, nil
}

func gearKinds(own, built *sternfan.Gear) []GearKind {
	names := func(items []*sternfan.Item) []GearName {
		out := make([]GearName, len(items))
		for i, it := range items {
			out[i] = GearName{it.ID, it.Kind, it.From}
		}
		return out
	}
	var out []GearKind
	for _, kind := range sternfan.GearKinds {
		out = append(out, GearKind{kind, kind + "s", names(own.Items(kind)), names(built.Items(kind))})
	}
	return out
}

// QuantityAsk asks for quantities as they are shown.
type QuantityAsk struct {
	Units string         `json:"units,omitempty"`
	Items []QuantityItem `json:"items"`
}

// QuantityItem is a quantity as a person writes it, or its SI value.
type QuantityItem struct {
	Kind string   `json:"kind"` // "length", "small" (a small length), "speed", "force", "mass", "small-mass", "angle", "temperature"
	Text string   `json:"text,omitempty"`
	SI   *float64 `json:"si,omitempty"`
}

// QuantityAnswer holds the quantities in the order asked.
type QuantityAnswer struct {
	Items []Quantity `json:"items"`
}

// Quantity is a value with how it is shown.
type Quantity struct {
	SI     float64 `json:"si"`
	Text   string  `json:"text"`   // number and unit as shown, rounded
	Number string  `json:"number"` // of the two, the number
	Unit   string  `json:"unit"`
}

func (e *Engine) quantity(_ *Call, ask *QuantityAsk) (*QuantityAnswer, error) {
	u := (&Given{Units: ask.Units}).system()
	out := &QuantityAnswer{}
	var faults sternfan.Faults
	for i, item := range ask.Items {
		style, read, ok := quantityKind(item.Kind)
		path := "items[" + strconv.Itoa(i) + "]"
		if !ok {
			return nil, &BadAsk{fmt.Errorf("%s: there is no kind of quantity %.40q", path, item.Kind)}
		}
		var si float64
		if item.SI != nil {
			si = *item.SI
		} else {
			var err error
			if si, err = read(item.Text); err != nil {
				faults = append(faults, unitFault(err, path, item.Text)...)
				continue
			}
		}
		q := Quantity{SI: si, Text: u.Text(style, si)}
		q.Number, q.Unit = u.Split(style, si)
		out.Items = append(out.Items, q)
	}
	if len(faults) > 0 {
		return nil, faults
	}
	return out, nil
}

func quantityKind(kind string) (unit.Style, func(string) (float64, error), bool) {
	switch kind {
	case "length":
		return unit.DepthStyle, reader[unit.Length], true
	case "small":
		return unit.SmallStyle, reader[unit.Length], true
	case "speed":
		return unit.SpeedStyle, reader[unit.Speed], true
	case "force":
		return unit.ForceStyle, reader[unit.Force], true
	case "mass":
		return unit.MassStyle, reader[unit.Mass], true
	case "small-mass":
		return unit.SmallMassStyle, reader[unit.Mass], true
	case "angle":
		return unit.AngleStyle, reader[unit.Angle], true
	case "temperature":
		return unit.TemperatureStyle, reader[unit.Temperature], true
	}
	return 0, nil, false
}

func reader[T unit.Quantity](text string) (float64, error) {
	v, err := unit.Parse[T](text)
	return float64(v), err
}

// unitFault makes a fault of what a person wrote for a quantity.
func unitFault(err error, path, found string) sternfan.Faults {
	f := sternfan.Fault{Code: "wrong-unit", Path: path, Text: err.Error(), Found: found}
	var ue *unit.Error
	if errors.As(err, &ue) {
		f.Text, f.Allowed, f.Hint = ue.Quantity+" "+ue.Problem, ue.Allowed, ue.Hint
	}
	return sternfan.Faults{f}
}
