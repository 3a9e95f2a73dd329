package leak

import (
	"math"
	"math/rand/v2"
)

var missing = math.NaN()

// night is a tiny made-up bag for the tests: what the estimator is not told.
type night struct {
	hz, hours      float64
	noise, quantum float64 // Pa
	start          float64 // Pa
	leakAt, leak   float64 // h, Pa/h choked
	sealAt         float64 // h; the leak stops, 0 for never
	settle, tau    float64 // Pa, s
	swing          float64 // K, over a day
	lag            float64 // s, of the gas behind the thermometer
	front          float64 // Pa/h of the barometer
	noGas          bool
	seed           uint64
}

// play gives every reading to see, with the true leak rate, Pa/h.
func (n night) play(see func(r Reading, truth float64)) {
	rng := rand.New(rand.NewPCG(n.seed, 7))
	dt := 1 / n.hz
	const base = 15.0
	gas, dry, leaked := base, n.start, 0.0
	for i := 0; float64(i)*dt < n.hours*hour; i++ {
		t := float64(i) * dt
		room := 101325 + n.front*t/hour
		warm := base + n.swing*math.Sin(2*math.Pi*t/(24*hour))
		gas += (warm - gas) * dt / (n.lag + dt)
		settled := n.settle * (1 - math.Exp(-t/math.Max(n.tau, 1)))
		p := (dry + leaked + settled) * (gas + zeroKelvin) / (base + zeroKelvin)
		truth := 0.0
		if n.leak > 0 && t >= n.leakAt*hour && (n.sealAt == 0 || t < n.sealAt*hour) {
			truth = n.leak * psi(p/room)
			leaked += truth * dt / hour
		}
		seen := p + n.noise*rng.NormFloat64()
		if n.quantum > 0 {
			seen = math.Round(seen/n.quantum) * n.quantum
		}
		r := Reading{T: 1000 + t, Bag: seen, Ambient: room, Gas: math.Round(warm*16) / 16, Air: math.Round(warm*16) / 16}
		if n.noGas {
			r.Gas, r.Air = math.NaN(), math.NaN()
		}
		see(r, truth*(gas+zeroKelvin)/(base+zeroKelvin))
	}
}
