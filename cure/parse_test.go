package cure

import (
	"strings"
	"testing"
)

const smallSheet = `name = "mine"
min_use_c = 10
press_time = [ { at_c = 20, hours = 2 }, { at_c = 10, hours = [5, 6] } ]
`

func TestParseSheetSmallest(t *testing.T) {
	s, err := ParseSheet("mine.toml", []byte(smallSheet))
	if err != nil {
		t.Fatal(err)
	}
	if s.PressTime[0].AtC != 10 || s.PressTime[0].Hours != [2]float64{5, 6} || s.PressTime[1].Hours != [2]float64{2, 2} {
		t.Errorf("press time %+v", s.PressTime)
	}
	if s.StrainedFactor != DefaultStrained || s.MaxUseC != DefaultMaxUse || s.BelowMin != Lost || s.Grace != DefaultGrace ||
		s.Activation != [2]float64{DefaultActivationLow, DefaultActivationHigh} || s.Title != "mine" {
		t.Errorf("defaults: %+v", s)
	}
}

func TestParseSheetErrorsNamePlaceAndRemedy(t *testing.T) {
	for _, c := range []struct {
		name, in string
		want     []string
	}{
		{"unknown key", smallSheet + "min_use = 3\n", []string{`mine.toml:4`, `unknown key "min_use"`, `did you mean "min_use_c"?`}},
		{"unknown key in a row", strings.Replace(smallSheet, "hours = 2 ", "hourz = 2 ", 1), []string{"mine.toml:3", "hourz", `did you mean "hours"?`}},
		{"far from any key", smallSheet + "colour_of_the_boat = 3\n", []string{"mine.toml:4", "remove it", "press_time"}},
		{"syntax", smallSheet + "max_use_c = = 3\n", []string{"mine.toml:4:", "not valid TOML"}},
		{"wrong type", smallSheet + "max_use_c = \"warm\"\n", []string{"mine.toml:4", "max_use_c"}},
		{"no press time", "name = \"a\"\nmin_use_c = 3\n", []string{"press_time: missing", "at_c = 20"}},
		{"no minimum", "name = \"a\"\npress_time = [ { at_c = 20, hours = 2 } ]\n", []string{"min_use_c: missing"}},
		{"no name", strings.Replace(smallSheet, "name = \"mine\"", "", 1), []string{"name: missing"}},
		{"name with a blank", strings.Replace(smallSheet, "\"mine\"", "\"my glue\"", 1), []string{"mine.toml:1", "dashes"}},
		{"family", smallSheet + "family = \"epoxi\"\n", []string{"mine.toml:4: family", `did you mean "epoxy"?`}},
		{"below_min", smallSheet + "below_min = \"gone\"\n", []string{"mine.toml:4", `"lost"`, `"paused"`}},
		{"swapped", smallSheet + "max_use_c = 5\n", []string{"mine.toml:4: max_use_c", "swapped"}},
		{"grows with warmth", strings.Replace(smallSheet, "hours = 2 ", "hours = 8 ", 1), []string{"mine.toml:3: press_time", "grows from 10 °C to 20 °C"}},
		{"twice", strings.Replace(smallSheet, "at_c = 10", "at_c = 20", 1), []string{"mine.toml:3", "twice"}},
		{"pair runs down", strings.Replace(smallSheet, "[5, 6]", "[6, 5]", 1), []string{"row 2 (10 °C)", "lower number first"}},
		{"three numbers", strings.Replace(smallSheet, "[5, 6]", "[5, 6, 7]", 1), []string{"row 2", "3 numbers"}},
		{"nested", strings.Replace(smallSheet, "[5, 6]", "[[5], 6]", 1), []string{"row 2", "not a number"}},
		{"words for hours", strings.Replace(smallSheet, "[5, 6]", "\"5 h\"", 1), []string{"row 2", "not a number"}},
		{"no hours", strings.Replace(smallSheet, ", hours = 2 ", "", 1), []string{"row 1 (20 °C)", "no hours"}},
		{"no at_c", strings.Replace(smallSheet, "at_c = 20, ", "", 1), []string{"row 1 has no at_c"}},
		{"°F", strings.Replace(smallSheet, "at_c = 20", "at_c = 200", 1), []string{"°F"}},
		{"zero hours", strings.Replace(smallSheet, "hours = 2 ", "hours = 0 ", 1), []string{"check the unit"}},
		{"nan", smallSheet + "activation_kj_per_mol = nan\n", []string{"mine.toml:4", "finite"}},
		{"J for kJ", smallSheet + "activation_kj_per_mol = [50000, 70000]\n", []string{"mine.toml:4", "unit"}},
		{"percent for share", smallSheet + "water_fraction = 38\n", []string{"mine.toml:4", "0 to 0.95"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := ParseSheet("mine.toml", []byte(c.in))
			if err == nil {
				t.Fatalf("no error; got %+v", s)
			}
			for _, want := range c.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("error\n%v\ndoes not say %q", err, want)
				}
			}
		})
	}
}

func TestParseSheetReportsAllAtOnce(t *testing.T) {
	_, err := ParseSheet("x.toml", []byte("below_min = \"gone\"\nfamily = \"glue\"\n"))
	if err == nil || strings.Count(err.Error(), "\n") < 4 {
		t.Errorf("got %v", err)
	}
}

func FuzzParseSheet(f *testing.F) {
	f.Add([]byte(smallSheet))
	f.Add([]byte(smallSheet + "activation_kj_per_mol = [50, 70]\nbelow_min = \"paused\"\nfull_cure = [ { at_c = 20, hours = 72 } ]\n"))
	f.Add([]byte("[[press_time]]\nat_c = 20\nhours = 1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := ParseSheet("fuzz.toml", data)
		if err != nil {
			return
		}
		p := NewProgress(s, Options{Strained: true})
		p.Add(0, s.MinUseC+1, true)
		p.Add(60, s.MinUseC+1, true)
		if st := p.State(); !(st.Earned.Low >= 0 && st.Earned.Low <= st.Earned.Expected && st.Earned.Expected <= st.Earned.High) {
			t.Errorf("earned %+v by a sheet that was accepted", st.Earned)
		}
		if left := p.Remaining(nil); !(left.Low <= left.Expected && left.Expected <= left.High) {
			t.Errorf("remaining %+v", left)
		}
	})
}
