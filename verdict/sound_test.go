package verdict_test

import (
	"regexp"
	"strings"
	"testing"
)

// sound are spreads after what crews do, each of an invented boat.
var sound = []string{"weekend", "riggers", "boards", "copper", "lakers", "leads", "metric", "dozen"}

var givenSpeed = regexp.MustCompile(`value: ([0-9.]+ (?:mph|km/h))`)

// A sound spread has remarks at most, and so it has two tenths of a mile an hour slower and
// faster, as a throttle wanders, and over a current of half a mile an hour that turns below.
func TestSoundSpreadsAreClear(t *testing.T) {
	speeds := map[string][2]string{"2.0 mph": {"1.8 mph", "2.2 mph"}, "2.3 mph": {"2.1 mph", "2.5 mph"},
		"2.4 mph": {"2.2 mph", "2.6 mph"}, "3.7 km/h": {"3.38 km/h", "4.02 km/h"}}
	for _, name := range sound {
		text := base(t, name)
		m := givenSpeed.FindSubmatch(text)
		if m == nil || speeds[string(m[1])][0] == "" {
			t.Fatalf("%s: no speed to change", name)
		}
		own := "value: " + string(m[1])
		current := func(toward string) []byte {
			return []byte(strings.Replace(string(text), "\nwater: {", "\nwater: {current: [{depth: 0 ft, speed: 0.5 mph, toward: "+toward+
				"}, {depth: 40 ft, speed: 0.3 mph, toward: "+toward+"}, {depth: 80 ft, speed: 0.1 mph, toward: 250 deg}], ", 1))
		}
		for way, text := range map[string][]byte{
			"as it is": text,
			"slower":   changed(t, text, own, "value: "+speeds[string(m[1])][0]),
			"faster":   changed(t, text, own, "value: "+speeds[string(m[1])][1]),
			"across":   current("80 deg"),
			"astern":   current("10 deg"),
		} {
			t.Run(name+" "+way, func(t *testing.T) {
				if (way == "across" || way == "astern") && !strings.Contains(string(text), "current") {
					t.Fatal("no current")
				}
				_, fan, v := judged(t, name, text)
				for i := range fan.Rods {
					if len(fan.Rods[i].Lures) == 0 {
						t.Errorf("%s has no lure in the answer: %s", fan.Rods[i].Rod, fan.Rods[i].Status)
					}
				}
				for _, f := range v.Findings {
					if !f.Grade.Clear() {
						t.Errorf("%s (%s) %v: %s", f.Code, f.Grade, f.Rods, f.Text)
					}
				}
				if !v.Grade.Clear() {
					t.Errorf("grade %s", v.Grade)
				}
			})
		}
	}
}

// A sound spread with one rod in, as crews fish when hands are few, is no worse.
func TestSoundSpreadsStayClearWithARodIn(t *testing.T) {
	tried := 0
	for _, name := range sound {
		head, list, ok := strings.Cut(string(base(t, name)), "\nrods:\n")
		if !ok {
			t.Fatalf("%s has no rods", name)
		}
		rods := strings.Split("\n"+strings.TrimSuffix(list, "\n"), "\n  - id: ")[1:]
		if len(rods) < 2 {
			t.Fatalf("%s has %d rods", name, len(rods))
		}
		for in := range rods {
			text := head + "\nrods:\n"
			for i, r := range rods {
				if i != in {
					text += "  - id: " + r + "\n"
				}
			}
			_, fan, v := judged(t, name, []byte(text))
			if len(fan.Rods) != len(rods)-1 {
				t.Errorf("%s: %d rods of %d", name, len(fan.Rods), len(rods)-1)
			}
			for _, f := range v.Findings {
				if !f.Grade.Clear() {
					t.Errorf("%s without rod %d: %s (%s) %v: %s", name, in+1, f.Code, f.Grade, f.Rods, f.Text)
				}
			}
			tried++
		}
	}
	if tried < 40 {
		t.Errorf("%d spreads", tried)
	}
}
