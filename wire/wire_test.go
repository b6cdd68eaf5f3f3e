package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

type inner struct {
	A string  `json:"a"`
	B float64 `json:"b,omitempty"`
}

// all has one of everything.
type all struct {
	inner
	Name   string             `json:"name"`
	Empty  string             `json:"empty,omitempty"`
	Flag   bool               `json:"flag"`
	Whole  int                `json:"whole,omitempty"`
	Side   int8               `json:"side"`
	Real   float64            `json:"real"`
	Small  float32            `json:"small"`
	Maybe  *float64           `json:"maybe"`
	Gone   *inner             `json:"gone,omitempty"`
	List   []inner            `json:"list"`
	Points [][3]float64       `json:"points,omitempty"`
	Pair   [2]float64         `json:"pair"`
	Map    map[string]float64 `json:"map"`
	Left   chan int           `json:"-"`
	Plain  float64
}

func draw(t *rapid.T) all {
	text := rapid.StringOf(rapid.OneOf(rapid.Rune(), rapid.SampledFrom([]rune{'<', '&', '"', '\\', '\n', 0, 7, '\u2028', 0x1F41F})))
	real := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 1e-7, 1e21, 1e-6, 123456789, 5e-324, 0.1}))
	finite := real.Filter(func(f float64) bool { return !math.IsNaN(f) && !math.IsInf(f, 0) })
	in := func() inner { return inner{text.Draw(t, "a"), finite.Draw(t, "b")} }
	v := all{inner: in(), Name: text.Draw(t, "name"), Flag: rapid.Bool().Draw(t, "flag"), Whole: rapid.Int().Draw(t, "whole"),
		Side: rapid.Int8().Draw(t, "side"), Real: finite.Draw(t, "real"), Small: float32(rapid.Float32Range(-1e30, 1e30).Draw(t, "small")),
		List: []inner{}, Map: map[string]float64{}, Plain: finite.Draw(t, "plain")}
	if rapid.Bool().Draw(t, "maybe") {
		f := finite.Draw(t, "f")
		v.Maybe = &f
		i := in()
		v.Gone = &i
		v.List = append(v.List, in(), in())
		v.Points = append(v.Points, [3]float64{1, f, 3})
		v.Map[text.Draw(t, "key")] = f
		v.Map["k"] = 1
	}
	return v
}

// What is written is what encoding/json writes, and is read as it reads it.
func TestAsEncodingJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := draw(t)
		got, err := Marshal(&v)
		if err != nil {
			t.Fatal(err)
		}
		want, err := json.Marshal(&v)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Fatalf("%s\nwant %s", got, want)
		}
		var mine, theirs all
		if err := Unmarshal(got, &mine); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(got, &theirs); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(mine, theirs) {
			t.Fatalf("%+v\nwant %+v", mine, theirs)
		}
	})
}

func TestNil(t *testing.T) {
	type lists struct {
		A []int       `json:"a"`
		B [][]float64 `json:"b"`
		C *int        `json:"c"`
		D any         `json:"d"`
		E Raw         `json:"e"`
		F Raw         `json:"f"`
	}
	got, err := Marshal(lists{F: Raw(`{"x": 1}`)})
	if want := `{"a":[],"b":[],"c":null,"d":null,"e":null,"f":{"x": 1}}`; err != nil || string(got) != want {
		t.Errorf("%s, %v, want %s", got, err, want)
	}
}

func TestNotFinite(t *testing.T) {
	type deep struct {
		Rods []inner `json:"rods"`
	}
	_, err := Marshal(deep{[]inner{{}, {"x", math.NaN()}}})
	if !errors.Is(err, ErrNotFinite) || !strings.Contains(err.Error(), "rods.b") {
		t.Errorf("%v", err)
	}
}

func TestStrict(t *testing.T) {
	for _, text := range []string{``, `{`, `{"a"`, `{"a":`, `{"a":1}`, `{"no":1}`, `{"a":"x"} 1`, `{"a":"x",}`, `{,}`, `{"whole":1.5}`, `{"whole":1e3}`, `{"side":200}`,
		`{"real":1e999}`, `{"real":01}`, `{"real":1.}`, `{"real":-}`, `{"real":.5}`, `{"real":+1}`, `{"flag":"true"}`, `{"flag":tru}`, `{"list":{}}`, `{"list":[}`, `{"list":[{}`, `{"name":"\x"}`,
		"{\"name\":\"\n\"}", `{"name":"\u12"}`, `{"name":"`, `{"A":"x"}`, `{"a":"x","a":"y"}`, `[]`, `3`, `{"pair":3}`, `nul`, strings.Repeat(`[`, 1000), `{"map":` + strings.Repeat(`{"a":`, 1000)} {
		var v all
		if err := Unmarshal([]byte(text), &v); err == nil {
			t.Errorf("%.60q was taken", text)
		}
	}
}

func TestWrongTypesPanic(t *testing.T) {
	for _, v := range []any{make(chan int), struct{ B []byte }{}, struct{ F func() }{}, struct{ C complex128 }{}} {
		func() {
			defer func() {
				if fault, ok := recover().(string); !ok || !strings.HasPrefix(fault, "wire: ") {
					t.Errorf("%T: %v", v, fault)
				}
			}()
			_, _ = Marshal(v)
			t.Errorf("%T was written", v)
		}()
	}
}

// What is taken here encoding/json takes too, to the same value.
func FuzzUnmarshal(f *testing.F) {
	for _, seed := range []string{`{"a":"x","b":1e5,"list":[{"a":"\ud83d\udc1f"}],"points":[[1,2,3]],"map":{"k":1},"maybe":null}`, `{"name":"\u00e9\/"}`, `{"pair":[1]}`, `null`} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var mine, theirs all
		if Unmarshal(data, &mine) != nil {
			return
		}
		d := json.NewDecoder(bytes.NewReader(data))
		d.DisallowUnknownFields()
		if err := d.Decode(&theirs); err != nil {
			t.Fatalf("taken, and not by encoding/json: %v", err)
		}
		a, errA := Marshal(&mine)
		b, errB := json.Marshal(&theirs)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		var x, y any
		if json.Unmarshal(a, &x) != nil || json.Unmarshal(b, &y) != nil {
			t.Fatal("not JSON")
		}
		// Lists that are nil are empty here; beyond that nothing may differ.
		if !reflect.DeepEqual(noNull(x), noNull(y)) {
			t.Fatalf("%s\nwant %s", a, b)
		}
	})
}

// noNull drops members that are null or an empty list.
func noNull(v any) any {
	switch x := v.(type) {
	case map[string]any:
		for k, m := range x {
			m = noNull(m)
			l, list := m.([]any)
			o, object := m.(map[string]any)
			if x[k] = m; m == nil || list && len(l) == 0 || object && len(o) == 0 {
				delete(x, k)
			}
		}
	case []any:
		for i := range x {
			x[i] = noNull(x[i])
		}
	}
	return v
}
