package cure

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// sheetFile is the file as written. Numbers that may be a pair are any.
type sheetFile struct {
	Name           string      `toml:"name"`
	Family         string      `toml:"family"`
	Title          string      `toml:"title"`
	Source         string      `toml:"source"`
	MinUseC        *float64    `toml:"min_use_c"`
	MaxUseC        *float64    `toml:"max_use_c"`
	PressTime      []hoursRow  `toml:"press_time"`
	StrainedFactor *float64    `toml:"strained_factor"`
	OpenAssembly   []minuteRow `toml:"open_assembly"`
	ClosedAssembly []minuteRow `toml:"closed_assembly"`
	FullCure       []hoursRow  `toml:"full_cure"`
	Activation     any         `toml:"activation_kj_per_mol"`
	BelowMin       string      `toml:"below_min"`
	GraceMinutes   *float64    `toml:"grace_minutes"`
	StopsShortC    *float64    `toml:"stops_short_below_c"`
	Spread         any         `toml:"spread_g_per_m2"`
	WaterFraction  *float64    `toml:"water_fraction"`
	Moisture       any         `toml:"moisture_percent"`
	Gas            bool        `toml:"gas"`
	Cautions       []string    `toml:"cautions"`
}

type hoursRow struct {
	AtC   *float64 `toml:"at_c"`
	Hours any      `toml:"hours"`
}

type minuteRow struct {
	AtC     *float64 `toml:"at_c"`
	Minutes any      `toml:"minutes"`
}

// sheetKeys are the keys of a datasheet file, for the nearest one to a typo.
func sheetKeys() []string {
	return []string{
		"name", "family", "title", "source", "min_use_c", "max_use_c", "press_time", "strained_factor",
		"open_assembly", "closed_assembly", "full_cure", "activation_kj_per_mol", "below_min", "grace_minutes",
		"stops_short_below_c", "spread_g_per_m2", "water_fraction", "moisture_percent", "gas", "cautions",
		"at_c", "hours", "minutes",
	}
}

// ParseSheet reads an adhesive datasheet. The name is that of the file and
// stands in errors, which say the line, the key and what to write instead; all
// that is wrong is reported at once, joined.
//
// Required are name, min_use_c and press_time. An unknown key is an error.
func ParseSheet(name string, data []byte) (*Sheet, error) {
	var f sheetFile
	d := toml.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		return nil, TOMLError(name, err, sheetKeys())
	}
	c := checker{file: name, data: data}
	s := c.sheet(&f)
	if len(c.faults) > 0 {
		return nil, errors.Join(c.faults...)
	}
	return s, nil
}

// TOMLError turns an error of the TOML decoder into one that names the place and
// the nearest known key.
func TOMLError(file string, err error, known []string) error {
	var missing *toml.StrictMissingError
	if errors.As(err, &missing) {
		var faults []error
		for i := range missing.Errors {
			e := &missing.Errors[i]
			line, _ := e.Position()
			faults = append(faults, unknownKey(file, line, e.Key(), known))
		}
		return errors.Join(faults...)
	}
	var wrong *toml.DecodeError
	if errors.As(err, &wrong) {
		line, column := wrong.Position()
		what := strings.TrimPrefix(wrong.Error(), "toml: ")
		if key := wrong.Key(); len(key) > 0 {
			return fmt.Errorf("%s:%d:%d: key %q: %s", file, line, column, strings.Join(key, "."), what)
		}
		return fmt.Errorf("%s:%d:%d: not valid TOML: %s", file, line, column, what)
	}
	return fmt.Errorf("%s: read as TOML: %w", file, err)
}

func unknownKey(file string, line int, key []string, known []string) error {
	if len(key) == 0 {
		return fmt.Errorf("%s:%d: unknown key; remove it", file, line)
	}
	last := key[len(key)-1]
	if near, ok := Nearest(last, known); ok {
		return fmt.Errorf("%s:%d: unknown key %q; did you mean %q?", file, line, strings.Join(key, "."), near)
	}
	return fmt.Errorf("%s:%d: unknown key %q; remove it (known keys: %s)", file, line, strings.Join(key, "."), strings.Join(known, ", "))
}
