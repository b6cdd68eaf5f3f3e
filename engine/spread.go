package engine

import (
	"errors"
	"strings"

	"sternfan"
	"sternfan/bench"
	"sternfan/report"
	"sternfan/setting"
	"sternfan/unit"
	"sternfan/verdict"
)

// Nothing is an empty request.
type Nothing struct{}

// Versions says what answers.
type Versions struct {
	API  int `json:"api"`
	File int `json:"file"` // version of the scenario file
	Link int `json:"link"` // version of the payload of links made here
}

func (e *Engine) version(*Call, *Nothing) (*Versions, error) {
	return &Versions{Version, sternfan.FileVersion, LinkVersion}, nil
}

// Checked is what a scenario holds and what is wrong with it.
type Checked struct {
	Faults   []sternfan.Fault `json:"faults"`
	Name     string           `json:"name"`
	Note     string           `json:"note"`
	Rods     []RodName        `json:"rods"`
	Devices  []RodName        `json:"devices"`
	Refused  []string         `json:"refused"`  // rods that cannot be fished as described
	Registry []RegistryEntry  `json:"registry"` // every uncertain input
}

// RodName is a rod or a device, by what the crew calls it.
type RodName struct {
	ID       string   `json:"id"`
	Position string   `json:"position"`
	Kind     string   `json:"kind"` // of the rig; "downrigger" or "mast-board" of a device
	Side     int      `json:"side"` // -1 port, +1 starboard
	Fixed    bool     `json:"fixed,omitempty"`
	Device   string   `json:"device,omitempty"` // downrigger or mast board that the rod is on
	Marks    []string `json:"marks,omitempty"`  // settings of the rod that a hand may change: keys under settings
}

// RegistryEntry is one uncertain input.
type RegistryEntry struct {
	Name    string  `json:"name"`
	Scope   string  `json:"scope"`
	Nominal float64 `json:"nominal"` // SI
	Unit    string  `json:"unit"`
	Spread  string  `json:"spread"` // "normal", "lognormal", "uniform", "exact"
	SD      float64 `json:"sd"`     // in the unit; lognormal: relative
	Source  string  `json:"source"`
}

// CheckAsk is a scenario to look through.
type CheckAsk struct {
	Given
	Registry bool `json:"registry,omitempty"` // list the uncertain inputs too
}

// Check looks a scenario through: its faults are the answer.
func (e *Engine) Check(_ *Call, ask *CheckAsk) (*Checked, error) {
	sc, m, err := e.model(&ask.Given)
	var faults sternfan.Faults
	if errors.As(err, &faults) {
		return &Checked{Faults: faults}, nil
	}
	if err != nil {
		return nil, err
	}
	out := &Checked{Name: sc.Name, Note: sc.Note}
	for i := range sc.Rods {
		r, info := &sc.Rods[i], &m.Rods[i]
		rod := RodName{ID: r.ID, Position: info.Position, Kind: string(r.Rig.Kind), Side: int(info.Side), Fixed: r.Fixed, Device: r.Rig.Downrigger + r.Rig.MastBoard}
		if rod.Position == "" {
			rod.Position = r.Holder
		}
		for row := range setting.Rows {
			if row.Owner == setting.Rod && row.Get(setting.Of(sc, r)).Given {
				rod.Marks = append(rod.Marks, row.Key)
			}
		}
		out.Rods = append(out.Rods, rod)
	}
	for _, d := range sc.Downriggers {
		out.Devices = append(out.Devices, RodName{ID: d.ID, Position: "downrigger " + d.ID, Kind: "downrigger"})
	}
	for _, b := range sc.MastBoards {
		out.Devices = append(out.Devices, RodName{ID: b.ID, Position: "mast board " + b.ID, Kind: "mast-board", Side: int(b.Side)})
	}
	for _, r := range m.Refused {
		out.Refused = append(out.Refused, sc.Rods[r.Rod].ID)
	}
	if ask.Registry {
		for _, r := range m.Registry {
			out.Registry = append(out.Registry, RegistryEntry{r.Name, string(r.Scope), r.Nominal, r.Unit, r.Scatter.Kind.String(), r.Scatter.SD, r.Source})
		}
	}
	return out, nil
}

// SpreadAsk asks where everything runs.
type SpreadAsk struct {
	Given
	Intervals bool `json:"intervals,omitempty"` // find the 80 % interval of every depth
	Fan       bool `json:"fan,omitempty"`       // answer the fan
	Plan      bool `json:"plan,omitempty"`      // answer the lines plan
	Boat      bool `json:"boat,omitempty"`      // answer the lines plan with the boat alone on it
	Curves    bool `json:"curves,omitempty"`    // answer the curves and the water, for one who draws them
}

// Spread is the whole boat solved.
type Spread struct {
	Headline string             `json:"headline"` // what a captain reads first
	Verdict  sternfan.Verdict   `json:"verdict"`
	Missing  []sternfan.Missing `json:"missing,omitempty"` // what the answer does not cover
	Rows     []report.Row       `json:"rows"`
	Units    report.Row         `json:"units"` // of the rows' columns
	Cautions []string           `json:"cautions"`
	Tracks   []TrackState       `json:"tracks"`
	Warnings []sternfan.Warning `json:"warnings"` // of the boat as a whole
	Speed    sternfan.SpeedFan  `json:"speed"`
	Fan      *sternfan.Fan      `json:"fan,omitempty"`
	Plan     *sternfan.Drawing  `json:"plan,omitempty"`
	Water    *sternfan.WaterFan `json:"water,omitempty"`  // with the curves
	Curves   []Curves           `json:"curves,omitempty"` // of the tracks, in their order
	Points   Points             `json:"points,omitempty" ts:"ArrayLike<number>"`
}

// TrackState is a rod or device without its curves.
type TrackState struct {
	Rod       string             `json:"rod"`
	Device    bool               `json:"device,omitempty"`
	Position  string             `json:"position"`
	Side      int                `json:"side"`
	Status    sternfan.Status    `json:"status"`
	LineOut   float64            `json:"line_out_m"`
	TipPull   float64            `json:"tip_pull_n"`
	LineAngle float64            `json:"line_angle_deg"`
	Settings  string             `json:"settings"`
	Bodies    []sternfan.BodyFan `json:"bodies"`
	Lures     []sternfan.LureFan `json:"lures"`
	Warnings  []sternfan.Warning `json:"warnings"`
}

func stateOf(t *sternfan.Track, device bool) TrackState {
	return TrackState{t.Rod, device, t.Position, t.Side, t.Status, t.LineOut, t.TipPull, t.LineAngle, t.Settings, t.Bodies, t.Lures, t.Warnings}
}

// Spread solves the whole boat.
func (e *Engine) Spread(c *Call, ask *SpreadAsk) (*Spread, error) {
	sc, m, err := e.model(&ask.Given)
	if err != nil {
		return nil, err
	}
	s := e.session(&ask.Given, sc)
	s.Step = func(done, of int) { c.progress(Progress{Done: done, Of: of}) }
	_, err = s.Settle(c.Ctx, m, ask.Intervals)
	s.Step = nil
	if err != nil {
		return nil, err
	}
	fan := s.Fan()
	u := ask.system()
	verdict.Judge(m, fan, u)
	fan.Verdict.Headline = report.Headline(fan, u)
	out := &Spread{Headline: fan.Verdict.Headline, Verdict: *fan.Verdict, Missing: fan.Missing, Rows: report.Rows(fan, u), Units: report.RowUnits(u),
		Cautions: report.Cautions(fan, sc), Speed: fan.Speed, Warnings: fan.Warnings}
	for i := range fan.Rods {
		out.Tracks = append(out.Tracks, stateOf(&fan.Rods[i], false))
	}
	for i := range fan.Devices {
		out.Tracks = append(out.Tracks, stateOf(&fan.Devices[i], true))
	}
	if ask.Fan {
		out.Fan = fan
	}
	if ask.Curves {
		out.Water = &fan.Water
		for i := range fan.Rods {
			out.Curves = append(out.Curves, Curves{out.Points.add(&fan.Rods[i])})
		}
		for i := range fan.Devices {
			out.Curves = append(out.Curves, Curves{out.Points.add(&fan.Devices[i])})
		}
	}
	if ask.Boat {
		out.Plan = report.BoatPlan(fan, sc, reporting(&ask.Given, sc))
	}
	if ask.Plan {
		out.Plan = report.LinesPlan(fan, sc, reporting(&ask.Given, sc))
	}
	return out, nil
}

// Moved is what a change moved: the tracks of the groups that had to be solved again.
type Moved struct {
	Tracks []MovedTrack      `json:"tracks"`
	Speed  sternfan.SpeedFan `json:"speed"`
	Points Points            `json:"points,omitempty" ts:"ArrayLike<number>"`
}

// Points holds curves' points, x y z after one another, m, boat frame (x forward, y to
// starboard, z down). In the browser it is a Float32Array beside the JSON.
type Points []float32

// add appends a track's curves and returns where each stands.
func (p *Points) add(t *sternfan.Track) []MovedPart {
	parts := make([]MovedPart, len(t.Parts))
	for i, part := range t.Parts {
		parts[i] = MovedPart{part.ID, part.Kind, len(*p) / 3, len(part.Points)}
		for _, q := range part.Points {
			*p = append(*p, float32(q[0]), float32(q[1]), float32(q[2]))
		}
	}
	return parts
}

// TakePoints returns the points of an answer that has any and takes them out of it.
func TakePoints(answer any) Points {
	var p Points
	if a, ok := answer.(interface{ points() *Points }); ok {
		p, *a.points() = *a.points(), nil
	}
	return p
}

func (a *Moved) points() *Points  { return &a.Points }
func (a *Spread) points() *Points { return &a.Points }

// Curves says which of the points are a track's curves.
type Curves struct {
	Parts []MovedPart `json:"parts"`
}

// MovedTrack is one rod or device that moved.
type MovedTrack struct {
	TrackState
	Parts []MovedPart  `json:"parts"`
	Rows  []report.Row `json:"rows"` // as in the table; without intervals
}

// MovedPart says which of the points are a part's curve, tip first.
type MovedPart struct {
	ID    string            `json:"id"`
	Kind  sternfan.PartKind `json:"kind"`
	From  int               `json:"from"` // index of the first point: its x stands at 3 from
	Count int               `json:"count"`
}

func (e *Engine) move(c *Call, ask *Given) (*Moved, error) {
	sc, m, err := e.model(ask)
	if err != nil {
		return nil, err
	}
	s := e.session(ask, sc)
	changed, err := s.Move(c.Ctx, m)
	if err != nil {
		return nil, err
	}
	out := &Moved{Speed: s.Speed()}
	add := func(t *sternfan.Track, device bool) {
		out.Tracks = append(out.Tracks, MovedTrack{stateOf(t, device), out.Points.add(t), report.RowsOf(t, ask.system(), device)})
	}
	for _, g := range changed {
		rods, device := s.Tracks(g)
		for _, t := range rods {
			add(t, false)
		}
		if device != nil {
			add(device, true)
		}
	}
	return out, nil
}

// PathsAsk asks for one rod's possibilities.
type PathsAsk struct {
	Given
	Rod       string `json:"rod"`
	Intervals bool   `json:"intervals,omitempty"`
	Drawing   bool   `json:"drawing,omitempty"` // answer the view from astern with the paths on it
}

// PathsAnswer is one rod's possibilities.
type PathsAnswer struct {
	Paths   *sternfan.Paths   `json:"paths"`
	Drawing *sternfan.Drawing `json:"drawing,omitempty"`
}

// Paths solves one rod over its range.
func (e *Engine) Paths(c *Call, ask *PathsAsk) (*PathsAnswer, error) {
	sc, m, err := e.model(&ask.Given)
	if err != nil {
		return nil, err
	}
	p, err := bench.New(sc, m, options(&ask.Given, sc)).Paths(c.Ctx, ask.Rod, ask.Intervals)
	if err != nil {
		return nil, err
	}
	out := &PathsAnswer{Paths: p}
	if ask.Drawing {
		s := e.session(&ask.Given, sc)
		if _, err := s.Settle(c.Ctx, m, ask.Intervals); err != nil {
			return nil, err
		}
		fan := s.Fan()
		verdict.Judge(m, fan, ask.system())
		out.Drawing = report.PathsDrawing(p, fan, reporting(&ask.Given, sc))
	}
	return out, nil
}

// SpeedsAsk asks which speed to hold.
type SpeedsAsk struct {
	Given
	At   string `json:"at"`   // "ball", a downrigger's id, or a depth as in "60 ft"
	Want string `json:"want"` // speed through the water there, as in "2.2 mph"
}

// SpeedsAnswer is the table and the same in words.
type SpeedsAnswer struct {
	Table *sternfan.SpeedTable `json:"table"`
	Words string               `json:"words"`
}

// Speeds works out which speed to hold.
func (e *Engine) Speeds(c *Call, ask *SpeedsAsk) (*SpeedsAnswer, error) {
	sc, m, err := e.model(&ask.Given)
	if err != nil {
		return nil, err
	}
	want, err := unit.ParseSpeed(ask.Want)
	if err != nil {
		return nil, unitFault(err, "want", ask.Want)
	}
	t, err := bench.New(sc, m, options(&ask.Given, sc)).Speeds(c.Ctx, ask.At, float64(want))
	if err != nil {
		return nil, err
	}
	var words strings.Builder
	if err := report.SpeedTable(&words, t, ask.system()); err != nil {
		return nil, err
	}
	return &SpeedsAnswer{t, words.String()}, nil
}
