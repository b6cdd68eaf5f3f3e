package scenario_test

import (
	"fmt"

	"sternfan/scenario"
)

func ExampleDecode() {
	_, _, err := scenario.Decode("trip.yaml", []byte(`speed: {given: surface, value: 2.4}
boat:
  holders:
    - {id: chute, tip: {up: 8 ft}}
rods:
  - id: chute
    holder: shute
    rig: {kind: flat-line, line: mono-17}
    settings: {line_out: 90 ft}
`))
	fmt.Println(err)
	// Output:
	// trip.yaml:1:32: a speed has no unit (at speed.value); found "2.4"; allowed: mph, kn, m/s, cm/s, km/h, ft/s; write "2.4 mph" if that is the unit meant
	// trip.yaml:7:13: nothing of that name is in boat.holders (at rods[0].holder); found "shute"; allowed: chute; did you mean chute?
}

func ExampleDecodeWith() {
	file := []byte(`speed: {given: surface, value: 2.4 mph}
boat:
  holders:
    - {id: chute, tip: {up: 8 ft}}
rods:
  - id: chute
    holder: chute
    rig: {kind: flat-line, line: mono-17}
    settings: {line_out: 90 ft}
`)
	s, src, err := scenario.DecodeWith("trip.yaml", file, scenario.Options{Set: []string{"rods.chute.settings.line_out=120 ft"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	line, column := src.Locate("rods[0].rig.line")
	fmt.Println(s.Rods[0].Settings.LineOut.Value, line, column)
	// Output: 36.576 m 8 34
}
