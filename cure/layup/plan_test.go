package layup

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/datasheets"
)

func sheet(t *testing.T, name string) *cure.Sheet {
	t.Helper()
	s, _, err := datasheets.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func parsed(t *testing.T, text string) *Layup {
	t.Helper()
	l, err := Parse("layup.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestPlanOfTheExample(t *testing.T) {
	l := parsed(t, string(Example()))
	p := Make(l, sheet(t, l.Glue))
	if testing.Verbose() {
		b, _ := json.MarshalIndent(p, "", "  ")
		t.Logf("%s", b)
	}
	if p.Plies != 9 || p.Lines != 8 || math.Abs(p.AreaM2-.352) > 1e-9 || math.Abs(p.ThicknessM-.0135) > 1e-9 {
		t.Errorf("stack: %+v", p)
	}
	almost(t, "glue on a line, kg", p.Mix.LineKg, .3*.352, 1e-9)
	almost(t, "glue to mix, kg", p.Mix.MixKg, 8*.3*.352/.88, 1e-9)
	almost(t, "force, N", p.Clamp.ForceN, 80e3*.352, 1e-6)
	almost(t, "ambient at 150 m, Pa", p.Clamp.AmbientPa, 99535, 60)
	if p.Mould.Verdict != Bears || p.Mould.LimitPa != 130e3 {
		t.Errorf("mould: %+v", p.Mould)
	}
	almost(t, "press time at 15 °C, strained, h", p.At[2].PressS.Expected/3600, 5.5, 1e-6)
	if len(p.Bends) != 2 || p.Bends[0].Back >= p.Bends[1].Back {
		t.Errorf("the bend across must spring more than the one along: %+v", p.Bends)
	}
	if g := l.GlueLine(); g.Lag != p.Heat.LagS || g.StartC != 12 || !g.HasStart {
		t.Errorf("glue line: %+v", g)
	}
	if _, err := json.Marshal(p); err != nil {
		t.Errorf("as JSON: %v", err)
	}
}

// Source: 9 × 1.5 mm sugar maple, 180 g/m² of a PVA with half water: 6 % goes
// to 14.47 %, in equilibrium with 75.05 % humidity at 20 °C; on 0.2125 m² that
// is 306 g of glue with 153 g of water. Hailwood and Horrobin; values computed
// in double precision.
func TestPlanWater(t *testing.T) {
	l := parsed(t, `length_mm = 250
width_mm = 850
moisture_percent = 6
spread_g_per_m2 = 180
loss_percent = 0
vacuum_kpa = 84.66
altitude_m = 0
plies = [ { mm = 1.5, wood = "maple", count = 9 } ]`)
	p := Make(l, sheet(t, "pva-d3"))
	almost(t, "glue, kg", p.Mix.MixKg, .306, 1e-9)
	almost(t, "water, kg", p.Mix.WaterKg, .153, 1e-9)
	almost(t, "after, %", p.Moisture.After, 14.466, 1e-3)
	almost(t, "humidity", p.Moisture.Equilibrium, .7505, 1e-4)
	almost(t, "force at 25 inHg, kN", p.Clamp.ForceN/1e3, 17.99, .005)
}

// Source: stoichiometry of 15 % free NCO: 42.9 mL of CO2 a gram at 20 °C and
// 1 atm; 255 g give 68 L at 16.3 kPa. An upper bound.
func TestPlanGas(t *testing.T) {
	l := parsed(t, `area_m2 = 0.2125
spread_g_per_m2 = 150
vacuum_kpa = 85.025
altitude_m = 0
plies = [ { mm = 1.5, wood = "maple", count = 9 } ]`)
	p := Make(l, sheet(t, "pur-1c"))
	almost(t, "glue, kg", p.Mix.WorkKg, .255, 1e-9)
	almost(t, "gas, L", p.Mix.GasM3*1e3, 68, .5)
}

// Source: assembly rule of a resorcinol in a light-aircraft construction manual:
// mixed use is proportional, a third of the open time leaves two thirds of the
// closed.
func TestPlanAssemblyIsProportional(t *testing.T) {
	l := parsed(t, `area_m2 = 0.2
minutes_per_line = 1
pulldown_minutes = 4
start_c = 21.1
plies = [ { mm = 1.5, wood = "maple", count = 9 } ]`)
	s := sheet(t, "resorcinol") // 10 min open, 60 min closed at 21.1 °C
	a := Make(l, s).At[0]
	almost(t, "used", a.Used, 1.0/10+(7+4)/60.0, 1e-9)
	almost(t, "most per line, min", a.MostPerLineS/60, (1-4.0/60)/(1/10.0+7/60.0), 1e-9)
	l.LineTime = a.MostPerLineS
	almost(t, "used at the most", Make(l, s).At[0].Used, 1, 1e-9)
}

func TestPlanWarns(t *testing.T) {
	base := `area_m2 = 0.2
plies = [ { mm = 1.5, wood = "birch", count = 9 } ]
`
	for _, c := range []struct{ name, text, glue, want string }{
		{"altitude", base + "vacuum_kpa = 84\naltitude_m = 1600\n", "uf-two-part", "cannot be had"},
		{"floor", base + "vacuum_kpa = 60\nfloor_kpa = 65\n", "uf-two-part", "not below the planned vacuum"},
		{"foam creeps", base + "vacuum_kpa = 85\nmould = { material = \"eps\", strength_kpa = 150 }\n", "uf-two-part", "goes on yielding"},
		{"foam crushes", base + "vacuum_kpa = 85\nmould = { material = \"eps\", strength_kpa = 60 }\n", "uf-two-part", "it crushes"},
		{"cold", base + "expected_c = [8]\n", "pva-d3", "spoil the film for good"},
		{"epoxy", base + "expected_c = [15]\n", "epoxy-fast", "stalls short"},
		{"hot", base + "expected_c = [40]\n", "uf-two-part", "its sheet allows"},
		{"dry wood", base + "moisture_percent = 4\n", "pur-1c", "take up moisture"},
		{"wet wood", base + "moisture_percent = 14\n", "pva-d3", "Dry it first"},
		{"water", base + "moisture_percent = 8\nspread_g_per_m2 = 400\n", "pva-d3", "inner plies go to"},
		{"gas", base, "pur-1c", "looks like a leak"},
		{"slow hands", base + "minutes_per_line = 5\nexpected_c = [20]\n", "uf-two-part", "of the assembly time"},
		{"slow pump", base + "pulldown_minutes = 15\nexpected_c = [20]\n", "uf-two-part", "the way to pressure"},
		{"unbalanced", "area_m2 = 0.2\nplies = [ { mm = 1.5, wood = \"birch\", count = 2 }, { mm = 1.5, wood = \"birch\", grain = \"across\" } ]\n", "uf-two-part", "warp"},
		{"tight", base + "bends = [ { direction = \"along\", radius_mm = 60, span_mm = 100 } ]\n", "uf-two-part", "breaks"},
		{"stiff", "area_m2 = 0.2\nplies = [ { mm = 6, wood = \"birch\", count = 3 } ]\nbends = [ { direction = \"along\", radius_mm = 600, span_mm = 300 } ]\n", "uf-two-part", "of the clamp"},
		{"springs", "area_m2 = 0.2\nplies = [ { mm = 2, wood = \"birch\", count = 2 } ]\nbends = [ { direction = \"along\", radius_mm = 900, span_mm = 300 } ]\n", "uf-two-part", "Springback along is 25 %"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := Make(parsed(t, c.text), sheet(t, c.glue))
			if all := strings.Join(p.Warnings, "\n"); !strings.Contains(all, c.want) {
				t.Errorf("warnings\n%s\ndo not say %q", all, c.want)
			}
		})
	}
}

func TestPlanOfACarefulLayupWarnsOfNothing(t *testing.T) {
	l := parsed(t, `area_m2 = 0.2
moisture_percent = 8
spread_g_per_m2 = 200
vacuum_kpa = 80
floor_kpa = 65
minutes_per_line = 0.5
pulldown_minutes = 3
expected_c = [18]
mould = { material = "xps", strength_kpa = 500, mm = 60 }
bends = [ { direction = "along", radius_mm = 900, span_mm = 400 } ]
plies = [ { mm = 1.5, wood = "birch", count = 7 } ]`)
	if w := Make(l, sheet(t, "uf-two-part-slow")).Warnings; len(w) != 0 {
		t.Errorf("warnings: %q", w)
	}
}

func TestParseErrors(t *testing.T) {
	good := "area_m2 = 0.2\nplies = [ { mm = 1.5, wood = \"birch\", count = 9 } ]\n"
	for _, c := range []struct {
		name, in string
		want     []string
	}{
		{"unknown key", good + "altitude = 3\n", []string{"l.toml:3", `did you mean "altitude_m"?`}},
		{"unknown key in a row", strings.Replace(good, "wood", "wodd", 1), []string{"l.toml:2", `did you mean "wood"?`}},
		{"wood", strings.Replace(good, "birch", "brich", 1), []string{"l.toml:2: plies, row 1", `did you mean "birch"?`}},
		{"no area", "plies = [ { mm = 1.5, wood = \"birch\", count = 9 } ]\n", []string{"area_m2: missing", "length_mm"}},
		{"one ply", "area_m2 = 1\nplies = [ { mm = 1.5, wood = \"birch\" } ]\n", []string{"at least two"}},
		{"metres", strings.Replace(good, "1.5", "0.0015", 1), []string{"check the number and its unit"}},
		{"grain", strings.Replace(good, "count = 9", "grain = \"round\"", 1), []string{`"along" or "across"`}},
		{"count", strings.Replace(good, "count = 9", "count = 900", 1), []string{"2 to 100 plies"}},
		{"mould", good + "mould = { material = \"cheese\" }\n", []string{"l.toml:3: mould.material", `"xps"`}},
		{"mould strength", good + "mould = { material = \"xps\" }\n", []string{"mould.strength_kpa: missing", "printed on it"}},
		{"bend", good + "bends = [ { direction = \"up\", radius_mm = 10, span_mm = 10 } ]\n", []string{"l.toml:3: bends, row 1", `"along"`}},
		{"bend without span", good + "bends = [ { direction = \"along\", radius_mm = 10 } ]\n", []string{"needs radius_mm and span_mm"}},
		{"span", good + "bends = [ { direction = \"along\", radius_mm = 10, span_mm = 30 } ]\n", []string{"does not fit"}},
		{"Pa for kPa", good + "floor_kpa = 65000\n", []string{"l.toml:3: floor_kpa", "unit"}},
		{"°F", good + "expected_c = [68]\n", []string{"°F"}},
		{"syntax", "area_m2 = = 3", []string{"l.toml:1:", "not valid TOML"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Parse("l.toml", []byte(c.in))
			if err == nil {
				t.Fatal("no error")
			}
			for _, want := range c.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("error\n%v\ndoes not say %q", err, want)
				}
			}
		})
	}
}

func FuzzParse(f *testing.F) {
	f.Add(Example())
	f.Add([]byte("area_m2 = 0.2\nplies = [ { mm = 1.5, wood = \"birch\", count = 3 } ]\n"))
	f.Add([]byte("length_mm = 1\n[[plies]]\nmm = 1\nwood = \"ash\"\n[[bends]]\ndirection = \"across\"\nradius_mm = 50\nspan_mm = 90\n"))
	s := &cure.Sheet{Name: "x", MinUseC: 5, PressTime: []cure.Point{{AtC: 20, Hours: [2]float64{1, 2}}}, Spread: [2]float64{100, 200}, WaterFraction: .4}
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := Parse("fuzz.toml", data)
		if err != nil || len(l.Plies) > 12 || l.Mould.Thickness > .2 || l.Blanket > .1 || l.Thickness() > .1 {
			return // a thick pile is right, but slow to fuzz
		}
		if _, err := json.Marshal(Make(l, s)); err != nil {
			t.Errorf("a plan that JSON cannot hold: %v", err)
		}
	})
}
