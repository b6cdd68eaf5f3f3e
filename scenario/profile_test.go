package scenario

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sternfan"
	"sternfan/unit"
)

// The header and units are NDBC's ("Measurement Descriptions and Units"); the numbers are
// made up.
const oceanText = `#YY  MM DD hh mm   DEPTH  OTMP   COND   SAL   O2% O2PPM  CLCON  TURB    PH    EH
#yr  mo dy hr mn       m  degC   mS/cm   psu     %   ppm   ug/l   FTU     -    mv
2026 07 14 13 00     1.0  21.30     MM    MM    MM    MM     MM    MM    MM    MM
2026 07 14 13 00    10.0  20.10     MM    MM    MM    MM     MM    MM    MM    MM
2026 07 14 13 00    20.0     MM     MM    MM    MM    MM     MM    MM    MM    MM
2026 07 14 12 50    20.0  11.40     MM    MM    MM    MM     MM    MM    MM    MM
2026 07 14 12 50    30.0 999.00     MM    MM    MM    MM     MM    MM    MM    MM
2026 07 14 12 10    30.0   7.20     MM    MM    MM    MM     MM    MM    MM    MM
2026 07 14 12 00     1.0  20.90     MM    MM    MM    MM     MM    MM    MM    MM
2026 07 14 11 50    40.0   6.00     MM    MM    MM    MM     MM    MM    MM    MM
`

func points(pairs ...float64) []sternfan.TempPoint {
	var out []sternfan.TempPoint
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, sternfan.TempPoint{Depth: unit.Length(pairs[i]), Temperature: unit.Temperature(pairs[i+1])})
	}
	return out
}

func TestProfiles(t *testing.T) {
	const ft = 0.3048
	for name, c := range map[string]struct {
		text     string
		want     []sternfan.TempPoint
		measured string
		readings int
	}{
		// The newest reading of each depth within the hour; what is missing is passed over.
		"ocean": {oceanText, points(1, 21.3, 10, 20.1, 20, 11.4, 30, 7.2), "2026-07-14 13:00 UTC", 4},
		"old ocean, oldest first": {"YYYY MM DD hh mm DEPTH OTMP COND\n1998 06 01 00 00 1 15 999\n1998 06 01 01 00 1 16 999\n1998 06 01 01 00 99 99.0 999\n1998 06 01 01 00 99.0 5.5 999\n",
			points(1, 16, 99, 5.5), "1998-06-01 01:00 UTC", 2},
		"CSV in feet":            {"depth ft,temp F\n0,68\n50,50\n", points(0, 20, 50*ft, 10), "", 2},
		"units in parentheses":   {"Temperature (°C);Depth (m);note\n20;0;a\n10;15.24;b\n", points(0, 20, 50*ft, 10), "", 2},
		"underscores, capitals":  {"DEPTH_FEET\tTEMP_F\n0\t68\n50\t50\n", points(0, 20, 50*ft, 10), "", 2},
		"a row of units":         {"# from the probe\ndepth,temperature\nft,F\n0,68\n50,50\n", points(0, 20, 50*ft, 10), "", 2},
		"units in cells":         {"depth,temp\n0 ft,68 F\n50 ft,10 C\n", points(0, 20, 50*ft, 10), "", 2},
		"missing values":         {"depth m,temp C\n0,20\n5,MM\n6,\n7,NaN\n8,99.0\n9,999\n10,12\n", points(0, 20, 10, 12), "", 2},
		"up and down":            {"depth m,temp C\n0,20\n10,12\n10,14\n0,21\n", points(0, 20.5, 10, 13), "", 4},
		"the newest of two":      {"time,depth m,temp C\n2026-07-01 08:00,0,10\n2026-07-14 08:10,0,20\n2026-07-14 08:00,10,12\n", points(0, 20, 10, 12), "2026-07-14 08:10", 2},
		"windows, byte order":    {"\xef\xbb\xbfdepth ft,temp F\r\n0,68\r\n50,50\r\n", points(0, 20, 50*ft, 10), "", 2},
		"ice water":              {"depth m,temp C\n0,-0.1\n10,2\n", points(0, 0, 10, 2), "", 2},
		"blank lines and spaces": {"\n depth m , temp C \n\n 0 , 20 \n\n 10 , 12 \n", points(0, 20, 10, 12), "", 2},
	} {
		p, err := DecodeProfile("p", []byte(c.text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if p.Measured != c.measured || p.Readings != c.readings || len(p.Points) != len(c.want) {
			t.Errorf("%s: %+v", name, p)
			continue
		}
		for i, q := range p.Points {
			if math.Abs(float64(q.Depth-c.want[i].Depth)) > 1e-9 || math.Abs(float64(q.Temperature-c.want[i].Temperature)) > 1e-9 {
				t.Errorf("%s: point %d is %v, want %v", name, i, q, c.want[i])
			}
		}
	}
}

func TestBadProfiles(t *testing.T) {
	for name, c := range map[string]struct {
		text, code   string
		line, column int
		says         string
	}{
		"empty":           {" \n", "empty", 1, 1, "header"},
		"binary":          {"\x7fELF\x01", "binary", 1, 1, "UTF-8"},
		"not a profile":   {"speed: 2\n", "missing", 1, 1, "depth ft, temp F"},
		"no unit":         {"depth,temp F\n0,60\n10,50\n", "missing-unit", 2, 1, "depth ft"},
		"in Fahrenheit":   {"depth ft,temp C\n0,68\n", "out-of-range", 2, 3, "Fahrenheit"},
		"above the water": {"depth ft,temp F\n-3,68\n", "out-of-range", 2, 1, "positive down"},
		"words":           {"depth ft,temp F\n0,warm\n", "bad-number", 2, 3, "warm"},
		"a comma":         {"depth m;temp C\n0;20,5\n", "bad-number", 2, 3, "20,5"},
		"short row":       {"depth ft,temp F\n10\n", "syntax", 2, 1, "2 or more"},
		"quotes":          {"depth ft,temp F\n\"0,68\n", "syntax", 2, 7, "quotes"},
		"nothing there":   {"depth ft,temp F\nMM,MM\n", "missing", 1, 1, "no reading"},
		"a time":          {"time,depth ft,temp F\nnoon,0,68\n", "bad-number", 2, 1, "noon"},
		"ocean, short":    {"#YY MM DD hh mm DEPTH OTMP\n2026 07 14 13 00 1.0\n", "syntax", 2, 1, "fewer columns"},
		"ocean, word":     {"#YY MM DD hh mm DEPTH OTMP\n2026 07 14 13 00 1.0 warm\n", "bad-number", 2, 22, "warm"},
		"ocean, hot":      {"#YY MM DD hh mm DEPTH OTMP\n2026 07 14 13 00 1.0 68\n", "out-of-range", 2, 22, "Fahrenheit"},
		"ocean, no time":  {"#YY MM DD hh mm DEPTH OTMP\nMM 07 14 13 00 1.0 10\n", "bad-number", 2, 1, "time"},
		"very large":      {strings.Repeat("a", MaxProfileBytes+1), "too-large", 1, 1, "8 MiB"},
	} {
		_, err := DecodeProfile("p.csv", []byte(c.text))
		fs := faultsOf(t, err)
		if len(fs) != 1 {
			t.Errorf("%s: %d faults: %v", name, len(fs), fs)
			continue
		}
		f := fs[0]
		if f.Code != c.code || f.Line != c.line || f.Column != c.column || f.File != "p.csv" || !strings.Contains(f.Error(), c.says) {
			t.Errorf("%s: %+v", name, f)
		}
	}
	_, err := DecodeProfile("p", []byte("depth m,temp C\n"+strings.Repeat("x,y\n", 5000)))
	if n := len(faultsOf(t, err)); n < 2 || n > maxProfileFaults+1 {
		t.Errorf("%d faults of 10000", n)
	}
}

// A logger's long cast keeps its shape within the tolerance and few points.
func TestLongCast(t *testing.T) {
	temp := func(z float64) float64 { return 13 - 8*math.Tanh((z-18)/4) }
	var b strings.Builder
	b.WriteString("depth m,temp C\n")
	for i := range 6000 {
		z := 60 * math.Abs(1-float64(i)/3000) // up and down again
		fmt.Fprintf(&b, "%.3f,%.3f\n", z, temp(z))
	}
	p, err := DecodeProfile("cast", []byte(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	if p.Readings != 6000 || len(p.Points) > manyPoints {
		t.Fatalf("%d readings, %d points", p.Readings, len(p.Points))
	}
	// The tolerance, half a bin (0.15 m) of the steepest slope (2 deg/m) and what averaging
	// over a bin takes off the bend.
	const within = straightC + 0.15*0.2 + 0.02
	worst := 0.0
	for i := 1; i < len(p.Points); i++ {
		a, c := p.Points[i-1], p.Points[i]
		for k := range 11 {
			f := float64(k) / 10
			z := float64(a.Depth) + f*float64(c.Depth-a.Depth)
			worst = math.Max(worst, math.Abs(float64(a.Temperature)+f*float64(c.Temperature-a.Temperature)-temp(z)))
		}
	}
	if worst > within {
		t.Errorf("%.3f C off, allowed %.3f", worst, within)
	}
}

func TestProfileInTheScenario(t *testing.T) {
	sc, _, err := Decode("s", []byte(minimal+"water: {profile: logs/buoy.ocean}\nwants: {species: [lake trout, {name: king salmon, from: 50 F, to: 57 F, weight: 2, source: my log, dated: 2026-07-01}]}\n"))
	if err != nil {
		t.Fatal(err)
	}
	if sc.Water.Profile != "logs/buoy.ocean" || len(sc.Wants.Species) != 2 || sc.Wants.Species[0].Name != "lake trout" || sc.Wants.Species[1].Weight != 2 || sc.Wants.Species[1].From.Value != 10 {
		t.Errorf("%+v %+v", sc.Water, sc.Wants.Species)
	}
	text, err := Encode(sc)
	if err != nil {
		t.Fatal(err)
	}
	again, _, err := Decode("again", text)
	if err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(again.Wants) != fmt.Sprint(sc.Wants) || again.Water.Profile != sc.Water.Profile {
		t.Errorf("%+v\n%+v", again.Wants, sc.Wants)
	}
	for add, code := range map[string]string{
		"water: {profile: ../secret}\n":                                "refused",
		"water: {profile: /etc/passwd}\n":                              "refused",
		"water: {profile: a/../../b}\n":                                "refused",
		`water: {profile: "C:\\x"}` + "\n":                             "refused",
		"water: {profile: ''}\n":                                       "refused",
		"water: {profile: a.csv, temperature: 50 F}\n":                 "conflict",
		"wants: {species: [{from: 50 F, to: 60 F}]}\n":                 "missing",
		"wants: {species: [{name: a, from: 50 F}]}\n":                  "missing",
		"wants: {species: [{name: a, from: 60 F, to: 50 F}]}\n":        "out-of-order",
		"wants: {species: [{name: a, from: 160 F, to: 165 F}]}\n":      "out-of-range",
		"wants: {species: [{name: a, form: 50 F}]}\n":                  "unknown-key",
		"wants: {species: [[a]]}\n":                                    "wrong-type",
		"wants: {species: [{name: a, from: 1 F, to: 2, weight: 0}]}\n": "out-of-range",
	} {
		_, _, err := Decode("s", []byte(minimal+add))
		if fs := faultsOf(t, err); len(fs) == 0 || fs[0].Code != code {
			t.Errorf("%s: %v, want %s", add, fs, code)
		}
	}
}

// FuzzDecodeProfile: any bytes give faults or a profile that the water takes.
func FuzzDecodeProfile(f *testing.F) {
	for _, s := range []string{oceanText, "depth ft,temp F\n0,68\n50,50\n", "depth,temp\nft,F\n0,68\n", "time;depth m;temp C\n2026-07-14;0;20\n",
		"depth,temp\n0 ft,68 F\n", "YYYY MM DD hh mm DEPTH OTMP\n1998 06 01 00 00 1 15\n", "DEPTH OTMP\n1 2\n", "depth m,temp C\n\"0\",20\n1e300,NaN\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := DecodeProfile("fuzz", data)
		if err != nil {
			fs := faultsOf(t, err)
			if len(fs) == 0 || len(fs) > maxProfileFaults+1 {
				t.Fatalf("%d faults", len(fs))
			}
			for _, one := range fs {
				if one.Code == "" || one.Text == "" || one.Line < 1 || one.File != "fuzz" {
					t.Fatalf("%+v", one)
				}
			}
			return
		}
		if len(p.Points) == 0 || len(p.Points) > maxProfilePoints || p.Readings < len(p.Points) {
			t.Fatalf("%d points of %d readings", len(p.Points), p.Readings)
		}
		last := -1.0
		for _, q := range p.Points {
			z, temp := float64(q.Depth), float64(q.Temperature)
			if !(z-last >= leastGap*0.999) || z > deepest+1 || !(temp >= coldestC && temp <= warmestC) {
				t.Fatalf("point %v after %v", q, last)
			}
			last = z
		}
	})
}
