package report

import (
	_ "embed"
	"encoding/json"
	"html"
	"io"
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

//go:embed turnpage.html
var turnPage string

// pageTurn is what the page of a manoeuvre draws; lines in the boat's frame, centimeters.
type pageTurn struct {
	Every  float64       `json:"every"`
	Boat   [][3]float64  `json:"boat"` // x, y over ground, heading
	Extent pageExtent    `json:"extent"`
	Unit   pageUnit      `json:"unit"`
	Step   float64       `json:"step"` // m between the marks of depth
	Bottom float64       `json:"bottom"`
	Hull   [][3]float64  `json:"hull"`
	Beside []pageFitting `json:"beside"`
	Tracks []pageTrack   `json:"tracks"`
	Pairs  []pagePassing `json:"pairs"`
}

// pageFitting is a part of a kicker or a speed bag in one view.
type pageFitting struct {
	View   string       `json:"view"`
	Area   bool         `json:"area"`
	Name   string       `json:"name"`
	Points [][2]float64 `json:"points"` // m
}

type pageExtent struct {
	Astern [2]float64 `json:"astern"`
	Side   [2]float64 `json:"side"`
	Depth  [2]float64 `json:"depth"`
}

type pageUnit struct {
	Label string  `json:"label"`
	Per   float64 `json:"per"` // to the meter
}

type pageTrack struct {
	ID     string     `json:"id"`
	Name   string     `json:"name"`
	Side   int        `json:"side"`
	Device bool       `json:"device"`
	Chains [][][]int  `json:"chains"` // by chain and sample: x, y, z, x, y, z, ...
	Lures  [][][3]int `json:"lures"`  // by lure and sample
}

type pagePassing struct {
	A    string     `json:"a"`
	B    string     `json:"b"`
	N    int        `json:"n"` // sample
	Text string     `json:"text"`
	AtA  [3]float64 `json:"at_a"`
	AtB  [3]float64 `json:"at_b"`
}

// TurnPage writes one self-contained page, without network: the words, the lines plan in
// motion with a slider of time, and the nearest passes to step to. The turn must hold its
// lines' shapes.
func TurnPage(w io.Writer, t *sternfan.Turn, opt Options) error {
	data, err := json.Marshal(newPageTurn(t, opt)) // with <, > and & escaped
	if err != nil {
		return err
	}
	paragraphs := func(lines []string, class string) string {
		var b strings.Builder
		for _, s := range lines {
			b.WriteString("<p" + class + ">" + html.EscapeString(s) + "</p>\n")
		}
		return b.String()
	}
	notes := append([]string{linesOnly + " Predicted, with the intervals that run of the same file gives."}, turnCautions(t)...)
	notes = append(notes, Cautions(&sternfan.Fan{}, opt.Scenario)...)
	title := "Lines plan in motion"
	if t.Name != "" {
		title = clean(t.Name)
	}
	page := strings.NewReplacer(
		"{{TITLE}}", html.EscapeString(title),
		"{{WORDS}}", paragraphs(append(TurnWords(t, opt), trackWarnings(t)...), ""),
		"{{NOTES}}", paragraphs(notes, ` class="quiet"`),
		"{{DATA}}", string(data),
	).Replace(turnPage)
	_, err = io.WriteString(w, page)
	return err
}

// newPageTurn gathers what the page draws.
func newPageTurn(t *sternfan.Turn, opt Options) *pageTurn {
	p := &pageTurn{Every: t.Every, Boat: [][3]float64{}, Hull: [][3]float64{}, Beside: []pageFitting{}, Tracks: []pageTrack{}, Pairs: []pagePassing{}}
	for _, b := range t.Boat {
		p.Boat = append(p.Boat, [3]float64{b.X, b.Y, b.Heading})
	}
	f := frame{asternTo: 1, sideFrom: -3, sideTo: 3, depthFrom: -2, depthTo: 6}
	for i := range t.Tracks {
		p.Tracks = append(p.Tracks, newPageTrack(t, &t.Tracks[i], &f))
	}
	if opt.Scenario != nil {
		p.addBoat(opt.Scenario, &f)
	}
	p.Extent = pageExtent{[2]float64{f.asternFrom - 2, f.asternTo + 2}, [2]float64{f.sideFrom - 2, f.sideTo + 2}, [2]float64{f.depthFrom - 1, f.depthTo + 3}}
	p.Unit, p.Step = pageUnit{opt.Units.Label(unit.DepthStyle), 1}, 5
	if opt.Units == unit.US {
		p.Unit.Per, p.Step = 1/float64(unit.Foot), 20*float64(unit.Foot)
	}
	for i := range t.Pairs[:min(pairsShown, len(t.Pairs))] {
		q := &t.Pairs[i]
		p.Pairs = append(p.Pairs, pagePassing{q.A, q.B, int(math.Round(q.T / t.Every)), when(t, q.T) + ": " + passWords(t, q, opt), q.AtA, q.AtB})
	}
	return p
}

// newPageTrack returns the lines and lures of one track in the boat's frame, and widens
// the frame to hold its lines.
func newPageTrack(t *sternfan.Turn, tr *sternfan.TurnTrack, f *frame) pageTrack {
	cm := func(v float64) int { return int(math.Round(100 * v)) }
	out := pageTrack{ID: tr.Rod, Name: partyName(t, tr.Rod), Side: tr.Side, Device: tr.Device, Chains: [][][]int{}, Lures: [][][3]int{}}
	for _, chains := range tr.Lines {
		for k, line := range chains {
			for len(out.Chains) <= k {
				out.Chains = append(out.Chains, nil)
			}
			flat := make([]int, 0, 3*len(line))
			for _, q := range line {
				f.widen(-q[0], q[1], q[2])
				flat = append(flat, cm(q[0]), cm(q[1]), cm(q[2]))
			}
			out.Chains[k] = append(out.Chains[k], flat)
		}
	}
	for _, q := range lurePoints(tr) {
		var at [][3]int
		for n, r := range q.At {
			sin, cos := math.Sincos(t.Boat[n].Heading)
			x, y := r[0]-t.Boat[n].X, r[1]-t.Boat[n].Y
			at = append(at, [3]int{cm(cos*x + sin*y), cm(cos*y - sin*x), cm(r[2])})
		}
		out.Lures = append(out.Lures, at)
	}
	return out
}

// addBoat adds the hull, what hangs in the water beside it, and the bottom, and widens the
// frame to hold the boat.
func (p *pageTurn) addBoat(sc *sternfan.Scenario, f *frame) {
	for _, q := range sc.Boat.Hull {
		p.Hull = append(p.Hull, [3]float64{q.X, q.Y, q.Z})
		f.widen(-q.X, q.Y, q.Z)
	}
	for _, v := range []struct {
		name    string
		project projection
		widen   func(q [2]float64)
	}{
		{"side", fromSide, func(q [2]float64) { f.widen(q[0], 0, q[1]) }},
		{"above", fromAbove, func(q [2]float64) { f.widen(q[0], q[1], 0) }},
		{"astern", fromAstern, func(q [2]float64) { f.widen(0, q[0], q[1]) }},
	} {
		for _, s := range fittings(sc, v.project) {
			p.Beside = append(p.Beside, pageFitting{v.name, s.Kind == sternfan.ShapeArea, capital(s.Alt), s.Points})
			for _, q := range s.Points {
				v.widen(q)
			}
		}
	}
	p.Bottom = sc.Water.Bottom.SI()
}
