package layup

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"github.com/nightclamp/nightclamp/cure"
)

// layupFile is the file as written, in the units of the bench.
type layupFile struct {
	Work         string     `toml:"work"`
	Glue         string     `toml:"glue"`
	LengthMM     *float64   `toml:"length_mm"`
	WidthMM      *float64   `toml:"width_mm"`
	AreaM2       *float64   `toml:"area_m2"`
	Moisture     *float64   `toml:"moisture_percent"`
	Plies        []plyFile  `toml:"plies"`
	Mould        *mouldFile `toml:"mould"`
	BlanketMM    *float64   `toml:"blanket_mm"`
	Bends        []bendFile `toml:"bends"`
	Strained     *bool      `toml:"strained"`
	Spread       *float64   `toml:"spread_g_per_m2"`
	LossPercent  *float64   `toml:"loss_percent"`
	VacuumKPa    *float64   `toml:"vacuum_kpa"`
	FloorKPa     *float64   `toml:"floor_kpa"`
	BarometerKPa *float64   `toml:"barometer_kpa"`
	AltitudeM    *float64   `toml:"altitude_m"`
	StartC       *float64   `toml:"start_c"`
	ExpectedC    []float64  `toml:"expected_c"`
	LineMinutes  *float64   `toml:"minutes_per_line"`
	PulldownMin  *float64   `toml:"pulldown_minutes"`
}

type plyFile struct {
	MM    *float64 `toml:"mm"`
	Wood  string   `toml:"wood"`
	Grain string   `toml:"grain"`
	Count *int     `toml:"count"`
}

type mouldFile struct {
	Material    string   `toml:"material"`
	StrengthKPa *float64 `toml:"strength_kpa"`
	CreepKPa    *float64 `toml:"creep_kpa"`
	ThickMM     *float64 `toml:"mm"`
	BothSides   bool     `toml:"both_sides"`
}

type bendFile struct {
	Direction string   `toml:"direction"`
	RadiusMM  *float64 `toml:"radius_mm"`
	SpanMM    *float64 `toml:"span_mm"`
}

func layupKeys() []string {
	return []string{
		"work", "glue", "length_mm", "width_mm", "area_m2", "moisture_percent", "plies", "mould", "blanket_mm", "bends",
		"strained", "spread_g_per_m2", "loss_percent", "vacuum_kpa", "floor_kpa", "barometer_kpa", "altitude_m",
		"start_c", "expected_c", "minutes_per_line", "pulldown_minutes",
		"mm", "wood", "grain", "count", "material", "strength_kpa", "creep_kpa", "both_sides", "direction", "radius_mm", "span_mm",
	}
}

// Parse reads a lay-up file. The name is that of the file and stands in errors,
// which say the line or the key and what to write instead; all that is wrong is
// reported at once, joined. An unknown key is an error. [Example] is a whole file.
func Parse(name string, data []byte) (*Layup, error) {
	var f layupFile
	d := toml.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		return nil, cure.TOMLError(name, err, layupKeys())
	}
	c := checker{file: name, data: data}
	l := c.layup(&f)
	if len(c.faults) > 0 {
		return nil, errors.Join(c.faults...)
	}
	return l, nil
}

// checker gathers what is wrong with a lay-up file.
type checker struct {
	file   string
	data   []byte
	faults []error
}

// fault notes what is wrong with a key; of "plies, row 2" and "mould.mm" the
// line is that of the table.
func (c *checker) fault(key, format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	table, _, _ := strings.Cut(key, ",")
	table, _, _ = strings.Cut(table, ".")
	if line := cure.TOMLLine(c.data, table); line > 0 {
		c.faults = append(c.faults, fmt.Errorf("%s:%d: %s: %s", c.file, line, key, text))
		return
	}
	c.faults = append(c.faults, fmt.Errorf("%s: %s: %s", c.file, key, text))
}

// number is an optional value within its range, times the unit.
func (c *checker) number(key string, v *float64, missing, low, high, unit float64) float64 {
	if v == nil {
		return missing
	}
	if !(*v >= low && *v <= high) {
		c.fault(key, "%g is outside %g to %g; check the number and its unit", *v, low, high)
		return missing
	}
	return *v * unit
}

const (
	mm  = 1e-3
	kPa = 1e3
)

func (c *checker) layup(f *layupFile) *Layup {
	l := &Layup{
		Work: f.Work, Glue: f.Glue,
		Moisture:     c.number("moisture_percent", f.Moisture, 8, 0, 40, 1),
		Blanket:      c.number("blanket_mm", f.BlanketMM, 0, 1, 500, mm),
		Spread:       c.number("spread_g_per_m2", f.Spread, 0, 10, 2000, 1e-3),
		Loss:         c.number("loss_percent", f.LossPercent, 0.125, 0, 80, 0.01),
		Vacuum:       c.number("vacuum_kpa", f.VacuumKPa, 0, 5, 101, kPa),
		Floor:        c.number("floor_kpa", f.FloorKPa, 0, 5, 101, kPa),
		StartC:       c.number("start_c", f.StartC, 20, -20, 45, 1),
		LineTime:     c.number("minutes_per_line", f.LineMinutes, 0, 0.1, 60, 60),
		PulldownTime: c.number("pulldown_minutes", f.PulldownMin, 5*60, 0, 120, 60),
	}
	c.size(l, f)
	c.plies(l, f.Plies)
	c.mould(l, f.Mould)
	c.bends(l, f.Bends)
	l.Strained = len(l.Bends) > 0
	if f.Strained != nil {
		l.Strained = *f.Strained
	}
	l.Ambient = c.number("barometer_kpa", f.BarometerKPa, 0, 55, 110, kPa)
	height := c.number("altitude_m", f.AltitudeM, 0, -400, 5000, 1)
	if l.Ambient == 0 {
		l.Ambient = Atmosphere(height)
	}
	l.ExpectedC = []float64{l.StartC}
	if len(f.ExpectedC) > 0 {
		l.ExpectedC = f.ExpectedC
	}
	for _, t := range l.ExpectedC {
		if !(t >= -20 && t <= 60) {
			c.fault("expected_c", "%g is outside -20 to 60 °C; is it in °F?", t)
		}
	}
	return l
}

func (c *checker) size(l *Layup, f *layupFile) {
	l.Length = c.number("length_mm", f.LengthMM, 0, 10, 20000, mm)
	l.Width = c.number("width_mm", f.WidthMM, 0, 10, 20000, mm)
	l.Area = c.number("area_m2", f.AreaM2, l.Length*l.Width, 1e-4, 100, 1)
	if l.Area == 0 {
		c.fault("area_m2", "missing; write area_m2, or length_mm and width_mm")
	}
}

func (c *checker) plies(l *Layup, in []plyFile) {
	for i, p := range in {
		key := fmt.Sprintf("plies, row %d", i+1)
		w, err := FindWood(p.Wood)
		if err != nil {
			c.fault(key, "%v", err)
		}
		if p.MM == nil {
			c.fault(key, "has no mm; write the thickness of the ply, for example mm = 1.5")
		}
		one := Ply{Wood: w, Thickness: c.number(key+", mm", p.MM, 1.5*mm, 0.1, 50, mm)}
		switch p.Grain {
		case "along", "":
		case "across":
			one.Across = true
		default:
			c.fault(key, "grain %q is not known; use \"along\" or \"across\"", p.Grain)
		}
		count := 1
		if p.Count != nil {
			count = *p.Count
		}
		if count < 1 || count > 50 || len(l.Plies)+count > 100 {
			c.fault(key, "count = %d; a stack has 2 to 100 plies", count)
			return
		}
		for range count {
			l.Plies = append(l.Plies, one)
		}
	}
	if len(l.Plies) < 2 {
		c.fault("plies", "%d of them; write at least two, mould side first, for example plies = [ { mm = 1.5, wood = \"birch\", count = 9 } ]", len(l.Plies))
	}
}

func (c *checker) mould(l *Layup, m *mouldFile) {
	l.Mould = Mould{Material: "solid", Thickness: 20 * mm}
	if m == nil {
		return
	}
	l.Mould = Mould{
		Material:  m.Material,
		Strength:  c.number("mould.strength_kpa", m.StrengthKPa, 0, 10, 5000, kPa),
		Creep:     c.number("mould.creep_kpa", m.CreepKPa, 0, 5, 5000, kPa),
		Thickness: c.number("mould.mm", m.ThickMM, 60*mm, 1, 1000, mm),
		BothSides: m.BothSides,
	}
	switch m.Material {
	case "xps", "eps":
		if l.Mould.Strength == 0 && l.Mould.Creep == 0 {
			c.fault("mould.strength_kpa", "missing; write the board's compressive strength, which is printed on it (for example 300)")
		}
	case "solid":
	default:
		c.fault("mould.material", "%q is not known; use \"xps\", \"eps\" or \"solid\"", m.Material)
	}
}

func (c *checker) bends(l *Layup, in []bendFile) {
	for i, b := range in {
		key := fmt.Sprintf("bends, row %d", i+1)
		one := Bend{
			Radius: c.number(key+", radius_mm", b.RadiusMM, math.NaN(), 5, 1e6, mm),
			Span:   c.number(key+", span_mm", b.SpanMM, math.NaN(), 5, 2e4, mm),
		}
		switch b.Direction {
		case "along":
		case "across":
			one.Across = true
		default:
			c.fault(key, "direction %q is not known; use \"along\" (the length curves) or \"across\"", b.Direction)
		}
		if b.RadiusMM == nil || b.SpanMM == nil {
			c.fault(key, "needs radius_mm and span_mm")
			continue
		}
		if one.Span > 2*one.Radius {
			c.fault(key, "a span of %g mm does not fit into a radius of %g mm", one.Span/mm, one.Radius/mm)
			continue
		}
		l.Bends = append(l.Bends, one)
	}
}
