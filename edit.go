package sternfan

// Edit is one change of a scenario: a key of one thing takes another value, or a thing
// comes or goes. It names things by their ids and never by their places in a list; what
// has no id, as a point of a temperature profile, changes with the list that it is in.
type Edit struct {
	Do    EditKind `json:"do,omitempty"`    // when not given, a key is set
	Owner string   `json:"owner,omitempty"` // "rods.p1", "gear.lures.spoon-1", "water"; the list for a thing that is added: "rods"
	Key   string   `json:"key,omitempty"`   // of the owner: "settings.lead", "temperature"
	Value string   `json:"value,omitempty"` // as in the file: YAML or JSON
}

// EditKind says what an edit does.
type EditKind string

// The kinds of [Edit].
const (
	EditSet    EditKind = ""       // gives a key a value; keys on the way that are missing are made
	EditAdd    EditKind = "add"    // puts a thing at the end of a list
	EditRemove EditKind = "remove" // takes a key away, or without a key the thing itself
)

// Path returns the owner and key as one path.
func (e *Edit) Path() string {
	if e.Owner == "" || e.Key == "" {
		return e.Owner + e.Key
	}
	return e.Owner + "." + e.Key
}
