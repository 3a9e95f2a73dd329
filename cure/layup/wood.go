package layup

import (
	"fmt"
	"slices"
	"strings"

	"github.com/nightclamp/nightclamp/cure"
)

// Wood is what a lay-up needs to know of a species.
type Wood struct {
	Name string
	// Gravity is the specific gravity G12: oven-dry mass over the volume at 12 %
	// moisture content.
	Gravity float64
	// OvenDry is the density of oven-dry wood, kg/m³.
	OvenDry float64
	// ElasticL is the modulus of elasticity along the grain at 12 %, Pa.
	ElasticL float64
	// AcrossOverAlong is the modulus across the grain (tangential) over ElasticL.
	AcrossOverAlong float64
	// Rupture is the modulus of rupture at 12 %, Pa.
	Rupture float64
	Source  string
}

// woods are from the Wood Handbook (US Forest Products Laboratory, GTR-190 and
// 282): G12 and the moduli, tables 5-3 and 5-1; the oven-dry density from the
// green specific gravity and the volumetric shrinkage, table 4-3:
// Gb/(1 - S0/100). Several from memory, as marked.
func woods() []Wood {
	const (
		seen   = "Wood Handbook, tables 4-3, 5-1 and 5-3"
		memory = "Wood Handbook, tables 4-3, 5-1 and 5-3, from memory"
		typicl = "Wood Handbook, from memory; across over along: a typical hardwood, judgement"
	)
	return []Wood{
		{"birch", .62, 661, 13.9e9, .050, 114e6, seen + " (yellow birch)"},
		{"maple", .63, 657, 12.6e9, .065, 109e6, memory + " (sugar maple)"},
		{"beech", .64, 676, 11.9e9, .060, 103e6, seen + " (American beech); across over along: a typical hardwood, judgement"},
		{"cherry", .50, 531, 10.3e9, .086, 85e6, seen + " (black cherry)"},
		{"ash", .60, 634, 12.0e9, .080, 103e6, seen + " (white ash)"},
		{"walnut", .55, 585, 11.6e9, .056, 101e6, memory + " (black walnut)"},
		{"yellow-poplar", .42, 458, 10.9e9, .043, 70e6, memory},
		{"oak", .68, 710, 12.3e9, .070, 105e6, typicl + " (white oak)"},
		{"spruce", .40, 420, 9.9e9, .045, 70e6, typicl + " (Sitka spruce)"},
	}
}

// Species returns the names of the known woods.
func Species() []string {
	all := woods()
	names := make([]string, len(all))
	for i, w := range all {
		names[i] = w.Name
	}
	return names
}

// FindWood returns the wood of that name.
func FindWood(name string) (Wood, error) {
	all := woods()
	i := slices.IndexFunc(all, func(w Wood) bool { return w.Name == name })
	if i >= 0 {
		return all[i], nil
	}
	hint := ""
	if near, ok := cure.Nearest(name, Species()); ok {
		hint = fmt.Sprintf("did you mean %q? ", near)
	}
	return Wood{}, fmt.Errorf("wood %q is not known; %sknown are %s", name, hint, strings.Join(Species(), ", "))
}

// Conductivity is the thermal conductivity of wood across the grain, W/(m K),
// at a moisture content in % (below 25) near 24 °C: Wood Handbook, equation 4-15.
func Conductivity(gravity, moisture float64) float64 {
	return gravity*(0.1941+0.004064*moisture) + 0.01864
}

// HeatCapacity is the specific heat of wood, J/(kg K), at a moisture content in
// % and a temperature in °C: Wood Handbook, equations 4-16 to 4-18.
func HeatCapacity(moisture, atC float64) float64 {
	k := atC + 273.15
	dry := 0.1031 + 0.003867*k
	bound := moisture * (-0.06191 + 2.36e-4*k - 1.33e-4*moisture)
	return 1000 * ((dry+0.0418*moisture)/(1+moisture/100) + bound)
}
