package manoeuvre

import (
	"fmt"
	"math"
	"slices"

	"sternfan"
	"sternfan/geom"
	"sternfan/spread"
	"sternfan/tow/dynamics"
)

// turnLog keeps what a run of the fleet goes through.
type turnLog struct {
	f      *fleet
	boat   []sternfan.TurnPose
	tracks []sternfan.TurnTrack
	nodes  [][]int // of each track's points, the tip's first
	tips   []int   // the line at each track's tip
	party  []int
	lines  bool
	shapes int // samples from one shape to the next; 0: none are kept
}

// draws reports whether the lines' shapes are kept at a sample.
func (log *turnLog) draws(sample int) bool {
	return log.lines || log.shapes > 0 && sample%log.shapes == 0
}

func newTurnLog(f *fleet, fan *sternfan.Fan, lines bool) *turnLog {
	log := &turnLog{f: f, lines: lines}
	for i := range f.parties {
		p := &f.parties[i]
		if p.mover < 0 {
			continue
		}
		g := f.movers[p.mover].g
		ref := &f.s.model.Groups[g.Index]
		t := sternfan.TurnTrack{Rod: p.course.ID, Device: p.rod < 0, Status: sternfan.StatusOK, Warnings: []sternfan.Warning{}}
		from := &fan.Devices
		if p.rod >= 0 {
			from = &fan.Rods
		}
		for k := range *from {
			if (*from)[k].Rod == t.Rod {
				t.Position, t.Side = (*from)[k].Position, (*from)[k].Side
			}
		}
		tip := g.TipLine(ref, p.rod)
		if tip < 0 {
			tip = p.chains[0].lines[0]
		}
		end := g.Sys.Lines[tip].To
		if g.FromTip(tip) {
			end = g.Sys.Lines[tip].From
		}
		nodes := []int{end}
		t.Points = append(t.Points, sternfan.TurnPoint{ID: "tip", Kind: "tip"})
		for n := range ref.Nodes {
			r := &ref.Nodes[n]
			if r.Rod != p.rod || r.Kind == "" || r.Kind == "tip" {
				continue
			}
			q := sternfan.TurnPoint{ID: r.ID, Kind: r.Kind, Lure: r.Lure}
			if r.Lure {
				q.Kind = f.s.LureKind(r.Gear)
				if r.WindowHi > 0 {
					q.Window = &[2]float64{r.WindowLo, r.WindowHi}
				}
			}
			q.DepthLo, q.DepthHi = g.Band(n)
			t.Points = append(t.Points, q)
			nodes = append(nodes, n)
		}
		log.tracks, log.nodes, log.tips, log.party = append(log.tracks, t), append(log.nodes, nodes), append(log.tips, tip), append(log.party, i)
	}
	return log
}

// record keeps the state at time t, that of a sample.
func (log *turnLog) record(f *fleet, t float64, sample int) {
	log.boat = append(log.boat, sternfan.TurnPose{T: t, X: f.pose.At.X, Y: f.pose.At.Y, Heading: f.pose.Heading})
	for i := range log.tracks {
		track := &log.tracks[i]
		p := &f.parties[log.party[i]]
		v := &f.movers[p.mover]
		if v.status != dynamics.OK {
			continue
		}
		idle := v.asleep || p.in
		if log.shapes > 0 && sample%log.shapes == 0 {
			log.shape(track, p, idle)
		}
		if idle {
			log.idle(i, p)
			continue
		}
		for k, n := range log.nodes[i] {
			q := &track.Points[k]
			r, _ := v.run.Node(n)
			q.At = append(q.At, [3]float64{r.X, r.Y, r.Z})
			q.Through = append(q.Through, v.run.Flow(n).Norm())
		}
		track.TipPull = append(track.TipPull, v.g.AtTip(log.tips[i], v.run.Tension))
		if log.lines {
			var chains [][][3]float64
			for k := range p.bufs {
				var line [][3]float64
				for _, q := range p.bufs[k].Points {
					line = append(line, [3]float64{q.X, q.Y, q.Z})
				}
				chains = append(chains, line)
			}
			track.Lines = append(track.Lines, chains)
		}
	}
}

// How a shape is thinned.
const (
	shapesEvery = 2.0  // s from one to the next
	shapePoints = 14   // of a chain at most
	shapeSag    = 0.05 // m that a point left out may lie off the line drawn
)

// shape keeps the chains of a party for a drawing.
func (log *turnLog) shape(track *sternfan.TurnTrack, p *party, idle bool) {
	for len(track.Shapes) < len(p.bufs) {
		track.Shapes = append(track.Shapes, nil)
	}
	for k := range p.bufs {
		flat := []int{}
		if !idle {
			points := p.bufs[k].Points
			for _, n := range telling(points, shapePoints, shapeSag) {
				q := points[n]
				flat = append(flat, int(math.Round(100*q.X)), int(math.Round(100*q.Y)), int(math.Round(100*q.Z)))
			}
		}
		track.Shapes[k] = append(track.Shapes[k], flat)
	}
}

// telling returns which points of a curve draw it best: its ends, then again and again the
// point farthest off the line so far, until none is farther off than sag or there are enough
// (Douglas & Peucker 1973, Cartographica 10:112).
func telling(p []geom.Vec, most int, sag float64) []int {
	if len(p) < 2 {
		return make([]int, len(p))
	}
	keep := []int{0, len(p) - 1}
	for len(keep) < most {
		far, at, put := sag, -1, 0
		for k := 1; k < len(keep); k++ {
			a, b := p[keep[k-1]], p[keep[k]]
			d := b.Sub(a)
			for n := keep[k-1] + 1; n < keep[k]; n++ {
				w := p[n].Sub(a)
				if d2 := d.Dot(d); d2 > 0 {
					w = w.AddScaled(-math.Max(0, math.Min(1, w.Dot(d)/d2)), d)
				}
				if off := w.Norm(); off > far {
					far, at, put = off, n, k
				}
			}
		}
		if at < 0 {
			break
		}
		keep = slices.Insert(keep, put, at)
	}
	return keep
}

// idle notes a rod whose line is in: all of it at its tip.
func (log *turnLog) idle(i int, p *party) {
	track, v := &log.tracks[i], &log.f.movers[p.mover]
	tip, _ := log.f.pose.Point(v.g.Sys.Nodes[log.nodes[i][0]].At)
	for k := range track.Points {
		q := &track.Points[k]
		q.At, q.Through = append(q.At, [3]float64{tip.X, tip.Y, tip.Z}), append(q.Through, 0)
	}
	track.TipPull = append(track.TipPull, 0)
	if log.lines {
		track.Lines = append(track.Lines, make([][][3]float64, len(p.bufs)))
	}
}

// slackShare is the part of its pull at rest below which a line counts as slack.
const slackShare = 0.03

// report judges what was seen and puts it into the result.
func (log *turnLog) report(out *sternfan.Turn) {
	out.Boat = log.boat
	s := log.f.s
	bottom := math.Inf(1)
	if s.Nominal().Bottom > 0 {
		bottom = s.Nominal().Bottom
	}
	for i := range log.tracks {
		t := &log.tracks[i]
		v := &log.f.movers[log.f.parties[log.party[i]].mover]
		ref := &s.model.Groups[v.g.Index]
		warn := func(code, hint, format string, args ...any) {
			t.Warnings = append(t.Warnings, sternfan.Warning{Code: code, Text: fmt.Sprintf(format, args...), Hint: hint})
		}
		if v.status != dynamics.OK {
			at := v.until
			t.Stopped, t.Status = &at, sternfan.StatusNotConverged
			warn("not-converged", "ease the manoeuvre, or look for a length, weight or speed out of the ordinary",
				"%s: %s after %.0f s; what follows is not known", t.Rod, v.status, at)
		}
		intended := s.Intended(ref, log.f.parties[log.party[i]].rod)
		for k := 1; k < len(t.Points); k++ {
			q := &t.Points[k]
			floats := s.Floating(v.g.Index, log.nodes[i][k])
			touch, rise, under := -1.0, -1.0, -1.0
			for n := range q.At {
				z, at := q.At[n][2], float64(n)*out.Every
				if z > bottom-spread.OnBottom && touch < 0 {
					touch = at
				}
				if q.Lure && z < spread.Shallow && q.At[0][2] >= spread.Shallow && rise < 0 {
					rise = at
				}
				if floats && z > spread.BoardUnder && under < 0 {
					under = at
				}
			}
			what := spread.Named(q.Kind, q.ID)
			if touch >= 0 && !intended {
				warn("bottom", "take in line, keep up speed or turn wider", "the %s reaches the bottom at %s", what, clock(touch))
			}
			if log.f.hands {
				continue // lines that go out or come in do
			}
			if rise >= 0 {
				warn("surface", "turn wider or ease the speed", "the %s breaks the surface at %s", what, clock(rise))
			}
			if under >= 0 {
				warn("board-under", "turn wider, or less pull behind it", "the board is pulled under at %s", clock(under))
			}
		}
		for n := range t.TipPull {
			if !log.f.hands && t.TipPull[n] < slackShare*t.TipPull[0] {
				warn("slack", "keep way on, or take in line as you turn", "the line goes slack at %s", clock(float64(n)*out.Every))
				break
			}
		}
		out.Tracks = append(out.Tracks, *t)
	}
}

// clock words a time of the run.
func clock(s float64) string {
	if s < 100 {
		return fmt.Sprintf("%.0f s", s)
	}
	return fmt.Sprintf("%d min %02d s", int(s)/60, int(s)%60)
}
