package scenario

import (
	"encoding/json"
	"os"
	"regexp"
	"strings"
	"testing"
)

// TestDocument holds docs/scenario.md against the description that the decoder uses: it
// names every key and every code, and its first file is accepted.
func TestDocument(t *testing.T) {
	data, err := os.ReadFile("../docs/scenario.md")
	if err != nil {
		t.Fatal(err)
	}
	doc := string(data)
	described, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	var s struct {
		Defs map[string]struct {
			Properties map[string]json.RawMessage
		} `json:"$defs"`
	}
	if err := json.Unmarshal(described, &s); err != nil {
		t.Fatal(err)
	}
	names := func(word string) bool {
		return regexp.MustCompile("[`{ ]" + regexp.QuoteMeta(word) + "[`,:}*]").MatchString(doc)
	}
	for def, d := range s.Defs {
		for key := range d.Properties {
			if !names(key) {
				t.Errorf("the document does not name the key %s of a %s", key, def)
			}
		}
	}
	codes := map[string]bool{}
	sources, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range sources {
		if !strings.HasSuffix(file.Name(), ".go") || strings.HasSuffix(file.Name(), "_test.go") {
			continue
		}
		text, err := os.ReadFile(file.Name())
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`(?:Code: |Code, f\.Text(?:, f\.Hint)? = |refuse\(|refuseEdit\(c, |code, text := |f\.Code = )"([a-z-]+)"`).FindAllStringSubmatch(string(text), -1) {
			codes[m[1]] = true
			if !strings.Contains(doc, "`"+m[1]+"`") {
				t.Errorf("the document does not explain the code %s", m[1])
			}
		}
	}
	if len(codes) < 20 {
		t.Errorf("only %d codes were found in the sources", len(codes))
	}
	_, first, _ := strings.Cut(doc, "```yaml\n")
	first, _, _ = strings.Cut(first, "```")
	if _, _, err := Decode("the document's first file", []byte(first)); err != nil {
		t.Error(err)
	}
}
