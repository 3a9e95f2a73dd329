package cure

import (
	"bytes"
	"errors"

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
	Glass          *glassFile  `toml:"glass"`
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

type glassFile struct {
	FreshC *float64 `toml:"fresh_c"`
	FullC  *float64 `toml:"full_c"`
	Lambda *float64 `toml:"lambda"`
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
		"stops_short_below_c", "glass", "spread_g_per_m2", "water_fraction", "moisture_percent", "gas", "cautions",
		"at_c", "hours", "minutes", "fresh_c", "full_c", "lambda",
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
