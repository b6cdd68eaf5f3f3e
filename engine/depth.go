//go:build !js && !core

package engine

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

	"sternfan/event"
	"sternfan/learn/depth"
	"sternfan/report"
	"sternfan/scenario"
	"sternfan/tackle"
	"sternfan/trip"
	"sternfan/unit"

	"sternfan"
)

// DepthAsk asks what measurements say of a boat: those of a table, or of a log's readings.
type DepthAsk struct {
	Given
	Measured *Table       `json:"measured,omitempty"`
	Logged   []LoggedTrip `json:"-"`                    // by one who keeps the log
	Since    string       `json:"since,omitempty"`      // of the log, only what was measured since: "2026-06-01"
	Sounder  string       `json:"transducer,omitempty"` // where it is, aft, to starboard and down of the transom: "1ft,1ft,1ft"
}

// LoggedTrip is a trip's events.
type LoggedTrip struct {
	ID     event.ID
	Events []event.Event
}

// DepthAnswer is the fit, and the file with the calibrations that it found.
type DepthAnswer struct {
	Fit  *sternfan.DepthFit `json:"fit"`
	Said []string           `json:"said,omitempty"` // about readings that were left out
	Text string             `json:"text,omitempty"` // none: there is nothing to keep
}

// Depth learns a boat's own numbers.
func (e *Engine) Depth(c *Call, ask *DepthAsk) (*DepthAnswer, error) {
	as := func(set []string) (*sternfan.Scenario, error) {
		given := ask.Given
		given.Set = slices.Concat(ask.Set, set)
		return e.Read(&given)
	}
	sc, err := as(nil)
	if err != nil {
		return nil, err
	}
	if _, faults := tackle.Resolve(sc); len(faults) > 0 {
		return nil, faults
	}
	q := depth.Query{Scenario: sc, With: as, File: "the log"}
	out := &DepthAnswer{}
	from, marked := "", []byte(nil)
	if ask.Measured != nil {
		q.File, marked = ask.Measured.Name, []byte(ask.Measured.Text)
		from = q.File[strings.LastIndexAny(q.File, `/\`)+1:]
		if q.Measured, err = depth.ReadMeasured(q.File, marked, sc); err != nil {
			return nil, err
		}
	} else {
		l, err := readingsOf(ask, sc)
		if err != nil {
			return nil, err
		}
		q.Measured, q.Readings, out.Said = l.measured, l.ids, l.said
		q.With = func(set []string) (*sternfan.Scenario, error) {
			if len(set) == 1 {
				if scene, ok := l.scenes[set[0]]; ok {
					return scene, nil
				}
			}
			return as(set)
		}
		from, marked = "the log to "+slices.Max(l.ids), []byte(strings.Join(l.ids, ""))
	}
	sum := sha256.Sum256(marked)
	q.Mark = hex.EncodeToString(sum[:4])
	if out.Fit, err = depth.Learn(c.Ctx, q); err != nil {
		return nil, err
	}
	out.Fit.Files = []string{ask.name(), q.File}
	if len(out.Fit.Save) == 0 {
		return out, nil
	}
	kept, err := e.kept(&ask.Given)
	if err != nil {
		return nil, err
	}
	all := slices.Clone(kept.Calibrations)
	for _, s := range out.Fit.Save {
		s.Source += ", from " + from
		all = append(all, s.Calibration())
	}
	out.Text, err = calibrated(&ask.Given, kept, all)
	return out, err
}

// kept returns the scenario as its file has it, without what was set for this question.
func (e *Engine) kept(g *Given) (*sternfan.Scenario, error) {
	given := *g
	given.Set = nil
	return e.Read(&given)
}

// CalibrationsAsk asks for a file's calibrations, or for the file with some of them
// otherwise: one of the three at a time.
type CalibrationsAsk struct {
	Given
	Undo bool   `json:"undo,omitempty"` // take the latest out again, or those of the mark
	Mark string `json:"mark,omitempty"`
	Off  string `json:"off,omitempty"` // switch off, by name or mark
	On   string `json:"on,omitempty"`  // switch on
}

// CalibrationsAnswer is a line for each, or what was done and the file afterward.
type CalibrationsAnswer struct {
	Lines []string `json:"lines"`
	Did   string   `json:"did,omitempty"`
	Text  string   `json:"text,omitempty"`
}

// Calibrations lists a file's calibrations, takes some out, or switches some.
func (e *Engine) Calibrations(_ *Call, ask *CalibrationsAsk) (*CalibrationsAnswer, error) {
	sc, err := e.kept(&ask.Given)
	if err != nil {
		return nil, err
	}
	all := slices.Clone(sc.Calibrations)
	out := &CalibrationsAnswer{}
	switch which := ask.Off + ask.On; {
	case ask.Undo && which != "" || ask.Off != "" && ask.On != "":
		return nil, askFault("", "one thing at a time", "give one of --measured, --logged, --undo, --off and --on")
	case ask.Undo:
		left, mark, count := depth.Undo(all, ask.Mark)
		if count == 0 {
			return nil, askFault("", "there are no calibrations to undo", "those made by sternfan learn depth say a mark; see sternfan learn depth FILE")
		}
		all, out.Did = left, fmt.Sprintf("%d calibrations of mark %s taken out", count, mark)
	case which != "":
		count := 0
		for i := range all {
			if depth.Named(&all[i], which) {
				all[i].Off = ask.Off != ""
				count++
			}
		}
		if count == 0 {
			return nil, askFault("", fmt.Sprintf("the scenario has no calibration %.60q", which), "sternfan learn depth FILE lists them with their marks")
		}
		out.Did = fmt.Sprintf("%d calibrations of %s switched %s", count, which, map[bool]string{true: "off", false: "on"}[ask.Off != ""])
	}
	out.Lines = report.CalibrationLines(all)
	if out.Did != "" {
		out.Text, err = calibrated(&ask.Given, sc, all)
	}
	return out, err
}

// calibrated returns the file with these calibrations and the rest of it, comments and
// all, as it was.
func calibrated(g *Given, sc *sternfan.Scenario, all []sternfan.Calibration) (string, error) {
	changed := *sc
	changed.Calibrations = all
	text, err := scenario.Encode(&changed)
	if err != nil {
		return "", err
	}
	if spliced := splice([]byte(g.Text), text); spliced != nil {
		opt := scenario.Options{Known: tackle.Known, List: tackle.Names}
		a, _, errA := scenario.DecodeWith(g.name(), spliced, opt)
		b, _, errB := scenario.DecodeWith(g.name(), text, opt)
		if errA == nil && errB == nil && reflect.DeepEqual(a.Calibrations, b.Calibrations) {
			text = spliced
		}
	}
	return string(text), nil
}

// splice returns the file with the calibrations of another text of it in place of its
// own; nil when it is not YAML in blocks.
func splice(data, text []byte) []byte {
	if bytes.HasPrefix(bytes.TrimSpace(data), []byte("{")) {
		return nil
	}
	before, _, after := cutBlock(data)
	_, block, _ := cutBlock(text)
	if len(before) > 0 && before[len(before)-1] != '\n' {
		before = append(slices.Clone(before), '\n')
	}
	return slices.Concat(before, block, after)
}

// cutBlock cuts a YAML file around its top-level calibrations.
func cutBlock(data []byte) (before, block, after []byte) {
	const key = "calibrations:"
	start := 0
	if !bytes.HasPrefix(data, []byte(key)) {
		i := bytes.Index(data, []byte("\n"+key))
		if i < 0 {
			return data, nil, nil
		}
		start = i + 1
	}
	end := start
	for first := true; end < len(data); first = false {
		if !first && !bytes.ContainsAny(data[end:end+1], " \t-\r\n") {
			break
		}
		if n := bytes.IndexByte(data[end:], '\n'); n >= 0 {
			end += n + 1
		} else {
			end = len(data)
		}
	}
	return data[:start], data[start:end], data[end:]
}

// readings is what a log's readings say as measurements.
type readings struct {
	measured []sternfan.Measurement
	scenes   map[string]*sternfan.Scenario // by the one setting of a measurement
	said     []string                      // for the person
	ids      []string                      // of the readings
}

// scenePrefix begins the one setting of a measurement from the log: the spread as it
// fished then.
const scenePrefix = "log="

// readingsOf returns the log's measurements of a boat that no calibration in use rests on.
func readingsOf(ask *DepthAsk, base *sternfan.Scenario) (*readings, error) {
	out := &readings{scenes: map[string]*sternfan.Scenario{}}
	counted := depth.Counted(base.Calibrations)
	transducer, err := parseTransducer(ask.Sounder)
	if err != nil {
		return nil, err
	}
	if _, err := time.Parse(time.DateOnly, ask.Since); ask.Since != "" && err != nil {
		return nil, askFault("since", fmt.Sprintf("%.40q is no date", ask.Since), "write it as 2026-06-01")
	}
	before := 0
	for _, t := range ask.Logged {
		all, notices := trip.Readings(t.ID, trip.Settle(t.Events))
		for _, n := range notices {
			out.said = append(out.said, fmt.Sprintf("Left out: %s (%s); %s.", n.Text, report.ShortID(n.ID), n.Hint))
		}
		for i := range all {
			m := &all[i]
			switch day := m.At.Time().Format(time.DateOnly); {
			case ask.Since != "" && day < ask.Since:
			case counted(m.ID.String()):
				before++
			default:
				if err := out.take(m, base, day, transducer); err != nil {
					return nil, err
				}
			}
		}
	}
	if before > 0 {
		are, them := "are", "them"
		if before == 1 {
			are, them = "is", "it"
		}
		out.said = append(out.said, fmt.Sprintf("Left out %s %s of the log: calibrations in use rest on %s.", are, report.Count(before, "reading"), them))
	}
	if len(out.measured) == 0 {
		hint := "log them with sternfan log add measured ROD depth 62ft"
		if before > 0 {
			hint = "those that there are count already; --undo takes the calibrations out that rest on them"
		}
		return nil, askFault("", "the log has nothing measured that does not count already", hint)
	}
	return out, nil
}

// take adds a reading as a measurement.
func (l *readings) take(m *trip.Measured, base *sternfan.Scenario, day string, transducer *[3]float64) error {
	b := &m.Reading
	kind := map[event.ReadingKind]sternfan.MeasuredKind{
		event.ReadDepth: sternfan.MeasuredDepth, event.ReadSide: sternfan.MeasuredSide, event.ReadAstern: sternfan.MeasuredAstern,
		event.ReadSlant: sternfan.MeasuredRange, event.ReadPull: sternfan.MeasuredPull, event.ReadAngle: sternfan.MeasuredAngle,
		event.ReadTouched: sternfan.MeasuredBottom, event.ReadClear: sternfan.MeasuredBottom,
	}[b.What]
	out := sternfan.Measurement{Dated: day, Rod: m.Rod, Kind: kind, Part: b.Part, Value: math.Abs(b.Value), SD: b.SD, Line: len(l.measured) + 1}
	if out.SD == 0 {
		out.SD = depth.AssumedSD(kind)
	}
	line, _ := m.State.Line(m.Rod)
	if kind == sternfan.MeasuredRange || b.Part == "ball" {
		device := line.Device()
		if device == "" {
			l.said = append(l.said, fmt.Sprintf("Left out: %s of %s at %s, which was on no downrigger.", b.What, m.Rod, m.At.Time().Format("2006-01-02 15:04")))
			return nil
		}
		out.Rod, out.Part = device, ""
	}
	if kind == sternfan.MeasuredRange {
		if transducer == nil {
			return askFault("", "the log has slant ranges, and where the transducer is is not known", "give --transducer AFT,STARBOARD,DOWN, as in 1ft,1ft,1ft")
		}
		out.Transducer = *transducer
	}
	set := []string{l.scene(m, base)}
	switch b.What {
	case event.ReadTouched:
		out.Touched, out.Settings = true, set
	case event.ReadClear:
		out.ClearAt, out.Settings = set, set
	default:
		out.Settings = set
	}
	l.measured = append(l.measured, out)
	l.ids = append(l.ids, m.ID.String())
	return nil
}

// scene returns the setting that stands for the spread as it fished at a reading. Readings
// of one spread share it.
func (l *readings) scene(m *trip.Measured, base *sternfan.Scenario) string {
	sc := trip.Scenario(base, m.State)
	line, _ := m.State.Line(m.Rod)
	name := scenePrefix + line.Set.String()
	for n := 1; ; n++ {
		key := name
		if n > 1 {
			key = fmt.Sprintf("%s.%d", name, n)
		}
		switch was, ok := l.scenes[key]; {
		case !ok:
			l.scenes[key] = sc
			return key
		case reflect.DeepEqual(was, sc):
			return key
		}
	}
}

func parseTransducer(text string) (*[3]float64, error) {
	if text == "" {
		return nil, nil
	}
	parts := strings.Split(text, ",")
	var v [3]float64
	wrong := askFault("transducer", fmt.Sprintf("%.60q is no place", text), "write how far aft, to starboard and down: 1ft,1ft,1ft")
	if len(parts) != len(v) {
		return nil, wrong
	}
	for i, p := range parts {
		l, err := unit.ParseLength(strings.TrimSpace(p))
		if err != nil {
			return nil, wrong
		}
		v[i] = float64(l)
	}
	v[0] = -v[0]
	return &v, nil
}
