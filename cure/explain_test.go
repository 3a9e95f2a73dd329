package cure

import (
	"strings"
	"testing"
)

func says(t *testing.T, in []string, want ...string) {
	t.Helper()
	all := strings.Join(in, "\n")
	for _, w := range want {
		if !strings.Contains(all, w) {
			t.Errorf("\n%s\ndoes not say %q", all, w)
		}
	}
}

func TestExplain(t *testing.T) {
	s, err := ParseSheet("mine.toml", []byte(smallSheet))
	if err != nil {
		t.Fatal(err)
	}
	says(t, s.Explain(), "from 10 °C up", "after 15 minutes", "2 rows (10 to 20 °C)", "takes 2 times as long",
		"strained_factor = 2", "activation_kj_per_mol = [50, 70]", `below_min = "lost"`, "grace_minutes = 15", "max_use_c = 40", "no assembly time")
	says(t, s.Doubts(), "where its numbers are from", "no cautions")

	s, err = ParseSheet("mine.toml", []byte(`name = "b"
family = "polyurethane-1c"
source = "the can"
min_use_c = 5
press_time = [ { at_c = 20, hours = 2 } ]
stops_short_below_c = 12
cautions = ["gloves"]
`))
	if err != nil {
		t.Fatal(err)
	}
	says(t, s.Explain(), "one row, at 20 °C", "it waits", "stalls short")
	says(t, s.Doubts(), "coldest row is at 20 °C", "gas = true")
	if all := strings.Join(s.Doubts(), "\n"); strings.Contains(all, "cautions") || strings.Contains(all, "source") {
		t.Errorf("doubts what is there:\n%s", all)
	}
}

func TestCurve(t *testing.T) {
	c := ufSheet().Curve(23)
	if len(c) != 23 || c[0].C != 10 || c[22].C != 32 || !c[0].InTable || c[22].InTable {
		t.Fatalf("%+v", c)
	}
	almost(t, "20 °C, h", c[10].Flat.Expected/3600, 1.75, 1e-9)
	almost(t, "20 °C, strained, h", c[10].Strained.Expected/3600, 3.5, 1e-9)
}
