package main

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"strings"
	"time"

	"sternfan/event"

	"sternfan"
	"sternfan/learn/depth"
	"sternfan/logbook"
	"sternfan/report"
	"sternfan/trip"
	"sternfan/unit"
)

// loggedFlags take measurements from the log.
type loggedFlags struct {
	logFlags
	Logged     bool   `help:"Take what was measured from the log: every reading since the last calibration from it."`
	Since      string `placeholder:"DATE" help:"Of the log, only what was measured since: 2026-06-01."`
	Trip       string `placeholder:"ID" help:"Of the log, only what was measured on this trip."`
	Transducer string `placeholder:"AFT,STARBOARD,DOWN" help:"Where the sounder's transducer is, from the transom's center line at the waterline, for the log's slant ranges: 1ft,1ft,1ft."`
}

// logged is what the log's readings say as measurements.
type logged struct {
	measured []sternfan.Measurement
	scenes   map[string]*sternfan.Scenario // by the one setting of a measurement
	said     []string                      // for the person
	ids      []string                      // of the readings
}

// scenePrefix begins the one setting of a measurement from the log: the spread as it
// fished then.
const scenePrefix = "log="

// readLog returns the log's measurements of a boat that no calibration in use rests on.
func (c *loggedFlags) readLog(ctx context.Context, base *sternfan.Scenario) (*logged, error) {
	out := &logged{scenes: map[string]*sternfan.Scenario{}}
	counted := depth.Counted(base.Calibrations)
	transducer, err := parseTransducer(c.Transducer)
	if err != nil {
		return nil, err
	}
	if c.Since != "" && !isDate(c.Since) {
		return nil, &usageError{fmt.Sprintf("--since %.40q is no date", c.Since), "write it as 2026-06-01"}
	}
	before := 0
	err = c.old(ctx, func(l *logbook.Log) error {
		return c.trips(ctx, l, func(o *trip.Outing) error {
			events, err := l.TripEvents(ctx, o.Trip)
			if err != nil {
				return err
			}
			readings, notices := trip.Readings(o.Trip, trip.Settle(events))
			for _, n := range notices {
				out.said = append(out.said, fmt.Sprintf("Left out: %s (%s); %s.", n.Text, report.ShortID(n.ID), n.Hint))
			}
			for i := range readings {
				m := &readings[i]
				switch day := m.At.Time().Format(time.DateOnly); {
				case c.Since != "" && day < c.Since:
				case counted(m.ID.String()):
					before++
				default:
					if err := out.take(m, base, day, transducer); err != nil {
						return err
					}
				}
			}
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	if before > 0 {
		out.said = append(out.said, fmt.Sprintf("%s of the log: calibrations in use rest on %s.", left(before), map[bool]string{true: "it", false: "them"}[before == 1]))
	}
	if len(out.measured) == 0 {
		hint := "log them with sternfan log add measured ROD depth 62ft"
		if before > 0 {
			hint = "those that there are count already; --undo takes the calibrations out that rest on them"
		}
		return nil, &usageError{"the log has nothing measured that does not count already", hint}
	}
	return out, nil
}

func left(n int) string {
	if n == 1 {
		return "Left out is 1 reading"
	}
	return fmt.Sprintf("Left out are %d readings", n)
}

func isDate(text string) bool {
	_, err := time.Parse(time.DateOnly, text)
	return err == nil
}

// trips hands over the trips that may have readings.
func (c *loggedFlags) trips(ctx context.Context, l *logbook.Log, do func(*trip.Outing) error) error {
	if c.Trip != "" {
		o, err := tripOf(ctx, l, c.Trip)
		if err != nil {
			return err
		}
		return do(o)
	}
	seen := map[event.ID]bool{}
	var ids []event.ID
	if err := l.Each(ctx, logbook.Filter{Kinds: []event.Kind{event.KindMeasured}}, func(a logbook.Arrived) bool {
		if !a.Trip.IsZero() && !seen[a.Trip] {
			seen[a.Trip] = true
			ids = append(ids, a.Trip)
		}
		return true
	}); err != nil {
		return err
	}
	for _, id := range ids {
		o, err := l.Outing(ctx, id)
		if err != nil {
			return err
		}
		if err := do(o); err != nil {
			return err
		}
	}
	return nil
}

// take adds a reading as a measurement.
func (l *logged) take(m *trip.Measured, base *sternfan.Scenario, day string, transducer *[3]float64) error {
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
			return &usageError{"the log has slant ranges, and where the transducer is is not known", "give --transducer AFT,STARBOARD,DOWN, as in 1ft,1ft,1ft"}
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
func (l *logged) scene(m *trip.Measured, base *sternfan.Scenario) string {
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
	wrong := &usageError{fmt.Sprintf("--transducer %.60q is no place", text), "write how far aft, to starboard and down: 1ft,1ft,1ft"}
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
