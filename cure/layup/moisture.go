package layup

import "math"

// EMC is the equilibrium moisture content of wood, % of the oven-dry mass, at a
// relative humidity (0..1) and a temperature in °C: Hailwood and Horrobin's two
// hydrates with Simpson's coefficients (FPL-RN-0268; Wood Handbook equation
// 4-5). Good to about one per cent; FPL-GTR-229 (2014) warns of the data behind it.
func EMC(rh, atC float64) float64 {
	t := atC
	w := 349 + 1.29*t + .0135*t*t
	k := .805 + .000736*t - .00000273*t*t
	k1 := 6.27 - .00938*t - .000303*t*t
	k2 := 1.91 + .0407*t - .000293*t*t
	kh := k * rh
	return 1800 / w * (kh/(1-kh) + (k1*kh+2*k1*k2*kh*kh)/(1+k1*kh+k1*k2*kh*kh))
}

// Humidity is the relative humidity (0..1) that is in equilibrium with wood of
// a moisture content in %: the inverse of [EMC]. At or above fibre saturation
// it is 1.
func Humidity(moisture, atC float64) float64 {
	low, high := 0.0, 1.0
	if moisture <= 0 {
		return 0
	}
	if EMC(high, atC) <= moisture {
		return 1
	}
	for range 60 {
		mid := (low + high) / 2
		if EMC(mid, atC) < moisture {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// wetting is what the glue's water does to a stack.
type wetting struct {
	water float64 // kg/m² of deck, all lines
	mean  float64 // rise of moisture content, % points, mean of the stack
	inner float64 // of the inner plies: half of the line on either side
	face  float64 // of the face plies: half of one line
}

// wet shares the water of each line between the plies it lies between. The
// spread is in kg/m² of a line; the oven-dry mass of a ply in kg/m².
func wet(spread, waterFraction float64, dry []float64) wetting {
	lines := float64(len(dry) - 1)
	line := spread * waterFraction
	w := wetting{water: lines * line}
	total := 0.0
	w.inner = math.NaN()
	for i, m := range dry {
		total += m
		if i > 0 && i < len(dry)-1 {
			if rise := 100 * line / m; math.IsNaN(w.inner) || rise > w.inner {
				w.inner = rise
			}
			continue
		}
		w.face = math.Max(w.face, 100*line/2/m)
	}
	w.mean = 100 * w.water / total
	return w
}
