package scenario

import "testing"

func TestSmoke(t *testing.T) {
	src := "version: 1\nspeed: {given: surface, value: 2.4 mph}\nboat:\n  holders:\n    - {id: a, tip: {port: 4 ft, up: 3 ft}}\nrods:\n  - id: p1\n    holder: a\n    rig:\n      kind: diver\n      line: braid-50\n      diver: diver-large\n      behind:\n        - leader: fluoro-20\n          length: 6 ft\n        - lure: spoon-standard\n    settings: {line_out: 120 ft, dial: 2.5, side: port, ring: on}\n"
	s, _, err := Decode("x.yaml", []byte(src))
	if err != nil {
		t.Fatal(err)
	}
	b, err := Encode(s)
	t.Logf("%s %v", b, err)
	_, _, err = Decode("x.yaml", []byte("speeed: {given: surface, value: 2.4 furlong}\nspeed: {given: surfac, value: 3}\nrods: 3\nboat:\n  holders: [{id: 1, tip: {}}, {id: 1, tip: {port: -3 ft, stern: 3}}]\n"))
	t.Log(err)
	sc, err := Schema()
	t.Log(len(sc), err)
}
