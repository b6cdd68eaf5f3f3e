package main

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"
)

// Whatever the file holds, the answer is a clear fault, soon, and no output file.
func TestBadInput(t *testing.T) {
	text, err := os.ReadFile(demo)
	if err != nil {
		t.Fatal(err)
	}
	good := string(text)
	// with returns the demo with one piece of text replaced.
	with := func(old, new string) string {
		if !strings.Contains(good, old) {
			t.Fatalf("the demo has no %q", old)
		}
		return strings.Replace(good, old, new, 1)
	}
	rod := "  - {id: r%d, holder: chute, rig: {kind: flat-line, line: mono-20, behind: [{lure: spoon-dawn}]}, settings: {line_out: 90 ft}}\n"
	head := good[:strings.Index(good, "\nrods:")+1]
	for _, c := range []struct{ name, text, want string }{
		{"misspelt key", with("people:", "poeple:"), "did you mean people"},
		{"wrong unit", with("length: 28 ft", "length: 28 lb"), "length"},
		{"no unit", with("length: 28 ft", "length: 28"), "unit"},
		{"negative", with("length: 28 ft", "length: -28 ft"), "negative"},
		{"not a number", with("length: 28 ft", "length: .nan"), "length"},
		{"infinite", with("length: 28 ft", "length: .inf"), "length"},
		{"far too long", with("length: 28 ft", "length: 1e12 ft"), "out of range"},
		{"no rods", head, "rods"},
		{"empty list of rods", head + "rods: []\n", "rods"},
		{"holder that is not there", head + "rods:\n" + strings.Replace(fmt.Sprintf(rod, 1), "chute", "roof", 1), "roof"},
		{"id given twice", head + "rods:\n" + fmt.Sprintf(rod, 1) + fmt.Sprintf(rod, 1), "twice"},
		{"a thousand rods", head + "rods:\n" + manyRods(rod, 1000), "rods"},
		{"two faults", strings.Replace(with("people:", "poeple:"), "length: 28 ft", "length: 28 lb", 1), "2 faults"},
		{"empty", "", "empty"},
		{"comments only", "# nothing\n", "no keys"},
		{"binary", "version: 1\nname: \x00\x01\n", "not text"},
		{"picture", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "not text"},
		{"100 MB", strings.Repeat("# nothing here\n", 100_000_000/15), "too large"},
		{"deep nesting", strings.Repeat("[", 1000), "deep"},
		{"alias bomb", "a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\nc: &c [*b,*b,*b,*b,*b,*b,*b,*b,*b]\nd: &d [*c,*c,*c,*c,*c,*c,*c,*c,*c]\nrods: *d\n", "standard input:"},
		{"two documents", good + "---\n" + good, "one scenario"},
		{"broken YAML", with("boat:", "boat: ["), "standard input:"},
	} {
		t.Run(c.name, func(t *testing.T) {
			begin := time.Now()
			got := command(t, c.text, "run", "-", "-o", "fan.json")
			took := time.Since(begin)
			if got.code != exitFaulty || !strings.Contains(got.stderr, c.want) {
				t.Errorf("exit code %d, said %.500q, want %q in it", got.code, got.stderr, c.want)
			}
			if len(got.files) > 0 || got.stdout != "" {
				t.Errorf("wrote %d files and %.100q", len(got.files), got.stdout)
			}
			if took > time.Second {
				t.Errorf("took %v, want a second at most", took)
			}
		})
	}
}

func manyRods(rod string, n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, rod, i)
	}
	return b.String()
}

// What cannot be in the water is refused in words or answered; it never ends the program
// and never puts a number that is none into the result.
func TestImpossiblePhysics(t *testing.T) {
	for _, set := range []string{
		"speed.value=0mph",
		"speed.value=-2mph",
		"speed.value=0.001mph",
		"speed.value=20mph",
		"water.bottom=1ft",
		"water.density=0.5g/cm3",
		"water.density=19g/cm3",
		"rods.chute.settings.line_out=30000ft",
		"rods.chute.settings.line_out=0ft",
		"downriggers.dr-center.cable_out=3000ft",
		"downriggers.dr-center.cable_out=0ft",
	} {
		t.Run(strings.ReplaceAll(set, "/", " per "), func(t *testing.T) {
			got := command(t, "", "run", demo, "--format", "json", "--set", set)
			switch {
			case got.code == exitFaulty && got.stdout == "" && strings.Contains(got.stderr, "fault"):
			case got.code == exitOK && strings.HasPrefix(got.stdout, "{"):
			case (got.code == exitFailed || got.code == exitPartial) && strings.Contains(got.stderr, "the answer lacks"):
			default:
				t.Errorf("exit code %d, printed %.100q, said %q", got.code, got.stdout, got.stderr)
			}
			if strings.Contains(got.stdout, "NaN") || strings.Contains(got.stdout, "Inf") {
				t.Error("a number that is none")
			}
		})
	}
}
