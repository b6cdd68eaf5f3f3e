package exchange_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"strings"
	"testing"

	"sternfan/event"

	"sternfan"
	"sternfan/internal/logtest"
	"sternfan/trip"
	"sternfan/trip/exchange"
	"sternfan/unit"
)

const mapping = `
rows: landed
device: old notes
time: {columns: [Day, Hour], layout: YYYY-MM-DD HH:mm, offset: "-04:00"}
columns:
  rod: Rod
  species: Fish
  length: {column: Inches, unit: in}
  fate: {column: Kept, words: {Y: kept, N: released}}
  line_out: {column: Counter, unit: ft}
  lure.color: Color
  note: {column: Remarks}
`

const head = "Day,Hour,Rod,Fish,Inches,Kept,Counter,Color,Remarks\n"

func mapped(t testing.TB) *exchange.Mapping {
	t.Helper()
	m, err := exchange.DecodeMapping("map", []byte(mapping))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestRowsBecomeEvents(t *testing.T) {
	events, err := exchange.ReadCSV("old.csv", []byte("\xef\xbb\xbf"+head+
		"2025-06-01,06:12,p1,king salmon,32,Y,120,green,\r\n"+
		"2025-06-01,06:12,p1,king salmon,32,Y,120,green,\r\n"+ // twice the same is two fish
		"2025-06-02,19:05,s1,steelhead,27 in,N,,,\"two lines\nof words\"\n"), mapped(t))
	if err != nil {
		t.Fatal(err)
	}
	s := trip.Settle(events)
	if len(s.Notices) > 0 {
		t.Errorf("%v", s.Notices)
	}
	var outings []*trip.Outing
	for _, e := range events {
		if _, ok := e.Body.(event.TripBegins); ok {
			outings = append(outings, trip.ProjectSettled(e.ID, s))
		}
	}
	if len(outings) != 2 || len(outings[0].Strikes) != 2 || len(outings[1].Strikes) != 1 {
		t.Fatalf("%+v", outings)
	}
	c := outings[0].Strikes[0]
	if c.At.String() != "2025-06-01T06:12:00.000-04:00" || c.Species != "king salmon" || c.Fate != event.Kept || *c.Length != 32*.0254 {
		t.Errorf("%+v", c)
	}
	st := outings[0].Stint(&c)
	if v, _ := st.Measures.Get(sternfan.MeasureLineOut); st.Setup.Attributes["lure.color"] != "green" || v != float64(float32(120*.3048)) || st.RodHours() != 0 {
		t.Errorf("%+v", st)
	}
	if c := outings[1].Strikes[0]; *c.Length != 27*.0254 || c.Note != "two lines\nof words" {
		t.Errorf("%+v", c)
	}
}

// Every fault names its row, as the file's line, and its column; nothing comes back.
func TestBrokenRows(t *testing.T) {
	const good = "2025-06-01,06:12,p1,king salmon,32,Y,120,green,\n"
	for _, tt := range []struct {
		name, rows string
		line       int
		path       string
	}{
		{"no number", good + "2025-06-01,06:12,p1,king salmon,long,Y,120,green,\n", 3, "row 2, column Inches"},
		{"hexadecimal", "2025-06-01,06:12,p1,king salmon,0x10,Y,120,green,\n", 2, "row 1, column Inches"},
		{"endless", "2025-06-01,06:12,p1,king salmon,inf,Y,120,green,\n", 2, "row 1, column Inches"},
		{"too long a fish", "2025-06-01,06:12,p1,king salmon,4000,Y,120,green,\n", 2, "row 1, column Inches"},
		{"below nothing", "2025-06-01,06:12,p1,king salmon,32,Y,-4,green,\n", 2, "row 1, column Counter"},
		{"no day", "2025-06-31,06:12,p1,king salmon,32,Y,120,green,\n", 2, "row 1, column Day"},
		{"no rod", "2025-06-01,06:12,,king salmon,32,Y,120,green,\n", 2, "row 1, column Rod"},
		{"no fate", "2025-06-01,06:12,p1,king salmon,32,perhaps,120,green,\n", 2, "row 1, column Kept"},
		{"a row cut short", good + "2025-06-01,06:12\n" + good, 3, "row 2"},
		{"a row too long", good + "2025-06-01,06:12,p1,king salmon,32,Y,120,green,,,,\n", 3, "row 2"},
		{"a quote not closed", good + "2025-06-01,06:12,\"p1,king salmon\n", 3, "row 2"},
		{"not UTF-8", "2025-06-01,06:12,p1,king \xff,32,Y,120,green,\n", 2, "row 1, column Fish"},
		{"a bell", "2025-06-01,06:12,p1,king \a,32,Y,120,green,\n", 2, "row 1, column Fish"},
		{"nothing but nothing", "2025-06-01,06:12,p1,\x00\x00,32,Y,120,green,\n", 2, "row 1, column Fish"},
		{"a long word", "2025-06-01,06:12,p1," + strings.Repeat("k", 5000) + ",32,Y,120,green,\n", 2, "row 1, column Fish"},
		{"a row of quoted lines before it", "2025-06-01,06:12,p1,king salmon,32,Y,120,green,\"a\nb\nc\"\n2025-06-01,06:12,p1,king salmon,x,Y,120,green,\n", 5, "row 2, column Inches"},
	} {
		events, err := exchange.ReadCSV("old.csv", []byte(head+tt.rows), mapped(t))
		var faults sternfan.Faults
		if !errors.As(err, &faults) {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if events != nil || faults[0].File != "old.csv" || faults[0].Line != tt.line || faults[0].Path != tt.path {
			t.Errorf("%s: %d events, %+v; want line %d, %s", tt.name, len(events), faults[0], tt.line, tt.path)
		}
	}
	if _, err := exchange.ReadCSV("old.csv", []byte("Day;Hour;Rod;Fish\n"), mapped(t)); err == nil || !strings.Contains(err.Error(), "delimiter is not the file's") {
		t.Errorf("another delimiter: %v", err)
	}
	for name, text := range map[string]string{
		"empty": "", "blank": "\n\n", "a column is missing": "Day,Hour,Rod\n", "a column twice": "Day,Day" + strings.TrimPrefix(head, "Day"),
		"not a table": "\x89PNG\r\n\x1a\n\x00\x00",
	} {
		if events, err := exchange.ReadCSV("old.csv", []byte(text), mapped(t)); err == nil || events != nil {
			t.Errorf("%s: %d events, %v", name, len(events), err)
		}
	}
}

func TestFaultyMappings(t *testing.T) {
	for name, text := range map[string]string{
		"empty": "", "unknown key": mapping + "colour: red\n", "unknown part": mapping + "  reel.color: Reel\n",
		"no rows": strings.Replace(mapping, "rows: landed", "rows: caught", 1), "no rod": strings.Replace(mapping, "  rod: Rod\n", "", 1),
		"bad layout": strings.Replace(mapping, "YYYY-MM-DD HH:mm", "year-month", 1), "no offset": strings.Replace(mapping, `"-04:00"`, "local", 1),
		"a set without an end": strings.Replace(mapping, "rows: landed", "rows: set", 1), "a list": "- 1\n- 2\n", "not YAML": "{", "bytes": "\x00\x01",
	} {
		m, err := exchange.DecodeMapping("map.yaml", []byte(text))
		var faults sternfan.Faults
		if m != nil || !errors.As(err, &faults) || faults[0].File != "map.yaml" {
			t.Errorf("%s: %v, %v", name, m, err)
		}
	}
}

func exported(t *testing.T) []*trip.Outing {
	m := logtest.NewMaker("helm", 1783159200000, 3)
	events := m.Day("invented", 4, 40)
	strike := m.Event("rod-1", event.Strike{Species: "=HYPERLINK(\"x\")", Note: "a <b> & \"c\""})
	strike.Where = &sternfan.Place{Lat: -43.5, Lon: 179.25}
	return []*trip.Outing{trip.Project(m.Trip, append(events, strike))}
}

// What is exported reads as what it is said to be, with every strike and all the effort.
func TestExportsRead(t *testing.T) {
	outings := exported(t)
	var b bytes.Buffer
	if err := exchange.StrikesCSV(&b, outings, unit.US); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != 2+len(outings[0].Strikes) {
		t.Fatalf("%d rows of %d strikes: %v", len(rows), len(outings[0].Strikes), err)
	}
	for _, row := range rows {
		for _, cell := range row {
			if strings.HasPrefix(cell, "=") {
				t.Errorf("a spreadsheet would run %q", cell)
			}
		}
	}
	b.Reset()
	if err := exchange.EffortCSV(&b, outings, unit.SI); err != nil {
		t.Fatal(err)
	}
	if rows, err = csv.NewReader(&b).ReadAll(); err != nil || len(rows) != 2+len(outings[0].Stints) {
		t.Errorf("%d rows of %d stints: %v", len(rows), len(outings[0].Stints), err)
	}
	b.Reset()
	without, err := exchange.GPX(&b, outings, unit.US)
	if err != nil || without != len(outings[0].Strikes)-1 {
		t.Errorf("%d left out: %v", without, err)
	}
	var gpx struct {
		Points []struct {
			Lat  float64 `xml:"lat,attr"`
			Lon  float64 `xml:"lon,attr"`
			Desc string  `xml:"desc"`
		} `xml:"wpt"`
	}
	if err := xml.Unmarshal(b.Bytes(), &gpx); err != nil || len(gpx.Points) != 1 || gpx.Points[0].Lat != -43.5 || gpx.Points[0].Lon != 179.25 || !strings.Contains(gpx.Points[0].Desc, `a <b> & "c"`) {
		t.Errorf("%+v: %v", gpx, err)
	}
	b.Reset()
	if _, err := exchange.GeoJSON(&b, outings); err != nil {
		t.Fatal(err)
	}
	var geo struct {
		Type     string
		Features []struct {
			Geometry struct{ Coordinates [2]float64 }
		}
	}
	// RFC 7946, section 3.1.1: longitude first.
	if err := json.Unmarshal(b.Bytes(), &geo); err != nil || geo.Type != "FeatureCollection" || len(geo.Features) != 1 || geo.Features[0].Geometry.Coordinates != [2]float64{179.25, -43.5} {
		t.Errorf("%+v: %v", geo, err)
	}
}

// Whatever comes in, reading ends; what is taken are events that can be kept, the same the
// second time; what is not is a fault with its place.
func FuzzReadCSV(f *testing.F) {
	f.Add([]byte(head+"2025-06-01,06:12,p1,king salmon,32,Y,120,green,\n"), "", "landed")
	f.Add([]byte(head+"2025-06-01,06:12,p1,\"king \"\"salmon\",32,Y,120,green,a\n"), ",", "strike")
	f.Add([]byte("Day;Hour;Rod;Fish;Inches;Kept;Counter;Color;Remarks\n2025-06-01;06:12;p1;k;32,5;Y;120;;\n"), ";", "lost")
	f.Add([]byte("\xff\xfe\"\""), "tab", "landed")
	f.Fuzz(func(t *testing.T, data []byte, delimiter, rows string) {
		m := mapped(t)
		switch delimiter {
		case ";", "tab":
			m.Delimiter = delimiter
			m.Decimal = ","
		}
		switch rows {
		case "lost", "strike":
			m.Rows = rows
		}
		events, err := exchange.ReadCSV("fuzz.csv", data, m)
		if err != nil {
			var faults sternfan.Faults
			if !errors.As(err, &faults) || len(faults) == 0 || events != nil {
				t.Fatalf("%d events and %v", len(events), err)
			}
			return
		}
		text, err := event.EncodeAll(events)
		if err != nil {
			t.Fatal(err)
		}
		back := event.DecodeAll("back", text)
		if back.Refused > 0 || len(back.Events) != len(events) {
			t.Fatalf("%d of %d events read back: %v", len(back.Events), len(events), back.Faults)
		}
		again, err := exchange.ReadCSV("fuzz.csv", data, m)
		if err != nil {
			t.Fatal(err)
		}
		merged, clashes := trip.Merge(events, again)
		if len(clashes) > 0 || len(merged) != len(events) {
			t.Fatalf("%d events, read twice %d, %d clashes", len(events), len(merged), len(clashes))
		}
	})
}

func FuzzDecodeMapping(f *testing.F) {
	f.Add([]byte(mapping))
	f.Add([]byte(`{"rows":"set","time":{"columns":["a"],"layout":"YYYY HH:mm","offset":"-04:00"},"columns":{"rod":"b"}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := exchange.DecodeMapping("fuzz", data)
		var faults sternfan.Faults
		if (m == nil) == (err == nil) || err != nil && !errors.As(err, &faults) {
			t.Fatalf("%v, %v", m, err)
		}
		if m != nil {
			_, _ = exchange.ReadCSV("fuzz.csv", []byte(head), m)
		}
	})
}
