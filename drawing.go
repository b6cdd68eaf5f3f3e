package sternfan

// Drawing is a picture without colors or pixels: views with shapes in metres. Renderers
// and the app give it ink; schemes map classes to colors.
type Drawing struct {
	Title  string  `json:"title"`
	Note   string  `json:"note,omitempty"` // under the picture: speed, water, cautions
	Alt    string  `json:"alt"`            // the whole picture in words
	Width  float64 `json:"width_m"`        // of the sheet, metres of the lake at the one scale
	Height float64 `json:"height_m"`
	Sheet  float64 `json:"sheet_mm,omitempty"` // mm that the sheet is laid out to be across; 0 is 297
	Bare   bool    `json:"bare,omitempty"`     // title and note are not drawn: the views hold every word of the page
	Views  []View  `json:"views"`
}

// View is one projection with its frame on the sheet. All views of a drawing share one scale.
type View struct {
	ID     string     `json:"id"` // "side", "above", "astern", or a chart's name
	Title  string     `json:"title"`
	Place  [2]float64 `json:"place"` // sheet coordinates of the frame's upper left corner
	U      Axis       `json:"u"`     // to the right
	V      Axis       `json:"v"`     // downward
	Shapes []Shape    `json:"shapes"`
}

// Axis is the range of a view in metres and its ticks in a person's unit. The sheet
// coordinate of the value x is Place + (x - From) when From < To and Place + (From - x)
// otherwise, so that an axis may run either way.
type Axis struct {
	Label string  `json:"label"` // with unit: "depth (ft)"
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Ticks []Tick  `json:"ticks"`
}

// Tick is a mark on an axis.
type Tick struct {
	At   float64 `json:"at"`
	Text string  `json:"text"`
}

// ShapeKind is the kind of a shape.
type ShapeKind string

// The kinds of shape.
const (
	ShapeLine   ShapeKind = "line"   // an open polyline
	ShapeArea   ShapeKind = "area"   // a closed polygon
	ShapeMarker ShapeKind = "marker" // a sign of fixed size at one point; Sign says which
	ShapeBar    ShapeKind = "bar"    // an interval between two points, with end caps
	ShapeText   ShapeKind = "text"   // words at one point
)

// Shape is one thing drawn, in the view's own coordinates (metres).
type Shape struct {
	Kind   ShapeKind    `json:"kind"`
	Points [][2]float64 `json:"points"`
	Class  string       `json:"class"`          // "line port", "interval starboard", "bottom", "water", "hull", ...
	Sign   string       `json:"sign,omitempty"` // marker: "lure", "diver", "ball", "board", "weight", "tip", "tick"
	Text   string       `json:"text,omitempty"`
	Anchor string       `json:"anchor,omitempty"` // text: "start", "middle", "end"
	Size   float64      `json:"size,omitempty"`   // text: height of its line of letters, meters as the points are; 0 is a label's
	Rod    string       `json:"rod,omitempty"`
	Part   string       `json:"part,omitempty"`
	Alt    string       `json:"alt,omitempty"`
}
