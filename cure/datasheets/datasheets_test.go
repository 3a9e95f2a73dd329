package datasheets

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/cure"
)

func TestEveryBuiltInSheetIsComplete(t *testing.T) {
	families := map[string]bool{}
	for _, name := range Names() {
		s, data, err := Load(name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		families[s.Family] = true
		if s.Name != name {
			t.Errorf("file %s.toml names itself %q", name, s.Name)
		}
		if s.Source == "not given" || s.Title == s.Name || len(s.Cautions) == 0 || len(data) == 0 {
			t.Errorf("%s: source, title or cautions missing", name)
		}
		if len(s.OpenAssembly) == 0 || len(s.ClosedAssembly) == 0 || len(s.FullCure) == 0 || s.Spread[1] == 0 || s.Moisture[1] == 0 {
			t.Errorf("%s: assembly, full cure, spread or moisture missing", name)
		}
		if s.Gas != (s.Family == cure.Polyurethane) {
			t.Errorf("%s: gas = %v for family %s", name, s.Gas, s.Family)
		}
		if first := s.PressTime[0].AtC; first < s.MinUseC {
			t.Errorf("%s: the table begins at %g °C, below the minimum use temperature %g °C", name, first, s.MinUseC)
		}
	}
	for _, f := range cure.Families() {
		if !families[f] {
			t.Errorf("no built-in sheet of the family %s", f)
		}
	}
}

// What wets the wood and sets by losing water is lost below its minimum; what
// waits is paused.
func TestColdIsJudgedByFamily(t *testing.T) {
	for _, name := range Names() {
		s, _, err := Load(name)
		if err != nil {
			t.Fatal(err)
		}
		want := cure.Paused
		if s.WaterFraction > 0 {
			want = cure.Lost
		}
		if s.BelowMin != want {
			t.Errorf("%s: below_min = %q, want %q for a water fraction of %g", name, s.BelowMin, want, s.WaterFraction)
		}
	}
}

func TestLoadUnknownNameHelps(t *testing.T) {
	_, _, err := Load("uf-two-prt")
	if err == nil {
		t.Fatal("no error")
	}
	for _, part := range []string{`"uf-two-prt"`, `did you mean "uf-two-part"?`, "pva-d3", ".toml"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("error %q does not say %q", err, part)
		}
	}
	_, _, err = Load("./none.toml")
	if err == nil || !strings.Contains(err.Error(), "none.toml") || !strings.Contains(err.Error(), "pva-d3") {
		t.Errorf("missing file: %v", err)
	}
}

func TestLoadAPath(t *testing.T) {
	_, data, err := Load("pva-d3")
	if err != nil {
		t.Fatal(err)
	}
	mine := filepath.Join(t.TempDir(), "mine.toml")
	if err := os.WriteFile(mine, []byte(strings.Replace(string(data), "pva-d3", "my-can", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	s, _, err := Load(mine)
	if err != nil {
		t.Fatal(err)
	}
	if s.Name != "my-can" || s.MinUseC != 10 {
		t.Errorf("got %+v", s)
	}
}

func TestLoadRefusesAHugeFile(t *testing.T) {
	huge := filepath.Join(t.TempDir(), "huge.toml")
	if err := os.WriteFile(huge, make([]byte, mostBytes+1), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Load(huge); err == nil || !strings.Contains(err.Error(), "more than") {
		t.Errorf("got %v", err)
	}
}

// The schema and the parser know the same keys.
func TestSchemaMatchesTheParser(t *testing.T) {
	var schema struct {
		Properties map[string]json.RawMessage
		Required   []string
		Defs       map[string]struct{ Properties map[string]json.RawMessage } `json:"$defs"`
	}
	if err := json.Unmarshal(Schema(), &schema); err != nil {
		t.Fatal(err)
	}
	for key := range schema.Properties {
		// A table of booleans is wrong for every key, but not unknown.
		_, err := cure.ParseSheet("x.toml", fmt.Appendf(nil, "[%s]\nx = true\n", key))
		if err != nil && strings.Contains(err.Error(), fmt.Sprintf("unknown key %q", key)) {
			t.Errorf("the schema has %q, the parser does not", key)
		}
	}
	_, err := cure.ParseSheet("x.toml", []byte("no_key_at_all_like_this_one = 1\n"))
	if err == nil {
		t.Fatal("an unknown key was taken")
	}
	_, list, _ := strings.Cut(err.Error(), "known keys: ")
	known := strings.Split(strings.TrimSuffix(list, ")"), ", ")
	if len(known) < 20 {
		t.Fatalf("the parser's keys: %q", known)
	}
	rows := map[string]bool{}
	var glass struct{ Properties map[string]json.RawMessage }
	if err := json.Unmarshal(schema.Properties["glass"], &glass); err != nil {
		t.Fatal(err)
	}
	for key := range glass.Properties {
		rows[key] = true
	}
	for _, d := range schema.Defs {
		for key := range d.Properties {
			rows[key] = true
		}
	}
	for _, key := range known {
		if _, ok := schema.Properties[key]; !ok && !rows[key] {
			t.Errorf("the parser has %q, the schema does not", key)
		}
	}
	_, err = cure.ParseSheet("x.toml", nil)
	for _, key := range schema.Required {
		if err == nil || !strings.Contains(err.Error(), key+": missing") {
			t.Errorf("the schema requires %q, the parser does not", key)
		}
	}
}
