package cure

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
)

// checker gathers what is wrong with a sheet file.
type checker struct {
	file   string
	data   []byte
	faults []error
}

// fault notes that key is wrong, and what to write instead.
func (c *checker) fault(key, format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if line := TOMLLine(c.data, key); line > 0 {
		c.faults = append(c.faults, fmt.Errorf("%s:%d: %s: %s", c.file, line, key, text))
		return
	}
	c.faults = append(c.faults, fmt.Errorf("%s: %s: %s", c.file, key, text))
}

func (c *checker) sheet(f *sheetFile) *Sheet {
	s := &Sheet{
		Name: f.Name, Family: f.Family, Title: f.Title, Source: f.Source,
		Gas: f.Gas, Cautions: f.Cautions, BelowMin: f.BelowMin,
	}
	c.words(s)
	c.temperatures(s, f)
	assume(s, f)
	s.PressTime = c.hours("press_time", f.PressTime)
	if len(f.PressTime) == 0 {
		c.fault("press_time", "missing; write how long the sheet wants pressure, for example press_time = [ { at_c = 20, hours = 8 } ]")
	}
	s.FullCure = c.hours("full_cure", f.FullCure)
	s.OpenAssembly = c.minutes("open_assembly", f.OpenAssembly)
	s.ClosedAssembly = c.minutes("closed_assembly", f.ClosedAssembly)
	s.StrainedFactor = c.number("strained_factor", f.StrainedFactor, DefaultStrained, 1, 50)
	s.Grace = 60 * c.number("grace_minutes", f.GraceMinutes, DefaultGrace/60, 0.1, 24*60)
	s.WaterFraction = c.number("water_fraction", f.WaterFraction, 0, 0, 0.95)
	s.Glass = c.glass(f.Glass)
	s.Activation = c.pairOr("activation_kj_per_mol", f.Activation, [2]float64{DefaultActivationLow, DefaultActivationHigh}, 5, 200)
	s.Spread = c.pairOr("spread_g_per_m2", f.Spread, [2]float64{}, 10, 2000)
	s.Moisture = c.pairOr("moisture_percent", f.Moisture, [2]float64{}, 0, 40)
	return s
}

// assume notes the defaults for what the file leaves out.
func assume(s *Sheet, f *sheetFile) {
	say := func(missing bool, format string, args ...any) {
		if missing {
			s.Assumed = append(s.Assumed, fmt.Sprintf(format, args...))
		}
	}
	say(f.MaxUseC == nil, "max_use_c = %g", s.MaxUseC)
	say(f.StrainedFactor == nil, "strained_factor = %g", DefaultStrained)
	say(f.Activation == nil, "activation_kj_per_mol = [%g, %g]", DefaultActivationLow, DefaultActivationHigh)
	say(f.BelowMin == "", "below_min = %q", s.BelowMin)
	say(f.GraceMinutes == nil && s.BelowMin == Lost, "grace_minutes = %g", DefaultGrace/60)
}

func (c *checker) words(s *Sheet) {
	if s.Name == "" {
		c.fault("name", "missing; write the word that --glue takes, for example name = \"my-pva\"")
	} else if !regexp.MustCompile(`^[a-z0-9][a-z0-9._-]*$`).MatchString(s.Name) {
		c.fault("name", "%q cannot be typed as one word; use lower-case letters, digits and dashes", s.Name)
	}
	if s.Title == "" {
		s.Title = s.Name
	}
	if s.Source == "" {
		s.Source = notGiven
	}
	if s.Family != "" && !slices.Contains(Families(), s.Family) {
		c.fault("family", "%q is not known%s; use one of %s", s.Family, didYouMean(s.Family, Families()), strings.Join(Families(), ", "))
	}
	switch s.BelowMin {
	case Lost, Paused:
	case "":
		s.BelowMin = defaultBelowMin(s.Family)
	default:
		c.fault("below_min", "%q is not known; use %q (the film is spoiled) or %q (it waits)", s.BelowMin, Lost, Paused)
	}
}

// defaultBelowMin is the careful answer for a family: what sets by losing water
// is lost when it loses it in the cold.
func defaultBelowMin(family string) string {
	switch family {
	case Polyurethane, Epoxy:
		return Paused
	}
	return Lost
}

func didYouMean(word string, known []string) string {
	if near, ok := Nearest(word, known); ok {
		return fmt.Sprintf(" (did you mean %q?)", near)
	}
	return ""
}

func (c *checker) temperatures(s *Sheet, f *sheetFile) {
	if f.MinUseC == nil {
		c.fault("min_use_c", "missing; write the lowest glue-line temperature the maker allows, °C")
	} else {
		s.MinUseC = c.number("min_use_c", f.MinUseC, 0, -20, 60)
	}
	s.MaxUseC = c.number("max_use_c", f.MaxUseC, math.Max(DefaultMaxUse, s.MinUseC+10), -20, 150)
	if s.MaxUseC <= s.MinUseC {
		c.fault("max_use_c", "%g °C is not above min_use_c (%g °C); are the two swapped?", s.MaxUseC, s.MinUseC)
	}
	s.StopsShortC = c.number("stops_short_below_c", f.StopsShortC, math.NaN(), -20, 150)
}

func (c *checker) glass(f *glassFile) *Glass {
	if f == nil {
		return nil
	}
	if f.FreshC == nil || f.FullC == nil || f.Lambda == nil {
		c.fault("glass", "needs fresh_c, full_c (°C) and lambda")
		return nil
	}
	g := &Glass{*f.FreshC, *f.FullC, *f.Lambda}
	if !(g.FreshC >= -150 && g.FreshC < g.FullC && g.FullC <= 350) {
		c.fault("glass", "fresh_c = %g must lie below full_c = %g, both within -150 to 350 °C", g.FreshC, g.FullC)
		return nil
	}
	if !(g.Lambda > 0 && g.Lambda <= 1) {
		c.fault("glass", "lambda = %g is outside 0 to 1", g.Lambda)
		return nil
	}
	return g
}

// number is the value of an optional key within its range.
func (c *checker) number(key string, v *float64, missing, low, high float64) float64 {
	if v == nil {
		return missing
	}
	if !(*v >= low && *v <= high) {
		c.fault(key, "%g is outside %g to %g; check the number and its unit", *v, low, high)
		return missing
	}
	return *v
}

// pairOr is a number or a pair of numbers within a range, or what stands for none.
func (c *checker) pairOr(key string, v any, missing [2]float64, low, high float64) [2]float64 {
	if v == nil {
		return missing
	}
	p, err := pair(v)
	if err != nil {
		c.fault(key, "%v", err)
		return missing
	}
	if p[0] < low || p[1] > high {
		c.fault(key, "%g to %g is outside %g to %g; check the numbers and their unit", p[0], p[1], low, high)
		return missing
	}
	return p
}

// pair reads a number, or [low, high].
func pair(v any) ([2]float64, error) {
	switch v := v.(type) {
	case int64:
		return [2]float64{float64(v), float64(v)}, nil
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return [2]float64{}, fmt.Errorf("%g is not a finite number", v)
		}
		return [2]float64{v, v}, nil
	case []any:
		return pairOf(v)
	}
	return [2]float64{}, fmt.Errorf("%v is not a number; write one number, or a pair [low, high]", v)
}

func pairOf(v []any) ([2]float64, error) {
	if len(v) != 2 {
		return [2]float64{}, fmt.Errorf("has %d numbers; write one number, or a pair [low, high]", len(v))
	}
	var p [2]float64
	for i := range v {
		switch v[i].(type) {
		case int64, float64:
		default:
			return p, fmt.Errorf("%v in a pair is not a number; write [low, high]", v[i])
		}
		one, err := pair(v[i])
		if err != nil {
			return p, err
		}
		p[i] = one[0]
	}
	if p[0] > p[1] {
		return p, fmt.Errorf("[%g, %g] runs down; write the lower number first", p[0], p[1])
	}
	return p, nil
}
