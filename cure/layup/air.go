package layup

import "math"

// Atmosphere is the pressure of the U.S. Standard Atmosphere 1976 at a height
// above the sea in m (below 11 km), Pa.
func Atmosphere(height float64) float64 {
	const exponent = 9.80665 * 0.0289644 / (8.31432 * 0.0065)
	return 101325 * math.Pow(1-0.0065*height/288.15, exponent)
}

// vapour is the saturation pressure of water, Pa, by Buck 1996.
func vapour(atC float64) float64 {
	return 611.21 * math.Exp((18.678-atC/234.5)*atC/(257.14+atC))
}

// Mould is what the stack lies on.
type Mould struct {
	Material  string  // xps, eps or solid
	Strength  float64 // declared compressive strength at 10 %, Pa
	Creep     float64 // declared long-term limit, Pa; zero: worked out from the strength
	Thickness float64 // m
	BothSides bool    // a lid of the same foam on top
}

// creepLimit is the pressure a mould bears for days without going on to
// yield, Pa, and where the number is from.
func (m Mould) creepLimit() (limit float64, source string) {
	switch {
	case m.Material == "solid":
		return math.Inf(1), "solid mould"
	case m.Creep > 0:
		return m.Creep, "declared creep rating"
	case m.Material == "xps" && m.Strength >= 300e3:
		return ratedXPS(m.Strength), "EN 13164 data sheets: boards of 300, 500 and 700 kPa are rated CC(2/1.5/50) 130, 180 and 250 kPa"
	}
	return m.Strength / 3, "a third of the short-term strength; common practice, no source"
}

// ratedXPS runs straight between the ratings of extruded boards; not beyond.
func ratedXPS(strength float64) float64 {
	switch {
	case strength <= 500e3:
		return 130e3 + (strength-300e3)*(180e3-130e3)/200e3
	case strength <= 700e3:
		return 180e3 + (strength-500e3)*(250e3-180e3)/200e3
	}
	return 250e3
}

// layer is the mould as a layer of a slab: conductivity and heat capacity from
// data sheets of the trade, for XPS 0.032 W/(m K), 32 kg/m³, 1450 J/(kg K); EPS
// from memory; solid as softwood.
func (m Mould) layer() Layer {
	switch m.Material {
	case "eps":
		return Layer{m.Thickness, .038, 20 * 1450}
	case "solid":
		return Layer{m.Thickness, Conductivity(.45, 10), 480 * HeatCapacity(10, 20)}
	}
	return Layer{m.Thickness, .032, 32 * 1450}
}
