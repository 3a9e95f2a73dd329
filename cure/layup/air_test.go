package layup

import "testing"

// Source: U.S. Standard Atmosphere 1976.
func TestAtmosphere(t *testing.T) {
	for h, want := range map[float64]float64{0: 101325, 500: 95460.8, 1000: 89874.6, 1500: 84556.0, 2000: 79495.2, 3000: 70108.5} {
		almost(t, "Pa", Atmosphere(h), want, .06)
	}
}

// Source: Buck 1996, over water, without the enhancement factor.
func TestVapour(t *testing.T) {
	for c, want := range map[float64]float64{0: 611.21, 5: 872.44, 10: 1227.86, 20: 2338.34, 30: 4245.13, 40: 7382.36} {
		almost(t, "Pa", vapour(c), want, .06)
	}
}

// Source: EN 13164 data sheets (300, 500, 700 kPa boards); below, a third.
func TestCreepLimit(t *testing.T) {
	for strength, want := range map[float64]float64{300e3: 130e3, 500e3: 180e3, 700e3: 250e3, 400e3: 155e3, 1000e3: 250e3, 150e3: 50e3} {
		got, _ := Mould{Material: "xps", Strength: strength}.creepLimit()
		almost(t, "limit", got, want, 1)
	}
	got, _ := Mould{Material: "eps", Strength: 300e3}.creepLimit()
	almost(t, "eps", got, 100e3, 1)
	got, _ = Mould{Material: "eps", Strength: 300e3, Creep: 120e3}.creepLimit()
	almost(t, "declared", got, 120e3, 1)
}
